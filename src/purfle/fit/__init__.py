"""Areas with their woods -> pieces that can be cut -> recess and inserts with their seam."""
