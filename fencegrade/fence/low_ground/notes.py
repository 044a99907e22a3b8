"""What a builder should know of the choice about low ground: water, rot, slopes and its weighing."""

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from fencegrade.fence.low_ground.bill import Bill, soil_bought, soil_unit
from fencegrade.fence.low_ground.fill_places import FillRows, LowRun, soil_barred
from fencegrade.fence.low_ground.fills import Fill
from fencegrade.fence.pickets.cuts import Cuts
from fencegrade.fence.stock_steps import have_prices
from fencegrade.job.choices import LowGround
from fencegrade.job.records import Pickets, Soil
from fencegrade.problems import Problem, note, warning
from fencegrade.units import VOLUME, UnitSystem, past_limit
from fencegrade.units.arrays import Marks, first_most
from fencegrade.units.tolerances import SAME_LENGTH
from fencegrade.units.words import Words, numbered, plural

_SHOWN = 6


def closing_notes(
    choice: LowGround,
    lows: Sequence[LowRun],
    fills: Sequence[tuple[Fill, ...]],
    bills: Mapping[LowGround, Bill],
    pickets: Pickets,
    soil: Soil,
    words: Words,
) -> list[Problem]:
    """Warnings and notes, run by run and then for the job."""
    found: list[Problem] = []
    for low, made in zip(lows, fills, strict=True):
        if made:
            found += _water(low, made, words)
            found += _timber(low, made, words)
    found += _few_bags(bills.get(choice), soil, words.system)
    return [*found, *_weighed(choice, bills, pickets, soil, words.system)]


_FEW_BAGS = 3.0
"""Cubic feet of loose soil, about four bags, up to which no half load is ordered: own choice."""


def _few_bags(bill: Bill | None, soil: Soil, system: UnitSystem) -> Iterator[Problem]:
    """That soil for a few bags is listed by the half load."""
    if bill is None or soil.bag is not None or not 0 < bill.loose <= _FEW_BAGS:
        return
    loose, sold = (
        VOLUME.format(v, system) for v in (bill.loose, soil_bought(bill.loose, soil, system).volume)
    )
    bag = "0.75 cu ft" if system is UnitSystem.IMPERIAL else "20 l"
    found = f"the fills take {loose} of loose soil, a few bags, and it is listed by the half load, {sold}"
    yield warning(
        "[soil] bag", found, f'write what a bag holds, such as bag = "{bag}", to have it listed in bags'
    )


def _water(low: LowRun, fills: Sequence[Fill], words: Words) -> Iterator[Problem]:
    closed = [f.low_point for f in fills if f.low_point is not None]
    if closed:
        more = f" and {len(closed) - _SHOWN} more" if len(closed) > _SHOWN else ""
        at = ", ".join(words.station(x) for x in closed[:_SHOWN])
        yield warning(
            f"{low.run.name}, {at}{more}",
            "the fill closes a low point of the ground, where water crosses the line or will stand behind it",
            "keep it open ([[run.keep_open]] in the job file), or lead the water through with a pipe; ask "
            "before altering drainage",
        )


def _timber(low: LowRun, fills: Sequence[Fill], words: Words) -> Iterator[Problem]:
    filled = np.concatenate([np.arange(f.first - 1, f.last) for f in fills])
    least = float(low.zones.clearance[filled].min())
    deepest = max(f.deepest for f in fills)
    place = f"{low.run.name}, {_where(fills, words)}"
    if least <= SAME_LENGTH:
        yield warning(
            place,
            "soil will touch the pickets, and wood in soil rots",
            "leave a clearance, or close the ground with a kickboard made for ground contact",
        )
    yield note(
        place,
        f"soil stands up to {words.length(deepest)} deep against the posts there, {words.fine(least)} under "
        "the pickets",
        "use posts made for ground contact, count post depth from the ground as surveyed, tamp in thin "
        "layers, and keep soil off a neighbour's side",
    )


def _where(fills: Sequence[Fill], words: Words) -> str:
    """Where fills lie, each by its own stretch."""
    told = ", ".join(words.stretch(f.start, f.end) for f in fills[:_SHOWN])
    return told + (f" and {len(fills) - _SHOWN} more" if len(fills) > _SHOWN else "")


