"""Linear programs that draw a layout together."""
