"""Words for arrays by what they hold."""

from collections.abc import Sequence
from typing import Any, TypeVar

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from fencegrade.units.tolerances import SAME_LENGTH

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

Arrays = TypeVar("Arrays", bound=Struct)
"""A record of arrays (n, ...), one for each thing told of n things."""


def some_of(record: Arrays, index: Indices | Truths | slice) -> Arrays:
    """The record of those at `index` alone."""
    return type(record)(**{name: getattr(record, name)[index] for name in record.__struct_fields__})


def as_one(records: Sequence[Arrays]) -> Arrays:
    """Several records of one kind as one, in the order given; one or more."""
    names = records[0].__struct_fields__
    return type(records[0])(**{n: np.concatenate([getattr(r, n) for r in records]) for n in names})


def first_most(values: NDArray[np.floating[Any]]) -> int:
    """Where the greatest of some values is, one or more; of those alike but for rounding the first, so that
    no processor decides which is told.
    """
    return int(np.argmax(values >= values.max() - SAME_LENGTH))
