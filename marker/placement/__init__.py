"""Where the pieces go: the problem and everything that solves it."""
