"""Pickets: where they stand on the rails, what is asked under them, their cuts and flags."""
