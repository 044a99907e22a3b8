"""Answers in words for the terminal, with their tables and JSON."""
