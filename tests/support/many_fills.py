"""Runs over low ground drawn by chance, and all that closes it: fills, kickboards, boards, bills and words.

What comes out is kept in `tests/unit/fence/low_ground/fills.txt` and made again by
`python -m tests.refresh_samples`, or alone by `python tests/support/many_fills.py`.
"""

from collections.abc import Iterator
from pathlib import Path
from random import Random
from typing import Any

import numpy as np
from closed_ground import boards, gaps

from fencegrade.fence.low_ground.choice import LowGroundPlan, close_low_ground
from fencegrade.fence.low_ground.fill_places import LowRun
from fencegrade.fence.pickets.cuts import cut_pickets
from fencegrade.fence.pickets.patterns import lay_pattern
from fencegrade.fence.pickets.wishes import picket_zones
from fencegrade.fence.slots import Slots, closed_stretches, join_slots
from fencegrade.fence.tops.line import TopLine
from fencegrade.fence.tops.table import TopStyle
from fencegrade.ground.profile import GroundLine, ground_line
from fencegrade.job.choices import BottomCut, Fit, LowGround, Pattern, TopEnd
from fencegrade.job.records import ClearanceStretch, Gate, OpenStretch, Pickets, Run, Soil, Stock, Stretch
from fencegrade.units import UnitSystem

KEPT = Path(__file__).parents[1] / "unit" / "fence" / "low_ground" / "fills.txt"
SEEDS = (
    8,
    10,
    35,
    39,
    95,
    101,
    109,
    113,
    130,
    155,
    157,
    167,
    181,
    190,
    191,
    209,
    211,
    213,
    250,
    256,
    259,
    280,
    283,
    285,
    304,
    309,
    321,
    325,
    328,
    333,
    337,
    344,
    346,
    348,
    352,
    363,
    378,
    382,
    390,
    391,
    404,
    408,
    411,
    435,
    459,
    462,
    492,
    493,
)
"""Of 500 runs those that between them have nearly all that all of them have."""
MARK = 0.125


