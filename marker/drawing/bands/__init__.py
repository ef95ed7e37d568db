"""The drawing of bands."""
