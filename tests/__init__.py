"""Tests, laid out as `marker` is."""
