"""Lines, areas and text on pages."""
