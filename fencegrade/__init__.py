"""Cut charts, stock and sheets for a wood picket fence on ground that is not flat."""

__version__ = "0.1.0"
