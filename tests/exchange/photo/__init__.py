"""Photos of paper pieces: a renderer of the tests' own, and what is read out of its pictures."""
