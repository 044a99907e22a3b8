"""Top lines: one table of styles, each with its file, and what all of them share."""
