"""The frozen placement problem, made from cut pieces, and the way back to placements."""
