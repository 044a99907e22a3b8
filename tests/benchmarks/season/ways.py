"""Four ways of building the same fence, and what stands in the end.

Every way has the same slots and the same line of the tops (the plan's, from the readings); they differ in
what they read, buy, cut from a table and mark in place. A board is cut again only where it will not go in:
its foot within `WONT_GO` of the ground.
"""

from collections import Counter
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .crew import CLEARANCE, LEAST, LEAST_HEIGHT, MARK, MOST, STOCK, Crew, Floats, Ground, slots

Flags = NDArray[np.bool_]

WONT_GO = 0.25
HAIR = 1 / 16
"""A board this little outside the allowed gap is not seen by anybody (in)."""
SPARE_SHARE = 0.10

READ, STOP, SAW, HANG, MARK_AND_CUT, AGAIN, TRIP = 1.5, 2.0, 1.0, 4.0, 5.0, 4.0, 90.0
"""Minutes of two people: a reading, a stop set, a board cut at it, one hung, one held up, marked and cut,
one cut again, a trip."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bought:
    """What a way buys and does board by board, (n,): `stock` (in), `kept` length from its table (nan:
    marked in place).

    `spare`: boards bought on top, by length; `readings`: how many were taken; `soil`: money for soil, whose
    level surface under a board is at `surface` (in).
    """

    stock: Floats
    kept: Floats
    spare: Counter[float]
    readings: int
    soil: float = 0.0
    surface: float | Floats = -np.inf

    @property
    def marked(self) -> Flags:
        """Boards marked in place."""
        return np.isnan(self.kept)


@dataclass(frozen=True, slots=True, kw_only=True)
class Stands:
    """One fence built. `outside`, `marked`, `again`, `thrown`, `low` count boards; `money`, `soil` in
    money; `wasted` in inches."""

    boards: int
    outside: int
    marked: int
    again: int
    thrown: int
    low: int
    trips: int
    money: float
    soil: float
    wasted: float
    stops: int
    hours: float


def build(ground: Ground, crew: Crew, top: Floats, bought: Bought) -> Stands:
    """Build one fence. `top`: (n,) height of the tops' line at each board (in)."""
    left, right = slots(ground)
    low, high = ground.under(left + crew.aside, right + crew.aside)
    low, high = np.maximum(low, bought.surface), np.maximum(high, bought.surface)
    held = top + crew.held
    wanted = held - high - in_place(low, high)
    kept = np.where(bought.marked, np.minimum(wanted, bought.stock), bought.kept) - crew.cut
    kept = np.where(bought.marked & (wanted >= bought.stock), bought.stock, np.minimum(kept, bought.stock))
    tried, again = kept, held - kept < high + WONT_GO
    kept = np.where(again, wanted, kept)
    could = high - low <= MOST - LEAST
    short = bought.marked & (wanted > bought.stock) & (held - bought.stock - low > MOST + HAIR)
    stock, thrown, late = replaced(wanted, bought, short, held - low)
    kept = np.where(short, np.minimum(wanted, stock), kept)
    foot = held - kept
    outside = could & ((foot - high < LEAST - HAIR) | (foot - low > MOST + HAIR))
    spent = (
        money_for(bought.stock)
        + sum(STOCK[s] * n for s, n in bought.spare.items())
        + money_for(np.array(late))
    )
    cut = ~bought.marked & (tried < bought.stock - MARK / 2)
    stops = len(np.unique(np.round(bought.kept[cut] / MARK)))
    minutes = (
        (
            READ * bought.readings
            + STOP * stops
            + SAW * cut.sum()
            + HANG * len(top)
            + MARK_AND_CUT * bought.marked.sum()
        )
        + AGAIN * (again.sum() + short.sum())
        + TRIP * bool(late)
    )
    return Stands(
        boards=len(top),
        outside=int(outside.sum()),
        marked=int(bought.marked.sum()),
        again=int(again.sum()),
        thrown=thrown,
        low=int((held - high < LEAST_HEIGHT - MARK).sum()),
        trips=int(bool(late)),
        money=spent,
        soil=bought.soil,
        wasted=float((bought.stock - kept)[~short].sum()),
        stops=stops,
        hours=minutes / 60,
    )


