"""Rows: what whole boards must be worth together, whatever is cut from them.

Let z_s be the most that the pieces on one board of kind s can be worth for some piece values v. A plan with
n_s boards of each kind then has

    sum(z_s n_s) >= sum(v_i d_i)                                                            (a row)

for every choice of values, whether they suit the costs or not. A table of the most worth that each amount
of money buys (an unbounded and bounded knapsack over money) says what a row costs at least, and how much
worth a plan of a given cost may leave unused: no single filling leaves more. Own derivation.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

import numpy as np
from msgspec import Struct

from fencegrade.cutting.knapsack import Ints, Knapsack, portions
from fencegrade.cutting.model import Bar, Model

MOST_CELLS = 1_000_000
"""Cells of a table of money; where costs are finer they are counted in coarser units, rounded down."""

MOST_ROWS = 4
"""Rows whose conditions a listing is pruned by."""

NEED_BITS = 52
"""Bits of a row's need, so that its sums fit a word; finer rows are rounded to the safe side."""


class Row(Struct, frozen=True, kw_only=True):
    """Piece values, the worth of each bar kind for them, and what all pieces are worth together."""

    values: tuple[int, ...]
    worth: tuple[int, ...]
    need: int

    def slack(self, numbers: Sequence[int]) -> int:
        """Worth that these numbers of boards have to spare; below 0 they cannot hold the pieces."""
        return sum(w * n for w, n in zip(self.worth, numbers, strict=True)) - self.need


class Condition(Struct, frozen=True, kw_only=True):
    """Piece values and the least that a filling of each bar kind is worth; None: the kind is not used."""

    values: tuple[int, ...]
    least: tuple[int | None, ...]


def make_row(model: Model, knapsack: Knapsack, values: Sequence[int]) -> Row:
    """Give the row of whole piece values."""
    best = knapsack.fill(values)
    worth = tuple(int(best[bar.capacity]) for bar in model.bars)
    return Row(
        values=tuple(values), worth=worth, need=sum(v * d for v, d in zip(values, model.demands, strict=True))
    )


def first_rows(model: Model, knapsack: Knapsack) -> list[Row]:
    """Rows that need no prices: the material, and how many pieces over a part of a board a board can hold."""
    weights, demands = np.array(model.weights), np.array(model.demands)
    capacities = np.array([bar.capacity for bar in model.bars])
    parts = np.unique(capacities // np.arange(1, 6)[:, np.newaxis])
    rows = [make_row(model, knapsack, model.weights)]
    for over in np.unique(np.searchsorted(-weights, -parts)).tolist():
        shortest = np.cumsum(np.repeat(weights[:over][::-1], demands[:over][::-1]))
        rows.append(
            Row(
                values=(1,) * over + (0,) * (len(weights) - over),
                worth=tuple(np.searchsorted(shortest, capacities, side="right").tolist()),
                need=len(shortest),
            )
        )
    return rows


def table(bars: Sequence[Bar], worth: Sequence[int], unit: int, cost: int, start: Ints | None = None) -> Ints:
    """Most worth for every amount of money up to `cost`, in units of money rounded down.

    bars, worth: the kinds that may be bought; start: the table of further kinds
    """
    most = np.zeros(cost // unit + 1, dtype=np.int64) if start is None else start
    for bar, value in zip(bars, worth, strict=True):
        afforded = cost // bar.cost if bar.cost else bar.limit or 0
        number = afforded if bar.limit is None else min(bar.limit, afforded)
        price = bar.cost // unit
        if not number or not value:
            continue
        if not price:
            most = most + number * value
        elif bar.limit is None:
            most = _any_number(most, price, value)
        else:
            most = _at_most(most, price, value, number)
    return most


def _any_number(most: Ints, price: int, value: int) -> Ints:
    """Along every chain of amounts one price apart, the best start plus a value for each step since."""
    flat = np.append(most, np.zeros(-most.size % price, dtype=np.int64))
    chains = flat.reshape(-1, price)
    if len(chains) < price:
        for before, after in pairwise(chains):
            np.maximum(after, before + value, out=after)
    else:
        steps = np.arange(len(chains), dtype=np.int64)[:, np.newaxis] * value
        chains[:] = np.maximum.accumulate(chains - steps, axis=0) + steps
    return flat[: most.size]


def _at_most(most: Ints, price: int, value: int, number: int) -> Ints:
    most = most.copy()
    for part in portions(number):
        dearer = most[part * price :]
        np.maximum(dearer, most[: -part * price] + part * value, out=dearer)
    return most


def unit_of(cost: int) -> int:
    """Money a cell of a table, so that it has no more cells than are allowed."""
    return max(1, -(-cost // MOST_CELLS))


def scaled(row: Row) -> tuple[tuple[int, ...], int, int]:
    """Worth and need in fewer bits, worth rounded up and need down, and the unit they are in."""
    unit = 1 << max(0, row.need.bit_length() - NEED_BITS)
    return tuple(-(-w // unit) for w in row.worth), row.need // unit, unit


def spare(model: Model, row: Row, cost: int) -> int:
    """Worth that a plan of at most `cost` has to spare under a row; no filling of it leaves more unused."""
    worth, need, unit = scaled(row)
    return (int(table(model.bars, worth, unit_of(cost), cost)[-1]) - need) * unit


def conditions(model: Model, rows: Iterable[Row], cost: int) -> list[Condition]:
    """What every filling of a plan of at most `cost` must be worth, by the rows that ask most."""
    found = []
    for row in rows:
        loss = spare(model, row, cost)
        least = tuple(
            w - loss if bar.cost <= cost and bar.limit != 0 else None
            for bar, w in zip(model.bars, row.worth, strict=True)
        )
        found.append((loss / max(1, *row.worth), Condition(values=row.values, least=least)))
    found.sort(key=lambda pair: pair[0])
    return [condition for _, condition in found[:MOST_ROWS]]
