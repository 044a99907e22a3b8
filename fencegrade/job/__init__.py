"""What the builder said: records, defaults, checks, and the only readers of its files."""
