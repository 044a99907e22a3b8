"""The page for the phone: one HTML file that needs nothing else."""
