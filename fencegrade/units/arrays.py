"""Words for arrays by what they hold."""

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
"""Lengths, stations, elevations, money: whatever its place says."""

Numbers = Sequence[float] | NDArray[np.floating[Any] | np.integer[Any]]
"""What `Floats` are made of: a list, a tuple, an array, of whole or broken numbers."""

Truths = NDArray[np.bool_]
"""One yes or no each."""

Indices = NDArray[np.signedinteger[Any]]
"""Places in another array."""

Counts = NDArray[np.signedinteger[Any]]
"""How many."""

Marks = NDArray[np.signedinteger[Any]]
"""Lengths in whole tape marks."""
