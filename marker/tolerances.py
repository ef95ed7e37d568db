"""Tolerances in mm, each named once."""

from __future__ import annotations

PROVEN_WITHIN_MM = 0.5
"""A length so near to its proven bound counts as proven shortest."""
