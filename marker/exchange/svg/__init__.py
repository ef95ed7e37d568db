"""SVG drawings in and out."""