class _Drawn:
    """One run or two alike over low ground, and what there is to close it with."""

    def __init__(self, seed: int) -> None:
        self.chance = chance = Random(f"fill {seed}")
        self.line = self._ground()
        self.system = chance.choice([*UnitSystem])
        self.run = self._run()
        self.pickets = self._pickets()
        self.soil = self._soil()

    def _often(self, share: float) -> bool:
        return self.chance.random() < share

    def _ground(self) -> GroundLine:
        """Swales and holes, with a wall at times."""
        chance, step = self.chance, self.chance.choice([24.0, 36.0])
        count = chance.choice([7, 9, 11])
        x = [k * step for k in range(count)]
        rough, deep = chance.choice([0.0, 0.5, 2.0, 6.0]), chance.choice([0.0, 4.0, 8.0, 14.0])
        low, high = sorted(chance.randrange(count) for _ in range(2))
        z = [-deep * (low < k <= high) - max(0.0, chance.gauss(0.0, rough)) for k in range(count)]
        if self._often(0.3):
            at = chance.randrange(2, count - 2)
            x.insert(at, x[at])
            z.insert(at, z[at] + chance.choice([-5.0, 1.0, 7.0]))
        return ground_line(x, z)

    def _run(self) -> Run:
        length, chance = self.line.end, self.chance
        at = [round(length * share) for share in sorted(chance.random() for _ in range(2))]
        some: dict[str, Any] = {
            "root": (Stretch(start=at[0], end=at[0] + 9.0),),
            "no_soil": (Stretch(start=at[1], end=at[1] + 14.0),),
            "keep_open": (OpenStretch(start=at[0], end=at[0] + 12.0, height=4.0),),
            "clearance": (ClearanceStretch(start=at[0], end=at[0] + 30.0, height=chance.choice([0.0, 4.0])),),
            "gate": (Gate(station=float(at[1]), width=36.0),),
        }
        keys = {key: value for key, value in some.items() if self._often(0.15)}
        if at[1] + 36.0 > length:
            keys.pop("gate", None)
        return Run(name="bed", survey="bed.csv", **keys)

    def _stock(self, lengths: tuple[float, ...], each: float) -> tuple[Stock, ...]:
        priced, found = self._often(0.7), []
        for length in lengths:
            there = self.chance.choice([0, 0, 0, 3, 12])
            price = round(length * each * self.chance.choice([0.9, 1.0, 1.3]), 2) if priced else None
            found.append(Stock(length=length, price=price, on_hand=there))
        return tuple(found)

    def _pickets(self) -> Pickets:
        chance = self.chance
        lengths = chance.choice([(72.0, 96.0), (84.0, 72.0), (72.0, 76.0, 80.0), (72.0,)])
        return Pickets(
            width=5.5,
            spacing=chance.choice([0.25, 2.0]),
            pattern=chance.choice([Pattern.SIDE_BY_SIDE, Pattern.SIDE_BY_SIDE, *Pattern]),
            fit=Fit.EVEN_GAPS,
            top_end=TopEnd.DOG_EARED,
            bottom_cut=chance.choice([BottomCut.SQUARE, BottomCut.SQUARE, *BottomCut]),
            clearance=chance.choice([0.0, 2.0, 2.0]),
            most_gap=chance.choice([2.5, 3.0, 5.0]),
            stock=self._stock(lengths, 0.05),
        )

    def _soil(self) -> Soil:
        chance = self.chance
        kickboard = self._stock(chance.choice([(), (), (96.0,), (144.0, 96.0)]), 0.08)
        asked = chance.choice([*LowGround, LowGround.CHEAPEST, LowGround.SOIL])
        return Soil(
            low_ground=asked if kickboard or asked is not LowGround.KICKBOARD else LowGround.SOIL,
            price=chance.choice([None, 5.0, 20.0, 90.0, 900.0]),
            most_depth=chance.choice([4.0, 6.0, 12.0]),
            crest=chance.choice([0.0, 12.0]),
            side_slope=chance.choice([1.5, 3.0]),
            loose_factor=1.25,
            end_slope=chance.choice([0.0, 2.0, 7.0]),
            least_length=chance.choice([12.0, 24.0, 48.0]),
            bag=chance.choice([None, None, 0.75]),
            kickboard=kickboard,
            kickboard_width=chance.choice([7.25, 9.25]),
        )

    def _slots(self) -> Slots:
        """Pickets between gates and faces, in one row or two."""
        p, line = self.pickets, self.line
        spacing = p.spacing if p.pattern is Pattern.SIDE_BY_SIDE else 3.0
        stretches = closed_stretches(line.start, line.end, self.run.gate, line.faces)
        rows = [lay_pattern(p.pattern, a, b, p.width, spacing, p.fit) for a, b in stretches]
        return join_slots([row.in_order()[0] for row in rows])

    def low(self) -> LowRun:
        """The run with its pickets at full length, under a straight top."""
        line, slots = self.line, self._slots()
        post = self.chance.uniform(0.3, 0.7) * line.end
        high = float(max(line.elevations)) + 72.0
        ends = np.array([high, high + self.chance.choice([0.0, 0.0, 3.0])])
        tops = TopLine(style=TopStyle.SLOPED, stations=np.array([line.start, line.end]), elevations=ends)
        zones = picket_zones(slots, self.run, self.pickets)
        return LowRun(
            run=self.run,
            line=line,
            start=line.start,
            end=line.end,
            slots=slots,
            zones=zones,
            cuts=cut_pickets(line, slots, tops, zones.clearance, self.pickets.bottom_cut, MARK),
            bays=((line.start, post), (post, line.end)) if self._often(0.7) else (),
            no_soil=((40.0, 48.0),) if self._often(0.1) else (),
        )


def told(seed: int) -> Iterator[str]:
    """What closes the low ground of one run, or of two alike."""
    drawn = _Drawn(seed)
    low, twice = drawn.low(), seed % 4 == 0
    runs = [low] * (1 + twice)
    found = close_low_ground(runs, drawn.pickets, drawn.soil, MARK, drawn.system, compare=seed % 3 > 0)
    yield f"= {seed} {found.choice} {_figures(found.lower_bound)}"
    yield from _plan(found)
    made = boards(found)
    yield f"kept {' '.join(map(str, made.cuts.kept.tolist()))}"
    for gap in gaps(found, low):
        yield f"gap {gap.action} {_figures(*(f for f in _fields(gap) if isinstance(f, (int, float))))}"


def _plan(found: LowGroundPlan) -> Iterator[str]:
    for choice, bill in found.bills.items():
        yield f"{choice}: {_figures(*_fields(bill))}"
    for done in found.runs:
        for kind in (done.fills, done.kickboards):
            for one in kind:
                yield f"{type(one).__name__} {_figures(*_fields(one))}"
        marks = zip(done.on_soil.tolist(), done.boarded.tolist(), strict=True)
        yield "".join(".sbx"[soil + 2 * board] for soil, board in marks)
    for problem in found.problems:
        yield f"{problem.severity} {problem}"


def _fields(record: object) -> list[float | None]:
    return [getattr(record, name) for name in record.__struct_fields__]  # type: ignore[attr-defined]


def _figures(*values: float | None) -> str:
    return " ".join("-" if v is None else f"{v + 0.0:.4g}" for v in values)


def all_told() -> str:
    """What closes the low ground of all of them."""
    return "\n".join([*(line for seed in SEEDS for line in told(seed)), ""])


if __name__ == "__main__":
    KEPT.write_text(all_told(), encoding="utf-8")
