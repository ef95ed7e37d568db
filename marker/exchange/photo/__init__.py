"""Photos and scans of paper pieces, read with the help of a reference of known size in them."""
