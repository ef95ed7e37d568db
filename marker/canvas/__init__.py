"""A page to draw on: lines, areas and text in paper mm, and the files made of it."""
