"""Fillings collected during a search, as sparse columns for the linear and integer programmes."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from fencegrade.cutting.model import Cut, Items, Model, Way


class Pool:
    """Columns of a programme: a bar kind and the pieces cut from it, each kept once."""

    def __init__(self, model: Model) -> None:
        self.model = model
        self.ways: list[Way] = []
        self.numbers: dict[Way, int] = {}
        limited = [b for b, bar in enumerate(model.bars) if bar.limit is not None]
        self.limited = {bar: len(model.weights) + row for row, bar in enumerate(limited)}
        self._index: list[int] = []
        self._data: list[int] = []
        self._starts = [0]

    def __len__(self) -> int:
        return len(self.ways)

    def add(self, bar: int, items: Items) -> bool:
        """Keep a filling; false if it is already there."""
        if not items or (bar, items) in self.numbers:
            return False
        self.numbers[bar, items] = len(self.ways)
        self.ways.append((bar, items))
        self._index += [i for i, _ in items]
        self._data += [n for _, n in items]
        if bar in self.limited:
            self._index.append(self.limited[bar])
            self._data.append(-1)
        self._starts.append(len(self._index))
        return True

    def add_cuts(self, cuts: Iterable[Cut]) -> None:
        """Keep the fillings of a plan."""
        for cut in cuts:
            self.add(cut.bar, cut.items)

    def add_single(self) -> None:
        """Keep each piece that is wanted alone, as often as it fits on the longest board without a limit."""
        bars = self.model.bars
        free = max((b for b, bar in enumerate(bars) if bar.limit is None), key=lambda b: bars[b].capacity)
        for i, (weight, demand) in enumerate(zip(self.model.weights, self.model.demands, strict=True)):
            if demand:
                self.add(free, ((i, min(demand, bars[free].capacity // weight)),))

    def costs(self, first: int = 0) -> NDArray[np.float64]:
        """Cost of each column from `first` on."""
        return np.array([self.model.bars[bar].cost for bar, _ in self.ways[first:]], dtype=np.float64)

    @property
    def rows(self) -> int:
        """Rows of the programme: the pieces, then the limited bar kinds, whose numbers `limited` has."""
        return len(self.model.weights) + len(self.limited)

    @property
    def entry_count(self) -> int:
        """Numbers in all columns that are not 0."""
        return len(self._index)

    def entries(self, first: int) -> tuple[NDArray[np.int32], NDArray[np.int32], NDArray[np.float64]]:
        """Columns from `first` on: where each starts, the row and the number of every entry.

        Pieces in each column, then -1 in the row of its bar kind where that is limited.
        """
        start = self._starts[first]
        return (
            np.array(self._starts[first:-1], dtype=np.int32) - np.int32(start),
            np.array(self._index[start:], dtype=np.int32),
            np.array(self._data[start:], dtype=np.float64),
        )

    def needs(self, model: Model) -> NDArray[np.float64]:
        """Least value of each row: the demands of a model, then its limits with a minus sign."""
        return np.array(
            [*model.demands, *(-(model.bars[b].limit or 0) for b in self.limited)], dtype=np.float64
        )

    def cuts(self, times: Iterable[float]) -> tuple[Cut, ...]:
        """Cut each column so often."""
        chosen = zip(self.ways, times, strict=True)
        return tuple(Cut(bar=bar, items=items, times=int(n)) for (bar, items), n in chosen if n)
