"""Pieces matched to the cloth's repeat."""
