"""Bays: what a rail can reach, posts that are given, new posts between them."""