def no_soil_notes(
    low: LowRun, rows: FillRows, full: Cuts, lengths: Marks, soil: Soil, words: Words
) -> Iterator[Problem]:
    """Where a gap stays open, or no stock serves, though soil was asked for, which limit keeps the soil away.

    `rows`: every board and stock that soil could serve; `full`: cuts over the finished ground; `lengths`
    (k,): of the stock, in tape marks.
    """
    open_ = low.zones.too_open(full.gap) | (full.kept > lengths.max())
    over, barred = open_ & ~low.zones.open, soil_barred(low)
    edges = np.flatnonzero(np.diff(np.concatenate([[False], over, [False]]).astype(np.int8)))
    for first, past in edges.reshape(-1, 2).tolist():
        k = first + first_most((full.gap + full.kept * words.mark)[first:past])
        loss = low.cuts.kept[k] - lengths[lengths < low.cuts.kept[k]]
        if not len(loss) or barred[k]:
            continue
        depth = float(low.cuts.gap[k] + loss.min() * words.mark - low.zones.clearance[k])
        own = rows.board == k
        if depth > soil.most_depth + SAME_LENGTH:
            lies = past_limit(depth, soil.most_depth, words.fine)
            why = f"it would lie {lies} deep, and most_depth is {words.given(soil.most_depth)}"
            by_hand = ""
        elif own.any() and (rows.least[own] < 0).all():
            why = f"a fill there would be shorter than least_length, {words.given(soil.least_length)}"
            by_hand = " or fill by hand there"
        else:
            continue
        at = words.stretch(float(low.slots.left[first]), float(low.slots.right[past - 1]))
        yield note(
            f"{low.run.name}, {at}",
            f"no soil goes under {numbered('picket', np.arange(first, past))}: {why}",
            f"scribe the boards{by_hand}, or change that limit under [soil] in the job file",
        )


def no_kickboard_notes(low: Sequence[LowRun], cuts: Sequence[Cuts]) -> Iterator[Problem]:
    """Why no kickboard is laid at all, where too much stays open though kickboards were asked for.

    `low`, `cuts`: every run and its cuts as made.
    """
    if any(
        (one.zones.too_open(made.gap) & ~one.zones.open).any() for one, made in zip(low, cuts, strict=True)
    ):
        yield note(
            "[soil] low_ground",
            "no kickboard is laid: one is laid from post to post, only where the tops over it run straight, "
            "no gate or water is in the way, and pickets over it can be cut from a shorter length",
            "scribe the boards or fill by hand where too much stays open",
        )


def taper_remarks(low: LowRun, fills: Sequence[Fill], cuts: Cuts, words: Words) -> Iterator[Problem]:
    """Boards of a run left with too large a gap by a taper beneath them; `cuts`: as made."""
    over = np.flatnonzero(low.zones.too_open(cuts.gap) & ~low.zones.too_open(low.cuts.gap))
    under = [
        i
        for f in fills
        for a, b in ((f.foot_start, f.start), (f.end, f.foot_end))
        for i in over
        if low.slots.right[i] > a + SAME_LENGTH and low.slots.left[i] < b - SAME_LENGTH
    ]
    if under:
        at = words.stretch(float(low.slots.left[min(under)]), float(low.slots.right[max(under)]))
        yield warning(
            f"{low.run.name}, {at}",
            f"more than the largest gap stays open under {plural(len(under), 'picket')} over the sloping "
            "ends of a fill",
            "scribe them to the soil, or draw the fill out flatter (end_slope under [soil] in the job file)",
        )


def _weighed(
    choice: LowGround, bills: Mapping[LowGround, Bill], pickets: Pickets, soil: Soil, system: UnitSystem
) -> Iterator[Problem]:
    if choice is not LowGround.CHEAPEST:
        return
    if not have_prices(pickets.stock):
        yield note(
            "[soil] low_ground",
            "boards have no prices, so the least timber was taken and soil counted as nothing",
            "give [[pickets.stock]] prices to weigh soil against boards",
        )
    elif soil.price is None:
        yield note(
            "[soil] price",
            "soil has no price, so it was used only where no board serves" + _worth(bills, soil, system),
            "give the price of soil to weigh it against boards",
        )


def _worth(bills: Mapping[LowGround, Bill], soil: Soil, system: UnitSystem) -> str:
    """The price of loose soil below which filling wherever it may go would pay."""
    boards, filled = bills.get(LowGround.BOARDS), bills.get(LowGround.SOIL)
    if boards is None or filled is None or filled.loose <= 0 or filled.unserved > boards.unserved:
        return ""
    saved = boards.boards - filled.boards
    if saved <= 0:
        return ""
    name = "cubic yard" if system is UnitSystem.IMPERIAL else "cubic metre"
    bought = soil_bought(filled.loose, soil, system).volume
    pays = saved / VOLUME.value_in(bought, soil_unit(system))
    volume = VOLUME.format(bought, system)
    return f"; {volume} of loose soil would save {saved:.2f} of boards, which pays below {pays:.2f} a {name}"
