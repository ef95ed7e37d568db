"""Files in and out: text and units become millimetres and names, each fault has its place."""
