"""The cutting sheet."""
