"""Words for arrays by what they hold."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
"""Lengths, stations, elevations, money: whatever its place says."""

Truths = NDArray[np.bool_]
"""One yes or no each."""

Indices = NDArray[np.signedinteger[Any]]
"""Places in another array."""

Counts = NDArray[np.signedinteger[Any]]
"""How many."""

Marks = NDArray[np.signedinteger[Any]]
"""Lengths in whole tape marks."""
