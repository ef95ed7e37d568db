"""From an order to the lays that cut it: which sizes share a marker, and on how many plies."""
