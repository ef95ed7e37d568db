"""What the commands and the page write, and where: layouts first, drawings after them."""
