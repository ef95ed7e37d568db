"""What the pieces are cut from, and how much of it to buy."""
