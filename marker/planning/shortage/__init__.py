"""Eking out a cloth that is too short: what to give way on, and what that saves."""
