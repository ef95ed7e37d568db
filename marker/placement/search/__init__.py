"""First layouts and the search that shortens them."""
