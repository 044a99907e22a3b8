"""What closing low ground costs: weights for the search, and the bill of a choice made.

With prices the search weighs money. Without board prices it weighs timber alone: inches of stock bought, a
kickboard counting its own length; soil then decides only between plans of equal timber. Where boards have
prices and soil has none, soil is never set against a board that serves: it only closes what no board can.
The search weighs soil by volume; the bills, which are told and compared, count it as it is sold.
"""

import math
from collections.abc import Sequence

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from fencegrade.fence.pickets.cuts import marks_down
from fencegrade.fence.stock import NO_STOCK, StockChoice, bought_for
from fencegrade.fence.stock_steps import (
    NO_STOCK_CHARGE,
    board_costs,
    bought_instead,
    cheapest_from,
    have_prices,
)
from fencegrade.job.choices import LowGround
from fencegrade.job.records import Soil, Stock
from fencegrade.units import VOLUME, UnitSystem
from fencegrade.units.arrays import Floats
from fencegrade.units.tolerances import WHOLE

_TRIFLE = 0.01
"""What all soil, or all kickboards, weigh together where only timber counts (in): less than any board."""


SOLD_BY = 0.5
"""Loose soil is delivered by the half cubic yard or metre: common practice, no source."""


class SoilBought(Struct, frozen=True, kw_only=True):
    """Loose soil as it is sold: `count` of bags, or of cubic yards or metres; `price` of one, None where the
    job names none; `volume` of all of it (cubic feet)."""

    count: float
    price: float | None
    volume: float

    @property
    def cost(self) -> float:
        """Money for it; 0 where no price is given."""
        return self.count * (self.price or 0.0)


class Weights(Struct, frozen=True, kw_only=True, eq=False):
    """What the search weighs.

    `boards` (k + 1,): a picket whose shortest serving stock is k, the last where none serves; `soil`: a cubic
    foot of compacted fill; `per_board`: each picket over soil, besides; `kickboards`: one of each length;
    `fills`, `strips`: whether soil and kickboards are weighed at all.
    """

    boards: Floats
    soil: float
    per_board: float
    kickboards: Floats
    fills: bool
    strips: bool


class Bill(Struct, frozen=True, kw_only=True):
    """What a choice costs. Money is 0 where no price is given.

    `boards`, `soil`, `kickboards`: money for pickets, loose soil as it is sold, and kickboards; `timber`:
    inches of pickets and kickboards bought; `compacted`, `loose`: soil in cubic feet; `unserved`: pickets no
    stock serves, which cost nothing here; `over_gap`: pickets with more than the largest gap left open.
    """

    boards: float
    soil: float
    kickboards: float
    timber: float
    compacted: float
    loose: float
    unserved: int
    over_gap: int

    @property
    def total(self) -> float:
        """Money for all of it."""
        return self.boards + self.soil + self.kickboards


def loose_price(soil: Soil, system: UnitSystem) -> float | None:
    """Price of a cubic foot of loose soil; the job gives it by cubic yard (imperial) or cubic metre
    (metric)."""
    if soil.price is None:
        return None
    return soil.price * VOLUME.value_in(1.0, soil_unit(system))


def soil_unit(system: UnitSystem) -> str:
    """The unit that loose soil is priced by."""
    return "yd3" if system is UnitSystem.IMPERIAL else "m3"


def soil_bought(loose: float, soil: Soil, system: UnitSystem) -> SoilBought:
    """What is bought for `loose` soil (cubic feet) of a whole job: bags where the job names a bag, else half
    yards or metres."""
    if soil.bag is not None:
        count, one, price = math.ceil(loose / soil.bag - WHOLE), soil.bag, loose_price(soil, system)
        price = None if price is None else round(price * one, 2)
        return SoilBought(count=count, price=price, volume=count * one)
    unit = VOLUME.value_in(1.0, soil_unit(system))
    halves = math.ceil(loose * unit / SOLD_BY - WHOLE)
    return SoilBought(count=halves * SOLD_BY, price=soil.price, volume=halves * SOLD_BY / unit)


def weigh(
    choice: LowGround,
    stock: Sequence[Stock],
    soil: Soil,
    system: UnitSystem,
    most_soil: float,
    most_strips: int,
) -> Weights:
    """The weights of a choice.

    `stock`: pickets sorted by length; `most_soil`: cubic feet, `most_strips`: kickboards that no plan
    exceeds.

    `soil` and `kickboard` weigh timber alone, as if their own were free, so that a longer board is taken only
    where they cannot close the ground.
    """
    priced = have_prices(stock)
    price = loose_price(soil, system)
    order = sorted(soil.kickboard, key=lambda s: s.length)
    kickboards = board_costs(order) if order else np.zeros(0)
    by_timber = choice in (LowGround.SOIL, LowGround.KICKBOARD) or not priced
    lengths = np.array([s.length for s in stock])
    costs = bought_instead(stock, lengths) if by_timber else board_costs(stock)
    trifle = _TRIFLE / (1.0 + most_soil)
    if choice is LowGround.KICKBOARD:
        kickboards = kickboards * (_TRIFLE / (1.0 + kickboards.sum()) / most_strips)
    unpriced_soil = not by_timber and price is None
    return Weights(
        boards=np.append(cheapest_from(costs), NO_STOCK_CHARGE * max(float(costs.max()), 1.0)),
        soil=trifle if by_timber or price is None else price * soil.loose_factor,
        per_board=float(costs.max()) if unpriced_soil else 0.0,
        kickboards=kickboards,
        fills=choice in (LowGround.SOIL, LowGround.CHEAPEST),
        strips=bool(order) and choice in (LowGround.KICKBOARD, LowGround.CHEAPEST),
    )


def scaled(weights: Weights, stock: Sequence[Stock], shares: Floats, strips: float = 1.0) -> Weights:
    """The same weights with each stock length counted at a share (k,) of its cost, as if partly on hand, and
    every kickboard at a share `strips`."""
    costs = board_costs(stock) * shares
    boards = np.append(cheapest_from(costs), weights.boards[-1])
    return replace(weights, boards=boards, kickboards=weights.kickboards * strips)


def bill_for(
    stock: StockChoice,
    compacted: float,
    kickboards: Floats,
    soil: Soil,
    system: UnitSystem,
    over_gap: int,
    mark: float,
) -> Bill:
    """The bill of a choice: pickets by `stock`, soil in cubic feet, `kickboards` by their lengths (s,) in
    inches, to the tape's `mark`."""
    order, strips = bought_for(marks_down(kickboards, mark), soil.kickboard, mark)
    loose = compacted * soil.loose_factor
    return Bill(
        boards=_money(stock.offered, stock.bought),
        soil=soil_bought(loose, soil, system).cost,
        kickboards=_money(order, strips),
        timber=_inches(stock.offered, stock.bought) + _inches(order, strips),
        compacted=compacted,
        loose=loose,
        unserved=int((stock.stock == NO_STOCK).sum()),
        over_gap=over_gap,
    )


def _money(stock: Sequence[Stock], count: np.ndarray) -> float:
    return float(sum(n * (s.price or 0.0) for s, n in zip(stock, count.tolist(), strict=True)))


def _inches(stock: Sequence[Stock], count: np.ndarray) -> float:
    return float(sum(n * s.length for s, n in zip(stock, count.tolist(), strict=True)))
