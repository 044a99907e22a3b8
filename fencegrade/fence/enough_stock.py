"""How far the stock bought would do where boards are marked in place: those too short, and their spares.

The ground between readings is known within a band. Joint draws from it move what every board marked in place
has to reach; where that passes the wood there is, another board is wanted. Counting that over many draws
tells how many, and how many spares of each length cover it in nineteen cases of twenty. Boards cut from the
chart are cut and hung: their chance to stand outside their limits is told with them.
"""

from collections.abc import Iterator, Sequence

import numpy as np
from msgspec import Struct

from fencegrade.fence.slots import Slots
from fencegrade.fence.stock import Needs, StockChoice, cheapest_serving, shortest_serving
from fencegrade.fence.stock_steps import board_costs
from fencegrade.ground.fit import GroundProfile
from fencegrade.units.arrays import Floats, Indices, Marks, Truths
from fencegrade.units.tolerances import WHOLE

DRAWS = 200
CHANCE = 0.95
MOST_STATIONS = 8_000
"""A longer run is drawn at this many of its pickets, and the ground between them moves evenly."""

MOST_BETWEEN = 200
"""As many pickets between two readings are drawn at most; the time grows with the cube of their number."""


class RiskRun(Struct, frozen=True, kw_only=True, eq=False):
    """The pickets (n,) of a run that are marked in place: `needs`: what they ask of their boards over the
    ground as drawn; `wood`: tape marks there are of each."""

    profile: GroundProfile
    slots: Slots
    needs: Needs
    wood: Marks


class StockRisk(Struct, frozen=True, kw_only=True, eq=False):
    """What may happen to the boards marked in place.

    `short`: boards expected to turn out too short; `spares` (k,): boards of each stock, shortest first, to
    have besides, which cover every length together in `chance` of cases; `unserved`: pickets that may need
    more than the longest stock, no more than this in as many.
    """

    chance: float
    short: float
    spares: Indices
    unserved: int


def stock_risk(
    runs: Sequence[RiskRun],
    choice: StockChoice,
    draws: int = DRAWS,
    chance: float = CHANCE,
    seed: int = 0,
) -> StockRisk:
    """How the boards marked in place would do over draws of the ground.

    `choice`: the stock; `seed` makes the draws the same each time. The ground under one picket moves by one
    amount, that at its middle. Errors: ValueError where a picket stands outside the readings. Source: own
    derivation on the band of `ground.band`.
    """
    kinds, serving = len(choice.offered), cheapest_serving(choice.offered)
    wanted = np.zeros((draws, kinds + 1), dtype=np.int64)
    for number, run in enumerate(runs):
        for d, moved in enumerate(_movements(run, draws, seed + number)):
            reach = run.needs.over_higher_ground(moved).least
            short = reach > run.wood
            sold = serving[shortest_serving(choice.lengths, reach[short])]
            wanted[d] += np.bincount(sold % (kinds + 1), minlength=kinds + 1)
    return StockRisk(
        chance=chance,
        short=float(wanted.sum(axis=1).mean()),
        spares=spare_boards(wanted[:, :kinds], board_costs(choice.offered), chance),
        unserved=int(_quantile(wanted[:, kinds:], chance)[0]),
    )


def spare_boards(demand: Indices, costs: Floats, chance: float) -> Indices:
    """Spares of each length, shortest first, that cover the demand in a share of draws.

    `demand` (d, k): boards whose cheapest serving stock is k in each draw; a longer board serves for a
    shorter one; `costs` (k,). Exact where one length runs short; otherwise the dearest draws to cover are
    left out one by one. Errors: ValueError for a chance that is not between 0 and 1.
    """
    if not 0 < chance <= 1:
        raise ValueError("the chance to cover lies between 0 and 1, such as 0.9")
    lacking = _from_longest(demand)
    kept = np.ones(len(lacking), dtype=bool)
    for _ in range(int(np.floor(len(lacking) * (1 - chance) + WHOLE))):
        kept[_dearest(lacking, kept, costs)] = False
    return _by_length(lacking[kept].max(axis=0, initial=0))


def _dearest(lacking: Indices, kept: Truths, costs: Floats) -> int:
    """The draw whose leaving out saves most; of those on the border, the one that lacks most."""
    rows = np.flatnonzero(kept)
    top = lacking[rows].max(axis=0)
    border = rows[np.any((lacking[rows] == top) & (top > 0), axis=1)]
    if not len(border):
        return int(rows[0])
    left = []
    for r in border:
        rest = rows[rows != r]
        left.append(float(_by_length(lacking[rest].max(axis=0, initial=0)) @ costs))
    weight = lacking[border] @ costs
    return int(border[np.lexsort([-weight, np.array(left)])[0]])


def _from_longest(count: Indices) -> Indices:
    """Boards of each length or longer."""
    return np.cumsum(count[:, ::-1], axis=1)[:, ::-1]


def _by_length(lacking: Indices) -> Indices:
    """Spares of each length from how many are lacking of each length or longer."""
    total = np.maximum.accumulate(lacking[::-1])[::-1]
    return np.asarray(total - np.append(total[1:], 0), dtype=np.int64)


def _movements(run: RiskRun, draws: int, seed: int) -> Iterator[Floats]:
    """Draw by draw, (n,) how much higher (in) the ground under each picket is than the line says."""
    x = run.slots.centre
    if not len(x):
        return
    at = _stations(x, run.profile.line.stations)
    moved = run.profile.spread.draws(at, draws, seed) - run.profile.elevation(at)
    for one in moved:
        whole = one if len(at) == len(x) else np.interp(x, at, one)
        yield np.asarray(whole)


def _stations(x: Floats, readings: Floats) -> Floats:
    """Those of the picket middles `x` (in, ascending) at which the ground is drawn."""
    gap = np.searchsorted(readings, x, side="right")
    _, first, counts = np.unique(gap, return_index=True, return_counts=True)
    place = np.arange(len(x)) - np.repeat(first, counts)
    step = np.maximum(np.repeat(-(-counts // MOST_BETWEEN), counts), -(-len(x) // MOST_STATIONS))
    return np.unique(np.append(x[place % step == 0], x[-1]))


def _quantile(counts: Indices, chance: float) -> Indices:
    """Least whole number that the counts (d, k) do not pass in a share of draws."""
    found: Indices = np.quantile(counts, chance, axis=0, method="inverted_cdf").astype(np.int64)
    return found
