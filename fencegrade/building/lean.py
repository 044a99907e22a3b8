"""A fence that leans: the last picket's lean spread over the next ones, a little in every gap.

     leans toward the start      spread over three gaps        `toward` is where the top goes
        ____                       ____  ____  ____  ____
        \\   \\                      \\   \\ \\   \\ |   | |   |      gap at top - gap at bottom = taper
         \\   \\                      \\   \\ \\   \\|   | |   |      tapers add up to the lean
          \\___\\                      \\___\\ \\___|___| |___|      the last picket stands plumb
     start <-    -> end

Boards stay straight and whole; across a leaning board widths are taken as level ones, which for a lean of
1 in 6 ft is short by less than a thousandth of an inch.
"""

import math
from collections.abc import Iterator, Mapping
from enum import StrEnum

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from fencegrade.fence.slots import Slots
from fencegrade.fence.wood.widths import USUAL_LIMIT
from fencegrade.job.defaults import default_tables
from fencegrade.problems import Problem, mistake, note, raise_mistakes, warning
from fencegrade.units import UnitError, UnitSystem, format_length, parse_length
from fencegrade.units.arrays import Floats
from fencegrade.units.tolerances import ROUNDING
from fencegrade.units.words import Words

MOST_BOARDS = 1000
"""A lean is never spread over more boards than this."""

_SHORTEST = 1.0
_STRETCHED = 2.0
"""A lean measured over less than a board's length divided by this is mostly reading error."""


class Toward(StrEnum):
    """Which end of the run the top leans toward."""

    START = "start"
    END = "end"


class PlumbLimit(Struct, frozen=True, kw_only=True):
    """A published tolerance on plumb: `off` (in) over `over` (in)."""

    off: float
    over: float
    name: str
    source: str

    def at(self, height: float) -> float:
        """What it allows over a height (in)."""
        return self.off * height / self.over


PLUMB_LIMITS = (
    PlumbLimit(
        off=0.25,
        over=120.0,
        name="rough framing",
        source="Journal of Light Construction, quoting the Handbook of Construction Tolerances",
    ),
    PlumbLimit(
        off=0.25,
        over=32.0,
        name="remodelling",
        source="Journal of Light Construction, quoting the NAHB remodelers' standards",
    ),
)
"""For comparison only: none was written for fences, and no tolerance for fences was found published."""


class Lean(Struct, frozen=True, kw_only=True):
    """How far a picket's top is out of plumb: `amount` (in) measured over `over` (in), and which way."""

    amount: float
    over: float
    toward: Toward

    def at(self, height: float) -> float:
        """Offset of the top (in) over a height (in): the size, without the direction."""
        return self.amount * height / self.over

    @property
    def sign(self) -> float:
        """1 where the top goes toward the end, -1 toward the start."""
        return 1.0 if self.toward is Toward.END else -1.0


class LeanQuestion(Struct, frozen=True, kw_only=True):
    """A lean and how it is to be spread: sizes in inches, `boards` None for as many as suit.

    `height`: kept length of the boards, the longest where they differ; `limit`: most a gap may taper;
    `assumed` holds each part that was not given, with what was taken.
    """

    lean: Lean
    width: float
    spacing: float
    height: float
    limit: float
    boards: int | None
    system: UnitSystem
    assumed: tuple[tuple[str, str], ...] = ()

    @property
    def whole(self) -> float:
        """The lean over the board's whole height (in)."""
        return self.lean.at(self.height)


class LeanSpread(Struct, frozen=True, kw_only=True, eq=False):
    """A lean spread over the next pickets; inches, arrays (boards,) in order along the run.

    `taper` is what every gap is wider at one end than at the other (at the top for a lean toward the start);
    `left_over` the lean that remains after the last board, zero if it is hidden. `least` is the fewest boards
    within the limit, `clear` the fewest that also leave every board's middle where it was planned (0 where
    boards touch and no count does). `moved` is how much further along the last board's middle stands than
    planned. `top` and `bottom` are the edges there, as stations; `leans` is each board's own lean once up,
    without direction.
    """

    question: LeanQuestion
    least: int
    clear: int
    taper: float
    left_over: float
    moved: float
    gap_top: Floats
    gap_bottom: Floats
    top: Slots
    bottom: Slots
    leans: Floats

    @property
    def boards(self) -> int:
        """How many boards it is spread over."""
        return len(self.leans)

    @property
    def hidden(self) -> bool:
        """Whether nothing of the lean remains."""
        return self.left_over <= ROUNDING


