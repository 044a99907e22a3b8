"""How far apart two figures may lie and still be one: every tolerance that more than one module needs.

Own choices, each far finer than a tape reads and far coarser than what the arithmetic loses. A limit of one
solver alone stands in its module, with a name and a unit.
"""

from typing import Final

SAME_LENGTH: Final = 1e-6
"""Inches; lengths nearer than this are one length, and a smaller gap, step or overlap is none."""

ROUNDING: Final = 1e-9
"""Inches; what sums and products of the builder's own figures may lose."""

REACH_GRACE: Final = 1e-8
"""Inches by which a top may pass what a stock reaches: far less than the grace of a mark."""

MARK_GRACE: Final = 1e-6
"""Part of a tape mark put down to rounding, so that 69.9999999999 marks are 70."""

WHOLE: Final = 1e-9
"""Part of one that rounding may add to a count, before it is rounded up to whole bags or boards."""

SAME_COST: Final = 1e-9
"""In the job's money; a smaller saving is none."""

LEVEL: Final = 1e-9
"""Rise over run; what is less steep is level."""
