"""Setting out: the string, the line of the tops, spaces and openings, and the list before digging."""

from collections.abc import Iterator

from reportlab.platypus import Flowable

from fencegrade.fence.pickets.patterns import row_names
from fencegrade.ground.survey_line import ZERO
from fencegrade.planning.hanging import openings, spaces_to_set, where_bays_meet
from fencegrade.planning.plan import FencePlan, RunPlan
from fencegrade.sheets.cautions import Work
from fencegrade.sheets.digging import before_digging, is_checked
from fencegrade.sheets.facts import tops_words, under_or_over
from fencegrade.sheets.hanging import bays_to_come, step_at_a_post
from fencegrade.sheets.paper.blocks import (
    cautions_of,
    grid,
    heading,
    kept,
    named,
    title,
    to_tick,
    words,
)
from fencegrade.sheets.paper.hang import is_charted
from fencegrade.sheets.paper.sheet import Look, room_for
from fencegrade.sheets.paper.side import planning_has_room
from fencegrade.sheets.practice import SQUARE_SIDES
from fencegrade.sheets.run_words import corner_lines, pattern_lines
from fencegrade.units import UnitSystem, layout_mark, to_marks
from fencegrade.units.tolerances import SAME_LENGTH
from fencegrade.units.words import Words, numbers

ROD = {UnitSystem.IMPERIAL: 60.0, UnitSystem.METRIC: 1500 / 25.4}
"""What the rod reads in the worked line of a level (in; our own choice)."""

_WHOLE = 13
"""Stretches of spaces of a run that stand on one page; more may go on on the next."""
FITTED = (
    "The boards of both runs reach the corner itself, the rails of both the whole of its post: fit on the "
    "spot which run goes past and which is cut back to stop against it."
)
"""What the lengths of two runs leave open at the corner where they meet."""

SQUARE = {
    system: "A corner meant to be square is checked by three sides: 3, 4 and 5 of any measure, as long as "
    f"the ground allows ({sides})."
    for system, sides in SQUARE_SIDES.items()
}
"""Source: Euclid, Elements, book I, proposition 48."""


LAY = (
    "Lay by the spacer, and at each post begin again at the left edge the sheet Hanging gives: edges count "
    "from station 0, so nothing adds up; the last space before it makes up the difference."
)


def setting_out(plan: FencePlan, look: Look, place: str) -> Iterator[Flowable]:
    """Where everything stands before a hole is dug."""
    say = plan.words
    yield from title("Setting out", place)
    yield named("Line of the posts", posts_line(plan, say))
    for index, run in enumerate(plan.runs):
        name = f"{run.run.name}: " if len(plan.runs) > 1 else ""
        yield from (named(f"{name}{head}", text) for head, text in line_words(plan, index, say))
        parts = [
            heading(f"{name}{'s' if name else 'S'}paces between pickets, and openings"),
            *_spaces(plan, run, look, say),
        ]
        yield from [kept(parts)] if len(list(spaces_to_set(run))) <= _WHOLE else [room_for(200), *parts]
    corners = [*corner_lines(plan)]
    if corners:
        yield heading("Corners")
        yield from (words(text) for text in (*corners, FITTED, SQUARE[say.system]))
    yield from (words(text.strip()) for text in pattern_lines(plan))
    if not planning_has_room(plan, look):
        yield from cautions_of(plan, Work.PLANNING)
    yield kept(_before_digging(plan, look))


def posts_line(plan: FencePlan, say: Words) -> str:
    """How the line of the posts is set, the same for every run."""
    half = say.fine(plan.job.posts.width / 2)
    return (
        "Stations count along the middles of the posts. To set posts, stretch a string "
        f"{half} aside, half a post, so that every face just clears it."
    )


def line_words(plan: FencePlan, index: int, say: Words) -> Iterator[tuple[str, str]]:
    """How the tops of a run are set from the line readings were taken from."""
    run = plan.runs[index]
    spans = "; ".join(f"{say.station(s.start)} to {say.station(s.end)}" for s in run.ground.strings)
    first = (
        f"picket tops {tops_words(run, say)}. Pull the string where it was read ({spans}), as tight as then."
        if spans
        else f"heights count from the {ZERO}."
    )
    levelled = next((k for k, run in enumerate(plan.runs) if not run.ground.strings), None)
    by_level = by_level_words(plan, index, say) if index == levelled else ()
    yield "Line of the tops", " ".join((first, *_tops_set(plan, index, say), *by_level))


