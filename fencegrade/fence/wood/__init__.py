"""Boards as wood: widths as delivered, drying and swelling."""
