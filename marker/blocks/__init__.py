"""Garments drafted from measures: each one a module on a small shared drafting kit."""