def fewest_boards(whole: float, limit: float) -> int:
    """Fewest boards that take up a lean of `whole` (in) with no gap tapering by more than `limit` (in).

    Errors: ValueError for a limit not over zero. Source: own derivation.
    """
    if not limit > 0:
        raise ValueError(f"the limit must be over zero, not {limit}")
    return math.ceil(whole / limit - ROUNDING)


def fewest_clear(whole: float, limit: float, spacing: float) -> int:
    """Fewest boards within `limit` (in) that need not be moved along, for a gap of `spacing` (in).

    A gap can close at one end by all of itself while it opens as much at the other, so it tapers by up to
    twice the spacing about its middle. Result: 0 where boards touch. Source: own derivation.
    """
    return fewest_boards(whole, min(limit, 2 * spacing)) if spacing > ROUNDING else 0


def suggested_boards(whole: float, limit: float, spacing: float) -> int:
    """How many boards to spread a lean over: none moved along if that is within reach, else the fewest."""
    clear = fewest_clear(whole, limit, spacing)
    return clear if 0 < clear <= MOST_BOARDS else fewest_boards(whole, limit)


def spread_over_slots(slots: Slots, last: int, question: LeanQuestion) -> LeanSpread:
    """New edges of the pickets after number `last` (from 0), which is up and leans, its middle on its slot.

    `slots`: as planned, of one stretch between gates, stations in inches; `question`: its `boards`, as
    `suggested_boards` if not given, are never more than there are; its width and spacing count for nothing.
    Every gap gets the same taper, at most the limit. It is laid about the middle of the planned gap; where
    that gap is too narrow, its narrow end closes and the wide end opens, which moves the rest along by
    `moved`. Errors: ValueError for sizes that `lean_problems` refuses, or a `last` beyond the slots. Source:
    own derivation; the limit is common practice, no source.
    """
    lean, limit = question.lean, question.limit
    if not (0 <= last < len(slots) and lean.amount > 0 and lean.over > 0 and question.height > 0):
        raise ValueError("the lean, its heights and the leaning picket must be real ones")
    whole = question.whole
    gaps = slots.left[last + 1 :] - slots.right[last:-1]
    room = float(gaps.min(initial=math.inf))
    wanted = suggested_boards(whole, limit, room) if question.boards is None else question.boards
    count = min(len(gaps), wanted)
    taper = min(whole / count, limit) if count else 0.0
    left_over = whole - count * taper
    part = np.arange(1, count + 1)
    leans = np.where(whole - part * taper > ROUNDING, whole - part * taper, 0.0)
    middle_gap = np.maximum(gaps[:count], taper / 2)
    shift = np.cumsum(middle_gap - gaps[:count])
    left, right = (edge[last + 1 : last + 1 + count] + shift for edge in (slots.left, slots.right))
    half = lean.sign * leans / 2
    return LeanSpread(
        question=question,
        least=fewest_boards(whole, limit),
        clear=fewest_clear(whole, limit, room) if len(gaps) else 0,
        taper=taper,
        left_over=left_over if left_over > ROUNDING else 0.0,
        moved=float(shift[-1]) if count else 0.0,
        gap_top=middle_gap - lean.sign * taper / 2,
        gap_bottom=middle_gap + lean.sign * taper / 2,
        top=Slots(left=left + half, right=right + half),
        bottom=Slots(left=left - half, right=right - half),
        leans=leans,
    )


def spread_over_next(question: LeanQuestion) -> LeanSpread:
    """As `spread_over_slots`, for pickets of one width and spacing that nothing ends.

    Stations in the result are measured along the run from the bottom of the leaning board's leading edge.
    Errors: ValueError as there.
    """
    q = question
    count = suggested_boards(q.whole, q.limit, q.spacing) if q.boards is None else q.boards
    middle = q.lean.sign * q.whole / 2
    right: Floats = middle + np.arange(count + 1, dtype=np.float64) * (q.width + q.spacing)
    return spread_over_slots(Slots(left=right - q.width, right=right), 0, replace(q, boards=count))


class LeanTold(Struct, frozen=True, kw_only=True):
    """What was said of a lean, as typed.

    `sizes`: `lean`, `over`, `height`, `limit`, `spacing`, `width`; the last four may be None: the height is
    then the one measured over, the limit `USUAL_LIMIT`, spacing and width those of a job that does not say
    (common practice, no source). `toward`: the start if None, which is asked about, for the wrong one doubles
    the lean; `boards`: as many as suit if None.
    """

    sizes: Mapping[str, str | None]
    toward: Toward | None
    boards: int | None


