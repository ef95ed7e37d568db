"""Plans how garment pieces are cut from cloth."""
