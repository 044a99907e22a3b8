"""What is asked of a top line, and what was found."""

from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np

from fencegrade.fence.slots import Slots
from fencegrade.fence.stock_steps import BoardCost, Truths
from fencegrade.fence.tops.line import TopLine
from fencegrade.fence.tops.line_on_ground import highest_over_chords
from fencegrade.ground.profile import Floats, GroundLine
from fencegrade.problems import Problem
from fencegrade.units import UnitSystem
from fencegrade.units.words import Words

NO_POSTS: Floats = np.empty(0)

NEIGHBOUR_STEP = 1.0
"""Inches between neighbouring picket tops of a contour line from which the step is named (common practice, no
source)."""


class Proof(StrEnum):
    """In what sense a top line is the best of its kind."""

    LOWEST = "the lowest line of its kind"
    COST = "the least cost of boards among all lines of its kind"
    COST_ON_TAPE = "the least cost among all heights on the tape's marks"
    COST_NEAR = "the least cost among heights on the tape near the line of least timber"
    TIMBER = "the least timber among all lines of its kind"
    BEND = "the least largest bend between its lower and upper limits"
    NONE = "not proven"


@dataclass(frozen=True, slots=True, kw_only=True)
class TopLimits:
    """Limits and charges a top line is held to; None is no limit. Lengths in inches, slopes rise over run.

    `most_step`: largest step of a stepped top, but at a face; `most_slope`: steepest straight piece of a
    sloped or racked top; `most_bend`: largest change of slope at a post of a racked top; `step_charge`:
    what one step counts in money, `change_charge` what an inch of it adds; `equal_steps`: steps of one
    size alone; `neighbour_step`: from which a step between neighbouring tops of a contour line is named.
    """

    most_step: float | None = None
    most_slope: float | None = None
    most_bend: float | None = None
    step_charge: float = 0.0
    change_charge: float = 0.0
    equal_steps: bool = False
    neighbour_step: float = NEIGHBOUR_STEP


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TopWish:
    """What is asked of one run's top line; stations, heights and `mark` in inches.

    `name`: of the run, for messages; `line`: the ground; `slots`: the pickets (for a stepped top those of
    `stepped_slots`); `start`, `end`: of the run; `least_height`: kept everywhere between them; `cost`: of
    the pickets by height; `posts`: (m,) stations, for stepped and racked tops; `most_height`: the local
    height limit, for remarks about dips.
    """

    name: str
    line: GroundLine
    slots: Slots
    start: float
    end: float
    least_height: float
    cost: BoardCost
    mark: float
    units: UnitSystem
    posts: Floats = field(default_factory=lambda: NO_POSTS)
    most_height: float | None = None
    limits: TopLimits = field(default_factory=TopLimits)

    @property
    def words(self) -> Words:
        """How lengths and stations are written."""
        return Words(system=self.units, mark=self.mark)

    def say(self, inches: float) -> str:
        """A length as the tape reads."""
        return self.words.length(inches)

    def place(self, station: float) -> str:
        """A place on the run, for messages."""
        return f"{self.name}, at {self.words.station(station)}"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TopChoice:
    """A top line and what it comes to. Lengths in inches, slopes rise over run, `cost` in money.

    `proof`: in what sense it is the best. `cost`: boards alone, one picket a board, boards on hand left out
    (lengths where stock has no price); `counted`: the same with every charge the search counted;
    `timber`: total length of the pickets before rounding; `unserved` (n,): pickets no stock serves;
    `least_height`: least height over the ground anywhere on the run; `largest_step`, `steepest`,
    `largest_bend`: of the line itself.
    """

    top: TopLine
    proof: Proof
    cost: float
    counted: float
    timber: float
    unserved: Truths
    least_height: float
    largest_step: float
    steepest: float
    largest_bend: float
    problems: tuple[Problem, ...]


def chosen(wish: TopWish, top: TopLine, proof: Proof, problems: tuple[Problem, ...] = ()) -> TopChoice:
    """A choice with everything about the line worked out."""
    crown = top.at(wish.slots.centre)
    unserved = wish.cost.unserved(crown)
    counted = wish.cost.total(crown)
    over, _ = highest_over_chords(wish.line, top.stations, top.elevations)
    return TopChoice(
        top=top,
        proof=proof,
        cost=wish.cost.boards(crown),
        counted=counted,
        timber=wish.cost.timber(crown),
        unserved=unserved,
        least_height=float(-over.max()),
        largest_step=_largest(top.steps),
        steepest=_largest(top.slopes),
        largest_bend=_largest(top.bends),
        problems=problems,
    )


def _largest(values: Floats) -> float:
    return float(np.abs(values).max(initial=0.0))
