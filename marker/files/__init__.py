"""Files in and out. Text and units become millimetres and names; faults are listed with their place."""
