"""What there is to draw of a checked layout, in mm of cloth; knows no paper."""
