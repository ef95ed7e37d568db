"""What if the cloth is too short: changes that save cloth, and the fewest that make a job fit."""
