"""The same pattern in other sizes."""
