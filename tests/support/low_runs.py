"""Runs with low ground, and what closes it."""

from collections.abc import Iterable
from typing import Any

import numpy as np
from straight_ground import straight_ground

from fencegrade.fence.low_ground.choice import LowGroundPlan, close_low_ground
from fencegrade.fence.low_ground.fill_places import LowRun
from fencegrade.fence.pickets.cuts import cut_pickets
from fencegrade.fence.pickets.wishes import picket_zones
from fencegrade.fence.slots import fill_stretch
from fencegrade.fence.tops.level import level_top
from fencegrade.fence.tops.line import TopLine
from fencegrade.ground.profile import GroundLine
from fencegrade.job.choices import BottomCut, Fit, LowGround, Pattern, TopEnd
from fencegrade.job.records import Pickets, Run, Soil, Stock
from fencegrade.units import UnitSystem

MARK = 0.125
RUN = Run(name="herb bed", survey="herb.csv")
PRICED = ((72.0, 3.6, 0), (96.0, 6.1, 0))
SWALE = [24, 24.5, 26, 29, 34, 40, 43, 41, 35, 29.5, 26, 24.5, 24]


def straight(readings: list[float], step: float) -> GroundLine:
    """Ground straight between readings under a level string at 0."""
    x = np.arange(len(readings)) * step
    return straight_ground(x, -np.array(readings, dtype=float))


def pickets_of(
    stock: Iterable[tuple[float, float | None, int]] = PRICED,
    most_gap: float = 3.0,
    clearance: float = 2.0,
    spacing: float = 0.25,
) -> Pickets:
    """Pickets of 5-1/2 in, 1/4 in apart or more, of `stock` (length, price, on hand)."""
    return Pickets(
        width=5.5,
        spacing=spacing,
        pattern=Pattern.SIDE_BY_SIDE,
        fit=Fit.EVEN_GAPS,
        top_end=TopEnd.DOG_EARED,
        bottom_cut=BottomCut.SQUARE,
        clearance=clearance,
        most_gap=most_gap,
        stock=tuple(Stock(length=a, price=p, on_hand=h) for a, p, h in stock),
    )


def low_run(
    line: GroundLine,
    run: Run = RUN,
    top: TopLine | None = None,
    pickets: Pickets | None = None,
    no_soil: tuple[tuple[float, float], ...] = (),
    mark: float = MARK,
    cut: BottomCut = BottomCut.SQUARE,
    bays: tuple[tuple[float, float], ...] = (),
) -> LowRun:
    """A whole run under a level top 6 ft over its highest ground, or another."""
    pickets = pickets or pickets_of()
    slots = fill_stretch(line.start, line.end, pickets.width, pickets.spacing, Fit.EVEN_GAPS)
    zones = picket_zones(slots, run, pickets)
    tops = top or level_top(line, line.start, line.end, 72.0)
    return LowRun(
        run=run,
        line=line,
        start=line.start,
        end=line.end,
        slots=slots,
        zones=zones,
        cuts=cut_pickets(line, slots, tops, zones.clearance, cut, mark),
        bays=bays,
        no_soil=no_soil,
    )


def plan(
    line: GroundLine,
    choice: LowGround = LowGround.CHEAPEST,
    stock: tuple[tuple[float, float | None, int], ...] = PRICED,
    run: Run = RUN,
    top: TopLine | None = None,
    most_gap: float = 3.0,
    clearance: float = 2.0,
    no_soil: tuple[tuple[float, float], ...] = (),
    system: UnitSystem = UnitSystem.IMPERIAL,
    runs: int = 1,
    mark: float = MARK,
    **soil: Any,
) -> LowGroundPlan:
    """What closes the low ground of a run, or of several alike."""
    pickets = pickets_of(stock, most_gap, clearance)
    table = {"price": 40.0, "most_depth": 6.0, "crest": 12.0, "side_slope": 3.0, "loose_factor": 1.25} | soil
    low = low_run(line, run, top, pickets, no_soil, mark)
    return close_low_ground([low] * runs, pickets, Soil(low_ground=choice, **table), mark, system)
