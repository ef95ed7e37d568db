"""No-fit polygons and overlap penalties of all pairs, ready for the kernels."""