def misses(ground: Ground, crew: Crew, top: Floats, bought: Bought) -> Floats:
    """How far outside its limits each board would end if it were cut from its table (in); 0 where
    marked already."""
    left, right = slots(ground)
    low, high = ground.under(left + crew.aside, right + crew.aside)
    foot = top + crew.held - np.where(bought.marked, bought.stock, bought.kept) + crew.cut
    off = np.maximum(LEAST - (foot - high), (foot - low) - MOST)
    return np.where(bought.marked, 0.0, off)


def in_place(low: Floats, high: Floats) -> Floats:
    """How far over the highest ground a board is marked: the wanted clearance, or the middle of its room."""
    return np.clip((LEAST + MOST - (high - low)) / 2, LEAST, CLEARANCE)


def replaced(wanted: Floats, bought: Bought, short: Flags, depth: Floats) -> tuple[Floats, int, list[float]]:
    """Boards in place of those that turn out short: spares that reach, else boards of a second trip.

    Result: stock by board, how many were thrown away, and what the second trip buys.
    """
    stock, pile, late = bought.stock.copy(), Counter(bought.spare), []
    for i in np.flatnonzero(short):
        reach = [s for s in sorted(STOCK) if depth[i] - s <= MOST]
        spare = next((s for s in reach if pile[s]), None)
        if spare is None:
            if not reach:
                continue
            spare = reach[0]
            late.append(spare)
        else:
            pile[spare] -= 1
        stock[i] = spare
    return stock, int(short.sum()), late


def money_for(stock: Floats) -> float:
    """Price of boards (money)."""
    return float(sum(STOCK[s] for s in np.asarray(stock).tolist()))


def shortest(needed: Floats) -> Floats:
    """The shortest stock of at least these lengths, the longest where none is (in)."""
    lengths = np.array(sorted(STOCK))
    return lengths[np.minimum(np.searchsorted(lengths, needed - 1e-9), len(lengths) - 1)]


def by_eye(ground: Ground, crew: Crew, at: Floats, top_at: Floats) -> Bought:
    """One stock for all, chosen from the deepest reading; every board held up, marked and cut in its
    place."""
    n = len(slots(ground)[0])
    deepest = float((top_at - crew.reads(ground, at)).max())
    stock = np.full(n, shortest(np.array([deepest - CLEARANCE]))[0])
    return Bought(stock=stock, kept=np.full(n, np.nan), spare=Counter(), readings=len(at))


def spreadsheet(ground: Ground, crew: Crew, at: Floats, top: Floats) -> Bought:
    """Straight lines between readings, length at the middle of the board, all cut from the table, and
    10 % spare."""
    left, right = slots(ground)
    middle = np.interp((left + right) / 2, at, crew.reads(ground, at))
    kept = np.floor((top - middle - CLEARANCE) / MARK + 1e-9) * MARK
    stock = shortest(kept)
    counts = Counter(stock.tolist())
    spare = Counter({s: int(np.ceil(SPARE_SHARE * n)) for s, n in counts.items()})
    return Bought(stock=stock, kept=np.minimum(kept, stock), spare=spare, readings=len(at))


def known(ground: Ground, top: Floats) -> float:
    """Money for boards with full knowledge of the ground: for every board the cheapest stock whose gap
    can be right."""
    left, right = slots(ground)
    low, high = ground.under(left, right)
    full = top - high - in_place(low, high)
    lengths = np.array(sorted(STOCK))
    whole = top[:, None] - lengths[None, :] - low[:, None] <= MOST
    serves = whole | (lengths[None, :] >= full[:, None])
    serves[:, -1] = True
    return float(np.where(serves, [STOCK[s] for s in lengths.tolist()], np.inf).min(axis=1).sum())
