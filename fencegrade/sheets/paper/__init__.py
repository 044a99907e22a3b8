"""Pages of paper, as PDF."""
