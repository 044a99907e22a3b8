"""Everything the check of one run has to tell, as one record."""

from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from fencegrade.ground.advice import FROM_CHART, Advice, Boards, advice_problems, advise, imagined
from fencegrade.ground.fit import GroundProfile
from fencegrade.ground.survey import RunGround
from fencegrade.problems import Problem
from fencegrade.units import UnitSystem
from fencegrade.units.arrays import Floats, Truths, first_most
from fencegrade.units.tolerances import SAME_LENGTH
from fencegrade.units.words import Words

IN_FIVE = 0.8
"""Share of places of which the report says how near the ground is to the line: 4 of 5."""

SAMPLES = 8
"""Places in every gap between readings at which the spread is looked at."""


class Relief(Struct, frozen=True, kw_only=True):
    """A run's readings at a glance, those on it and the next beyond either end, inches: how many, the `first`
    and the `last`, usual `spacing` and `widest` gap between them, `lowest` and `highest` reading, and the
    `steepest` slope between two (rise over run).
    """

    count: int
    first: float
    last: float
    spacing: float
    widest: float
    lowest: float
    highest: float
    climb: float
    steepest: float


class GroundReport(Struct, frozen=True, kw_only=True, eq=False):
    """What is known of one run's ground; lengths in inches.

    `ground` as reduced; `relief` of its readings; `within` mean and `worst` half
    width of the band that holds the ground in 4 places of 5, `worst_at` its station; `advice` where to
    measure; `from_chart` (n,) whether each board may be cut from the chart, none where no boards are given;
    `sag_boards` how many may not, or could not, for the doubt of the sag alone, which counts where the tops
    are not marked from a string pulled the same way;
    `problems` everything to tell, the survey's own and the advice.
    """

    ground: RunGround
    relief: Relief
    within: float
    worst: float
    worst_at: float
    advice: Advice
    from_chart: Truths
    sag_boards: int
    problems: tuple[Problem, ...]


def ground_report(
    ground: RunGround,
    system: UnitSystem,
    tape: float,
    boards: Boards | None = None,
    marked: Sequence[tuple[float, float]] = (),
    share: float = FROM_CHART,
) -> GroundReport:
    """All of the check of one run.

    `ground` of the run; `system`, `tape` (in) for the words of problems; `boards` of the run, else boards are
    imagined; `marked` stretches (in) with a root or trunk; `share` the chance of standing outside up to which
    a board is cut from the chart.
    """
    words = Words(system=system, mark=tape)
    profile = ground.profile
    own = _own(ground)
    stations = ground.stations[own]
    gaps = np.diff(stations)
    open_ = gaps > 0
    x = _between_readings(stations[:-1][open_], gaps[open_])
    half = profile.spread.at(x).half_width(IN_FIVE)
    worst = first_most(half)
    advice = advise(
        profile, boards or imagined(profile, ground.start, ground.end), marked, share, ground.left_out
    )
    from_chart = (advice.chance <= share) & ~advice.unread if boards else np.zeros(0, dtype=bool)
    return GroundReport(
        ground=ground,
        relief=_relief(stations, ground.elevations[own]),
        within=float(np.average(half, weights=np.repeat(gaps[open_], SAMPLES))),
        worst=float(half[worst]),
        worst_at=float(x[worst]),
        advice=advice,
        from_chart=from_chart,
        sag_boards=_sag_boards(profile, boards, share) if boards else 0,
        problems=(
            *ground.notes,
            *advice_problems(advice, ground.name, words, provisional=ground.provisional),
        ),
    )


def _sag_boards(profile: GroundProfile, b: Boards, share: float) -> int:
    """Boards that the doubt of sag alone brings in doubt."""
    if not profile.spread.sags:
        return 0
    levelled, known = (b.chance_outside(profile.spread, sag=sag) for sag in (True, False))
    return int(((known <= share) & (levelled > share)).sum())


def _own(ground: RunGround) -> slice:
    """The readings that tell of a run: those on it, and the next beyond an end that lies between two."""
    first = int(np.searchsorted(ground.stations, ground.start + SAME_LENGTH)) - 1
    last = int(np.searchsorted(ground.stations, ground.end - SAME_LENGTH))
    return slice(max(first, 0), last + 1)


def _relief(stations: Floats, elevations: Floats) -> Relief:
    gaps, rises = np.diff(stations), np.diff(elevations)
    open_ = gaps > 0
    return Relief(
        count=len(stations),
        first=float(stations[0]),
        last=float(stations[-1]),
        spacing=float(np.median(gaps[open_])),
        widest=float(gaps.max()),
        lowest=float(elevations.min()),
        highest=float(elevations.max()),
        climb=float(rises.sum()) if (rises >= 0).all() or (rises <= 0).all() else 0.0,
        steepest=float(np.abs(rises[open_] / gaps[open_]).max()),
    )


def _between_readings(starts: Floats, gaps: Floats) -> Floats:
    inside = (np.arange(SAMPLES) + 0.5) / SAMPLES
    return (starts[:, None] + gaps[:, None] * inside[None, :]).ravel()
