"""Readings to elevations, the ground line, and how sure it is."""
