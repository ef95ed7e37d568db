"""Patterns in; patterns and layouts out: the formats of other programs."""
