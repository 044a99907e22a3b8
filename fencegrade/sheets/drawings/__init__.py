"""Drawings: the only users of matplotlib."""