def by_level_words(plan: FencePlan, index: int, say: Words) -> Iterator[str]:
    """How a height over the survey's zero is found with a level and a rod, with a mark of the run worked out.

    The figures go together as they are told: each is to the tape's mark before it is added.
    """
    run, rod = plan.runs[index], ROD[say.system]
    yield (
        "Set the level up and read the rod where the height is known: that height and the reading together "
        "are the height of the sight. A mark is where the rod reads the height of the sight less the mark's; "
        "one over the sight is measured up from it."
    )
    for bay in bays_to_come(plan, index)[:1]:
        known, mark = (
            to_marks(float(v), say.fine_mark) * say.fine_mark for v in (run.ground.elevations[0], bay.tops[0])
        )
        sight = known + rod
        read, place = say.fine(abs(sight - mark)), say.station(float(run.ground.stations[0]))
        found = f"where the rod reads {read}" if mark <= sight else f"{read} over the sight"
        yield (
            f"Worked: the ground at {place} is {_from_zero(known, say)}; with the rod at {say.fine(rod)} "
            f"there the sight is {_from_zero(sight, say)}, and the mark at post {bay.posts[0]}, "
            f"{_from_zero(mark, say)}, is {found}."
        )


def _from_zero(inches: float, say: Words) -> str:
    return f"{say.fine(abs(inches))} {under_or_over(inches, say)} zero"


def _tops_set(plan: FencePlan, index: int, say: Words) -> Iterator[str]:
    """Where every board has a top of its own, and where a string through marks at the posts is the line of
    the tops: at a step each bay has its own two marks.
    """
    bays, strings = bays_to_come(plan, index), plan.runs[index].ground.strings
    bowed = [bay for bay in bays if bay.bow]
    chart = "the sheet Hanging" if is_charted(plan) else "cut_chart.csv"
    over = f" over the string{' named there' if len(strings) > 1 else ''}" if strings else ""
    if bowed:
        which = "Between posts" if len(bowed) == len(bays) else f"In bays {numbers(b.bay for b in bowed)}"
        yield (
            f"{which} the tops leave the straight line from post to post, by up to "
            f"{say.fine(max(b.bow for b in bowed))}: set the tip of each board there by itself, as high "
            f"as {chart} gives its top{over}."
        )
        if len(bowed) == len(bays):
            return
    where = "at each post" if not bowed else "at the posts of the other bays"
    sheet, marks = "the sheet Posts", "the marks"
    if step_at_a_post(plan.runs[index], bays, say.fine_mark):
        where, sheet, marks = f"bay by bay, {where}", chart, "the two marks of a bay"
    yield (
        f"{where[0].upper()}{where[1:]} mark the height {sheet} gives{over}; a {'second ' if strings else ''}"
        f"string through {marks} is the line of the tops, and every tip touches it from below."
    )
    if strings:
        yield "It hangs through as the string of the readings did, so pull it alike."


def _spaces(plan: FencePlan, run: RunPlan, look: Look, say: Words) -> Iterator[Flowable]:
    """A table of the stretches of equal spaces still to be set, and one line for each opening."""
    names, spaces = row_names(plan.job.pickets.pattern), list(spaces_to_set(run))
    rows = [
        (
            f"{s.first} to {s.last}" + (f", {names[s.row]}" if names else ""),
            f"{say.station(s.start)} to {say.station(s.end)}",
            f"{s.spaces}",
            say.space(s.spacer(layout_mark(say.system))),
            _gained(s.gained(layout_mark(say.system)), say),
        )
        for s in spaces
        if len(spaces) == 1 or not where_bays_meet(run, s)
    ]
    heads = ("pickets", "outer edges", "spaces", "spacer to cut", "over all spaces")
    if rows:
        yield grid(look.width, heads, rows, left=("pickets", "outer edges"), bold=("spacer to cut",))
        if run is plan.runs[0]:
            yield words(LAY, small=True)
    for o in openings(run):
        where = f"{say.station(o.start)} to {say.station(o.end)}"
        if o.posts is not None:
            yield named(
                f"Gate {o.gate}",
                f"{where}: {say.fine(o.clear)} clear between boards, {say.fine(o.posts)} between posts",
            )
        else:
            end = "Start" if o.start <= run.start + SAME_LENGTH else "End"
            yield named(end, f"{say.fine(o.clear)} from the run's {end.lower()} to the board beside it")


def _gained(inches: float, say: Words) -> str:
    """How far the spacer alone would come from the plan."""
    told = say.space(abs(inches))
    return "comes out even" if told == say.space(0.0) else f"{told} too {'long' if inches > 0 else 'short'}"


def _before_digging(plan: FencePlan, look: Look) -> Iterator[Flowable]:
    """The list that is ticked before a hole is dug, and the cautions of digging."""
    done = is_checked(plan)
    told = "the job file says that this list is done" if done else "NOT CHECKED YET, tick every line first"
    yield heading(f"Before you dig: {told}")
    yield to_tick(before_digging(plan.units), look.width, done)
    if not done:
        yield words(
            "When all is ticked, write dig_checked = true under [job] in the job file; the mark at the foot "
            "of every sheet then goes.",
            small=True,
        )
    soil = () if any(run.gaps for run in plan.runs) else (Work.SOIL,)
    yield from cautions_of(plan, Work.DIGGING, *soil, Work.SITE)
