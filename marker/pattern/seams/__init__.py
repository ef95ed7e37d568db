"""What is sewn to what, and whether it meets."""
