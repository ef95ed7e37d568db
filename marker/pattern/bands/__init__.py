"""Strips and bands: how they are cut, marked and sewn to their openings."""
