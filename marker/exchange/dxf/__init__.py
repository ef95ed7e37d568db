"""DXF patterns by ASTM D6673 in and out, with their grade rules."""
