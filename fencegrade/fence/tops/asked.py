"""What is asked of a top line, and what was found."""

from enum import StrEnum

import numpy as np
from msgspec import Struct, field

from fencegrade.fence.closed import NOTHING_CLOSED, Closed
from fencegrade.fence.slots import Slots
from fencegrade.fence.stock_steps import BoardCost
from fencegrade.fence.tops.line import TopLine
from fencegrade.fence.tops.line_on_ground import ground_alone, highest_over_chords
from fencegrade.ground.profile import GroundLine
from fencegrade.problems import Problem
from fencegrade.units import UnitSystem
from fencegrade.units.arrays import Floats, Truths
from fencegrade.units.words import Words

NO_POSTS: Floats = np.empty(0)


class Proof(StrEnum):
    """In what sense a top line is the best of its kind.

    Costs are those of `TopWish.cost`: one picket a board, none on hand or longer in doubt, low ground closed
    by longer boards alone.
    """

    LOWEST = "the lowest line of its kind"
    COST = "the least cost of boards among all lines of its kind"
    COST_ON_TAPE = "the least cost among all heights whole marks of the tape from the highest bay's"
    COST_NEAR = "the least cost among heights on the tape near the line of least timber"
    TIMBER = "the least timber among all lines of its kind"
    BEND = "the gentlest bend between its lower and upper limits"
    NONE = "not proven"


class TopLimits(Struct, frozen=True, kw_only=True):
    """Limits a top line is held to, each a key of `[top]`; None is no limit.

    `most_step` (in): largest step at a post, but at a face; `equal_steps`: steps of one size alone;
    `most_slope` (rise over run): steepest straight piece.
    """

    most_step: float | None = None
    equal_steps: bool = False
    most_slope: float | None = None


class TopWish(Struct, frozen=True, kw_only=True, eq=False):
    """What is asked of one run's top line; stations, heights and `mark` in inches.

    `name`: of the run, for messages; `line`: the ground; `slots`: the pickets, laid as the style asks;
    `start`, `end`: of the run; `least_height`: kept by the line everywhere between them, and by each board
    over the highest ground under it; `cost`: of the pickets by height; `posts`: (m,) stations; `most_height`:
    the local height limit, for remarks about dips; `closed`: where no post may stand and nothing may be dug,
    for remarks.
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
    closed: Closed = NOTHING_CLOSED
    limits: TopLimits = field(default_factory=TopLimits)

    @property
    def words(self) -> Words:
        """How lengths and stations are written."""
        return Words(system=self.units, mark=self.mark)

    def place(self, station: float) -> str:
        """A place on the run, for messages."""
        return f"{self.name}, at {self.words.station(station)}"


Corner = tuple[int, int]
"""Two runs that join: the one that ends at the corner, and the one that starts there."""


class TopChoice(Struct, frozen=True, kw_only=True, eq=False):
    """A top line and what it comes to. Lengths in inches, slopes rise over run, `cost` in money.

    `proof`: in what sense it is the best. `cost`: boards alone, one picket a board, boards on hand left out
    (lengths where stock has no price); `counted`: the same with what the search counts for pickets without
    stock and over the height limit; `timber`: total length of the pickets before rounding; `unserved` (n,):
    pickets no stock serves; `least_height`: the least of the line over the ground anywhere on the run, and of
    the boards over the highest ground under each; `largest_step`, `steepest`: of the line.
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
    problems: tuple[Problem, ...]


def chosen(wish: TopWish, top: TopLine, proof: Proof, problems: tuple[Problem, ...] = ()) -> TopChoice:
    """A choice with everything about the line worked out."""
    crown = top.at(wish.slots.centre)
    board = wish.cost.on_marks(crown)
    return TopChoice(
        top=top,
        proof=proof,
        cost=board.boards(crown),
        counted=board.total(crown),
        timber=board.timber(crown),
        unserved=board.unserved(crown),
        least_height=least_height_of(wish.line, wish.slots, top),
        largest_step=_largest(top.steps),
        steepest=_largest(top.slopes),
        problems=problems,
    )


def least_height_of(line: GroundLine, slots: Slots, top: TopLine) -> float:
    """The least height (in) of a top line over the ground, and of its boards over their highest ground."""
    over, _ = highest_over_chords(ground_alone(line), top.stations, top.elevations)
    boards = top.at(slots.centre) - line.highest(slots.left, slots.right)
    return float(min(-over.max(), boards.min(initial=np.inf)))


def _largest(values: Floats) -> float:
    return float(np.abs(values).max(initial=0.0))
