"""Fillings collected during a search, as sparse columns for the integer programmes."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from fencegrade.cutting.model import Cut, Model

Items = tuple[tuple[int, int], ...]


class Pool:
    """Columns of the master programme: a bar kind and the pieces cut from it, each kept once."""

    def __init__(self, model: Model) -> None:
        self.model = model
        self.bars: list[int] = []
        self.items: list[Items] = []
        self._known: set[tuple[int, Items]] = set()
        self._limited = limited_rows(model)
        self._index: list[int] = []
        self._data: list[float] = []
        self._starts = [0]

    def __len__(self) -> int:
        return len(self.bars)

    def add(self, bar: int, numbers: Mapping[int, int] | Items) -> bool:
        """Keep a filling; false if it is already there."""
        items = tuple(sorted(numbers.items())) if isinstance(numbers, Mapping) else numbers
        if not items or (bar, items) in self._known:
            return False
        self._known.add((bar, items))
        self.bars.append(bar)
        self.items.append(items)
        self._index += [i for i, _ in items]
        self._data += [n for _, n in items]
        if bar in self._limited:
            self._index.append(len(self.model.weights) + self._limited[bar])
            self._data.append(-1.0)
        self._starts.append(len(self._index))
        return True

    def add_cuts(self, cuts: Iterable[Cut]) -> None:
        """Keep the fillings of a plan."""
        for cut in cuts:
            self.add(cut.bar, cut.items)

    def costs(self) -> NDArray[np.float64]:
        """Cost of each column."""
        cost = np.array([bar.cost for bar in self.model.bars], dtype=np.float64)
        return cost[np.array(self.bars, dtype=np.intp)]

    @property
    def rows(self) -> int:
        """Rows of the programme: the pieces, then the limited bar kinds."""
        return len(self.model.weights) + len(self._limited)

    @property
    def entry_count(self) -> int:
        """Numbers in all columns that are not 0."""
        return len(self._index)

    def entries(self, first: int) -> tuple[NDArray[np.int32], NDArray[np.int32], NDArray[np.float64]]:
        """Columns from `first` on: where each starts, the row and the number of every entry.

        Pieces in each column, then -1 in the row of its bar kind where that is limited.
        """
        start = self._starts[first]
        starts = np.array(self._starts[first:-1], dtype=np.int32) - start
        return (
            starts.astype(np.int32),
            np.array(self._index[start:], dtype=np.int32),
            np.array(self._data[start:], dtype=np.float64),
        )

    def needs(self, demands: Sequence[int], limits: Sequence[int | None]) -> NDArray[np.float64]:
        """Least value of each row: the demands, then the limits with a minus sign."""
        tail = [0.0] * len(self._limited)
        for bar, row in self._limited.items():
            tail[row] = -float(limits[bar] or 0)
        return np.array([*demands, *tail], dtype=np.float64)


def limited_rows(model: Model) -> dict[int, int]:
    """Number the bar kinds that are limited."""
    return {bar: row for row, bar in enumerate(b for b, k in enumerate(model.bars) if k.limit is not None)}


def cover_to_cuts(
    model: Model, pool: Pool, times: Sequence[int], demands: Sequence[int]
) -> tuple[Cut, ...] | None:
    """Turn columns that cover the demands, some perhaps too often, into cuts that meet them exactly.

    None if they do not cover them, as when an integer programme was solved too loosely.
    """
    left = list(demands)
    cuts = []
    for column, number in enumerate(times):
        bar, items = pool.bars[column], pool.items[column]
        while number > 0:
            part = tuple((i, min(n, left[i])) for i, n in items if left[i])
            if not part:
                break
            same = min([number, *(left[i] // n for i, n in part)])
            for i, n in part:
                left[i] -= n * same
            cuts.append(Cut(bar=bar, items=part, times=same))
            number -= same
    return None if any(left) else tuple(cuts)
