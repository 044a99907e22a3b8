"""Boards that dry or swell after they are up: the gap to set today, and the overlap that is left.

  today                 in service            Each board stays where it is fixed, about its middle,
|######| |######|      |####|   |####|        so the pitch holds:
 width   gap            width'   gap'         width + gap = width' + gap'
"""

import re
from collections.abc import Iterator

from msgspec import Struct

from fencegrade.figures.shrinkage import MOISTURE_WORDS, SHRINKAGE, SpeciesGroup
from fencegrade.problems import Problem, mistake, note, warning
from fencegrade.units import UnitError, UnitSystem
from fencegrade.units.tolerances import ROUNDING
from fencegrade.units.words import Words

MOST_MOISTURE = 250.0
"""Per cent; no fence board is wetter (water is 2.5 times the dry wood)."""

_PER_CENT = re.compile(r"([0-9]+(?:[.,][0-9]+)?) ?%?")


def read_moisture(text: str) -> float:
    """Moisture content in per cent from a word (wet, damp, dry) or a meter's figure (16, 16 %).

    Errors: UnitError for other text, and for a share such as 0.16. Source of the words: `MOISTURE_WORDS`.
    """
    plain = text.strip().lower()
    if plain in MOISTURE_WORDS:
        return MOISTURE_WORDS[plain].per_cent
    found = _PER_CENT.fullmatch(plain)
    if found is None:
        raise UnitError(
            f"{text!r} is no moisture content.", "Write wet, damp or dry, or a meter's figure such as 16 %."
        )
    value = float(found[1].replace(",", "."))
    if 0 < value < 1:
        raise UnitError(
            f"{text!r} is under one per cent.", f"Write it in per cent, such as {100 * value:g} %."
        )
    return value


def moisture_problems(place: str, moisture: float, group: SpeciesGroup) -> Iterator[Problem]:
    """What is wrong, or worth knowing, with a moisture content (per cent) under the published line."""
    line = SHRINKAGE[group]
    if not line.driest <= moisture <= MOST_MOISTURE:
        yield mistake(
            place,
            f"a moisture content of {moisture:g} % is outside what can be computed",
            f"the published line starts at {line.driest:g} %; write {line.driest:g} to {MOST_MOISTURE:g} %",
        )
    elif moisture > line.green:
        yield note(
            place, f"{moisture:g} % counts as {line.green:g} %: wetter wood ({group}) does not swell further"
        )
    elif line.wettest < moisture < line.green:
        yield note(
            place,
            f"{moisture:g} % is above the {line.wettest:g} % the published line is stated for",
            f"the same line is followed to green wood at {line.green:g} %, where shrinkage starts",
        )


def width_shrinkage(moisture: float, group: SpeciesGroup) -> float:
    """Share of its green width that a board has lost at a moisture content.

    `moisture`: per cent, from 8 up; above green it counts as green. Result: 0 at green, 0.028 at 15 % for
    most softwoods. Errors: ValueError under 8 %. Source: S = a - b M, see `SHRINKAGE`; stated for 8 to
    19 % and followed to green, where it meets zero.
    """
    line = SHRINKAGE[group]
    if not moisture >= line.driest:
        raise ValueError(f"no shrinkage is published under {line.driest:g} %, not for {moisture}")
    if moisture >= line.green:
        return 0.0
    return max(0.0, line.a - line.b * moisture) / 100


class MoistureChange(Struct, frozen=True, kw_only=True):
    """Moisture content now and in service (per cent), and what it does to a board's width.

    `factor` is the width in service over the width now: under one where boards shrink.
    """

    group: SpeciesGroup
    now: float
    service: float
    factor: float

    def loss(self, width: float) -> float:
        """What a board of `width` (in) now loses (in); negative where it swells."""
        return width * (1 - self.factor)


def moisture_change(
    now: float, service: float, group: SpeciesGroup = SpeciesGroup.SOFTWOOD
) -> MoistureChange:
    """What a change of moisture content does to widths.

    `now`, `service`: per cent. Errors: ValueError under 8 %. Source: w2 = w1 (1 - S2) / (1 - S1),
    USDA FPL-RP-489.
    """
    factor = (1 - width_shrinkage(service, group)) / (1 - width_shrinkage(now, group))
    return MoistureChange(group=group, now=now, service=service, factor=factor)


