"""Full-size pages."""
