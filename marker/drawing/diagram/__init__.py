"""The cutting diagram."""
