"""What is cut: pieces, seams, strips, and the cut outlines made from them."""
