"""Arrays in, arrays out. Nothing here knows what a garment is."""
