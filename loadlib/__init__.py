"""loadlib: what a house really draws, from labels, bills and meters."""