class GapForecast(Struct, frozen=True, kw_only=True):
    """A gap between boards side by side, today and in service; inches.

    `gap_service` follows from `gap_now`; negative: the boards press on each other by that much a board.
    `to_set` is the gap to leave today for `wanted` in service, zero where even butted boards shrink to
    more than that; `reached` is what `to_set` then gives.
    """

    width_now: float
    width_service: float
    gap_now: float
    gap_service: float
    wanted: float
    to_set: float
    reached: float


def forecast_gap(width: float, gap_now: float, wanted: float, change: MoistureChange) -> GapForecast:
    """Gaps of boards side by side when they reach service moisture.

    `width`: a board's width now (in); `gap_now`: gap as set today (in); `wanted`: gap wanted in service (in).
    Holds for boards fixed about their middle. Errors: ValueError for a width not over zero or a negative
    gap. Source: own derivation on the pitch, which fixing holds.
    """
    if not (width > 0 and gap_now >= 0 and wanted >= 0):
        raise ValueError(f"width {width} must be over zero, gaps {gap_now} and {wanted} not below it")
    loss = change.loss(width)
    to_set = max(0.0, wanted - loss)
    return GapForecast(
        width_now=width,
        width_service=width - loss,
        gap_now=gap_now,
        gap_service=gap_now + loss,
        wanted=wanted,
        to_set=to_set,
        reached=to_set + loss,
    )


class OverlapForecast(Struct, frozen=True, kw_only=True):
    """Overlap of board on board or shadowbox, each side of a gap, today and in service; inches.

    `row_gap_now` and `row_gap_service` are the gaps within one row. Negative overlap: a slit stays open.
    """

    width_now: float
    width_service: float
    row_gap_now: float
    row_gap_service: float
    overlap_now: float
    overlap_service: float


def forecast_overlap(width: float, row_gap: float, change: MoistureChange) -> OverlapForecast:
    """Overlap left when boards of two rows, each centred on the other's gaps, reach service moisture.

    `width`: a board's width now (in); `row_gap`: gap within a row today (in).

        front   |######|    |######|        overlap      = (width - gap) / 2
        back        |######|                in service   = (2 width' - width - gap) / 2

    Errors: ValueError for a width not over zero or a negative gap. Source: own derivation.
    """
    if not (width > 0 and row_gap >= 0):
        raise ValueError(f"width {width} must be over zero and the gap {row_gap} not below it")
    loss = change.loss(width)
    return OverlapForecast(
        width_now=width,
        width_service=width - loss,
        row_gap_now=row_gap,
        row_gap_service=row_gap + loss,
        overlap_now=(width - row_gap) / 2,
        overlap_service=(width - row_gap) / 2 - loss,
    )


def gap_problems(place: str, gap: GapForecast, system: UnitSystem) -> Iterator[Problem]:
    """Warnings about a gap: boards that will press on each other, or open to more than is wanted."""
    length = Words.of_layout(system).fine
    if gap.gap_service < -ROUNDING:
        growth = length(gap.width_service - gap.width_now)
        apart = f"set {length(gap.gap_now)} apart" if gap.gap_now > 0 else "set touching"
        yield warning(
            place,
            f"boards {apart} will each swell by {growth} and press on their neighbours, which buckles boards "
            "or pushes posts",
            f"leave at least {growth} between them today",
        )
    elif gap.to_set == 0 and gap.reached > gap.wanted + ROUNDING:
        yield warning(
            place,
            f"even boards set touching will stand {length(gap.reached)} apart in service, more than the "
            f"{length(gap.wanted)} wanted",
            "let them dry first, or lap the boards",
        )


def overlap_problems(place: str, overlap: OverlapForecast, system: UnitSystem) -> Iterator[Problem]:
    """Warnings where two rows will no longer cover each other's gaps, or boards of one row will touch."""
    length = Words.of_layout(system).fine
    if overlap.overlap_service <= ROUNDING:
        yield warning(
            place,
            f"an overlap of {length(overlap.overlap_now)} comes to {length(overlap.overlap_service)} in "
            "service",
            "set the boards of each row closer",
        )
    if overlap.row_gap_service < -ROUNDING:
        yield warning(
            place,
            f"boards {length(overlap.row_gap_now)} apart in their row will swell and press on each other",
            f"leave at least {length(overlap.width_service - overlap.width_now)} between them today",
        )