def read_lean_question(told: LeanTold, system: UnitSystem) -> LeanQuestion:
    """A lean and how it is to be spread.

    `system`: of the answer. Errors: JobMistakesError with every part that cannot be read or cannot be.
    """
    usual = default_tables(system)["pickets"]
    fallback = {
        "height": str(told.sizes["over"]),
        "limit": USUAL_LIMIT[system],
        "spacing": str(usual["spacing"]),
        "width": str(usual["width"]),
    }
    raise_mistakes(told_problems(told, system))
    sizes = {part: parse_length(text or fallback[part]) for part, text in told.sizes.items()}
    toward = () if told.toward else (("toward", "start, back over the boards that are up"),)
    question = LeanQuestion(
        lean=Lean(amount=sizes["lean"], over=sizes["over"], toward=told.toward or Toward.START),
        **{part: sizes[part] for part in ("width", "spacing", "height", "limit")},
        boards=told.boards,
        system=system,
        assumed=(*toward, *((part, taken) for part, taken in fallback.items() if told.sizes[part] is None)),
    )
    raise_mistakes(lean_problems(question))
    return question


def told_problems(told: LeanTold, system: UnitSystem) -> Iterator[Problem]:
    """What is wrong with any part that was said, by itself; its place is the part's name."""
    sizes: dict[str, float] = {}
    for part, text in told.sizes.items():
        try:
            sizes |= {part: parse_length(text)} if text is not None else {}
        except UnitError as error:
            yield mistake(part, *error.halves)
    yield from _part_problems(sizes, told.boards, system)


def _part_problems(sizes: Mapping[str, float], boards: int | None, system: UnitSystem) -> Iterator[Problem]:
    """What is wrong with sizes (in), each by itself, and with how many boards are to take a lean up."""
    words = Words.of_layout(system)
    for part, size in sizes.items():
        if part == "spacing" and size < 0:
            yield mistake(part, f"{words.fine(size)} is below zero", "write 0 in where boards touch")
        elif part != "spacing" and not size > 0:
            yield mistake(part, f"{words.fine(size)} is not more than zero", "check number and sign")
        elif part == "over" and size < _SHORTEST:
            found = f"{words.fine(size)} is too short to judge a lean by"
            yield mistake(part, found, "measure over the length of a level or more")
    if boards is not None and not 1 <= boards <= MOST_BOARDS:
        yield mistake("boards", f"{boards} boards cannot be", f"write 1 to {MOST_BOARDS}")


def lean_problems(question: LeanQuestion) -> Iterator[Problem]:
    """What is wrong or doubtful with a lean and how it is to be spread; its place is the part's name."""
    q = question
    sizes = {"lean": q.lean.amount, "over": q.lean.over, "height": q.height}
    sizes |= {"limit": q.limit, "spacing": q.spacing, "width": q.width}
    if "toward" in dict(q.assumed):
        found = f"nothing says which end of the run the top leans toward; the {q.lean.toward} is taken"
        remedy = "if it leans toward the end, say so: by the wrong one the lean is doubled"
        yield warning("toward", found, remedy)
    wrong = list(_part_problems(sizes, q.boards, q.system))
    yield from wrong
    if not any(p.place in sizes for p in wrong):
        yield from _size_problems(q)


def _size_problems(q: LeanQuestion) -> Iterator[Problem]:
    """Sizes that are real ones, but do not go together."""
    whole, words = q.whole, Words.of_layout(q.system)
    tall, over = (format_length(x, q.system, feet=True) for x in (q.height, q.lean.over))
    if whole > q.width:
        yield mistake(
            "lean",
            f"the lean is {words.fine(whole)} over a board of {tall}, more than a board's width of "
            f"{words.fine(q.width)}",
            "check the number; if it is right, take the boards down and set them plumb",
        )
    elif whole > q.limit * MOST_BOARDS:
        found = f"with {words.given(q.limit)} a board it would take more than {MOST_BOARDS} boards"
        yield mistake("limit", found, "allow more a board")
    if q.height > _STRETCHED * q.lean.over + ROUNDING:
        yield warning(
            "over",
            f"the lean was measured over {over} of a board of {tall}, so an error of reading grows "
            f"{q.height / q.lean.over:.1f} times",
            "measure it again with a longer level or a plumb line",
        )
    elif q.lean.over > q.height + ROUNDING:
        yield note("over", f"the lean was measured over {over}, more than the board's {tall}")
