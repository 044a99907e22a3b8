"""Posts: length, depth, hole, concrete, and a screen of the wind."""
