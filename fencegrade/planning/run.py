"""One run of a plan once its top and its boards are chosen: heights, gaps, posts, rails and gate leaves."""

from collections.abc import Iterator, Sequence

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from fencegrade.fence.bays.closed import closed_ground
from fencegrade.fence.gates.frame import LeafFrame
from fencegrade.fence.gates.gates import LeafPickets
from fencegrade.fence.low_ground.choice import RunClosing
from fencegrade.fence.low_ground.fill_places import LowRun, soil_bars
from fencegrade.fence.low_ground.gaps import GapStretch, low_ground_gaps
from fencegrade.fence.low_ground.notes import taper_remarks
from fencegrade.fence.pickets.cuts import Cuts
from fencegrade.fence.pickets.flags import Flags, PicketFlag
from fencegrade.fence.pickets.spacing import Spacing, other_spaces, space_remarks
from fencegrade.fence.pickets.wishes import Zones
from fencegrade.fence.posts.findings import lower_tops, post_findings
from fencegrade.fence.posts.posts import PostSchedule
from fencegrade.fence.posts.wind import WindScreen, wind_screen
from fencegrade.fence.rails.pieces import RailPieces, long_pieces
from fencegrade.fence.rails.rails import (
    RailRows,
    rail_rows,
)
from fencegrade.fence.slots import Slots, is_ripped
from fencegrade.fence.stock import Boards
from fencegrade.fence.stock_steps import for_sale
from fencegrade.fence.tops.asked import TopChoice
from fencegrade.fence.tops.height_limit import HeightCheck, check_heights, height_remarks
from fencegrade.fence.tops.line import TopLine
from fencegrade.ground.advice import unread_roots
from fencegrade.ground.survey import RunGround
from fencegrade.ground.survey_line import over_line
from fencegrade.job.choices import BottomCut, Fit
from fencegrade.job.read import Job
from fencegrade.job.records import Pickets, Run
from fencegrade.planning.doubt import Doubt, run_doubt
from fencegrade.planning.layout import RunLayout
from fencegrade.planning.leaves import frame_gates
from fencegrade.planning.post_rows import heights_at_posts
from fencegrade.planning.row import RIPPED_SHARE
from fencegrade.problems import Problem, warning
from fencegrade.units import past_limit
from fencegrade.units.arrays import Floats, Indices, Marks, Truths, first_most
from fencegrade.units.tolerances import SAME_LENGTH
from fencegrade.units.words import Words, listed, numbered


class RunPlan(Struct, frozen=True, kw_only=True, eq=False):
    """One run of the plan. Arrays are (n,) over its pickets in order; lengths and stations in inches.

    `layout`: ground, bays, gates, slots and zones; `choice`: the top line and in what sense it is best;
    `boards`: every picket's one length, stock and gap, and what it needs; `doubt`: how sure each is;
    `ripped`: which are ripped, of those that stand too; `closing`: fills and kickboards; `gaps`:
    stretches of low ground and what closes them; `leaves`: gate leaves in order, `frames` of each;
    `height_check`: None where there is no limit; `wind`: None where the job asks for no screen.
    """

    layout: RunLayout
    choice: TopChoice
    boards: Boards
    doubt: Doubt
    ripped: Truths
    flags: Flags
    closing: RunClosing
    gaps: tuple[GapStretch, ...]
    posts: PostSchedule
    rails: RailRows
    rail_pieces: RailPieces
    leaves: tuple[LeafPickets, ...]
    frames: tuple[LeafFrame, ...]
    height_check: HeightCheck | None
    wind: WindScreen | None

    @property
    def run(self) -> Run:
        """The run as the job has it."""
        return self.layout.run

    @property
    def start(self) -> float:
        """Station of the run's first end (in)."""
        return self.layout.start

    @property
    def end(self) -> float:
        """Station of the run's far end (in)."""
        return self.layout.end

    @property
    def ground(self) -> RunGround:
        """The ground."""
        return self.layout.ground

    @property
    def cuts(self) -> Cuts:
        """Every picket as it is cut."""
        return self.boards.cuts

    @property
    def stock(self) -> Marks:
        """Index of each picket's stock in the plan's `stock.offered`, or NO_STOCK."""
        return self.boards.stock

    @property
    def full(self) -> Marks:
        """Each picket's full length in tape marks over the finished ground, before stock is chosen."""
        return self.boards.needs.full

    @property
    def slots(self) -> Slots:
        """Where the pickets stand."""
        return self.layout.slots

    @property
    def zones(self) -> Zones:
        """What is asked under each picket."""
        return self.layout.zones

    @property
    def rails_coming(self) -> Truths:
        """(p,) which rail pieces are still to be cut: all but those in bays whose rails are up."""
        standing = self.layout.standing
        if standing is None:
            return np.ones(len(self.rail_pieces), dtype=bool)
        return ~standing.railed[self.rail_pieces.first_bay]

    @property
    def top(self) -> TopLine:
        """The top line."""
        return self.choice.top


def finish_run(
    job: Job,
    layout: RunLayout,
    choice: TopChoice,
    low: LowRun,
    closing: RunClosing,
    boards: Boards,
    leaves: Sequence[LeafPickets],
    rows_of_rails: int,
    posts: PostSchedule,
) -> tuple[RunPlan, list[Problem]]:
    """One run once its boards are chosen, and what a builder must see of it.

    `low`: its pickets at full length over bare ground; `closing`: what closes its low ground; `boards`: as
    they are cut; `leaves`: of its gates; `rows_of_rails`: see `shared_rows`; `posts`: see `post_schedules`.
    """
    top, words = choice.top, job.words
    check = _heights(job, layout, top)
    doubt = run_doubt(layout, closing, boards, job.pickets.most_chance)
    shortest, ripped = min(s.length for s in job.pickets.stock), _ripped(job, layout)
    rows, rail_found = _rails(job, layout, top, rows_of_rails)
    bars = _soil_bars(job, layout, low, boards)
    wind, post_found = _post_findings(job, layout, top, posts)
    frames, frame_found = frame_gates(job, layout, leaves, words)
    run = RunPlan(
        layout=layout,
        choice=choice,
        boards=boards,
        doubt=doubt,
        ripped=ripped,
        flags=_flags(job, layout, bars, boards, doubt, check, ripped),
        closing=closing,
        gaps=low_ground_gaps(low, closing.fills, closing.kickboards, boards, shortest),
        posts=posts,
        rails=rows,
        rail_pieces=long_pieces(rows, layout.bays, top),
        leaves=tuple(leaves),
        frames=frames,
        height_check=check,
        wind=wind,
    )
    return run, [
        *rail_found,
        *post_found,
        *frame_found,
        *(height_remarks(check, layout.run.name, job.units, job.tape) if check else []),
        *taper_remarks(low, closing.fills, boards.cuts, words),
        *_picket_remarks(run, job.pickets, bars, _height_that_moves(job, layout), words),
    ]


def with_rows(job: Job, run: RunPlan, count: int) -> RunPlan:
    """A run with so many rows of rails instead of its own."""
    rows, _ = _rails(job, run.layout, run.top, count)
    return replace(run, rails=rows, rail_pieces=long_pieces(rows, run.layout.bays, run.top))


def _rails(job: Job, layout: RunLayout, top: TopLine, count: int) -> tuple[RailRows, tuple[Problem, ...]]:
    run, bays, line = layout.run, layout.bays, layout.ground.line
    clearance, closed = job.pickets.clearance, closed_ground(run, job.posts)
    return rail_rows(run, bays, top, line, job.rails, clearance, job.words, count, closed)


def _post_findings(
    job: Job, layout: RunLayout, top: TopLine, posts: PostSchedule
) -> tuple[WindScreen | None, list[Problem]]:
    """The screen of wind and soil where the job has a site, and what a builder must see of the posts."""
    words, bays = job.words, layout.bays
    railed = None if layout.standing is None else layout.standing.railed
    read_from = np.nan_to_num(-over_line(layout.ground, bays.posts, 0 * bays.posts))
    moves = _height_that_moves(job, layout)
    found = post_findings(
        layout.run, bays, posts, layout.ground.line, job.posts, words, railed, read_from, moves
    )
    if job.site is None:
        return None, list(found)
    heights = heights_at_posts(layout, top)
    screen, noted = wind_screen(
        layout.run, job.site, bays, posts, heights, job.posts, words, doubted=job.wind_doubted
    )
    return screen, [*found, *noted]


def _height_that_moves(job: Job, layout: RunLayout) -> float | None:
    """The least height (in) of the tops of a run, None where what stands has settled them."""
    return None if job.built.of(layout.run.name).top else job.top.least_height


def run_spaces(run: RunPlan) -> tuple[Spacing, ...]:
    """The stretches of equal spaces of one run, in order; see `laid_spaces`."""
    return run.layout.spaces()


def posts_and_faces(run: RunPlan) -> Floats:
    """Stations (in) at which two bays that are laid each for itself may meet: faces, and under a top that is
    built bay by bay posts."""
    posts = run.posts.station if run.layout.style.by_bay else np.zeros(0)
    return np.append(posts, run.ground.line.faces)


def spaces_not_asked(run: RunPlan, wanted: float) -> list[Spacing]:
    """The spaces of a fence not begun that are seen to be others than is `wanted` (in)."""
    return other_spaces(run_spaces(run), posts_and_faces(run), wanted) if run.layout.coming.all() else []


def _heights(job: Job, layout: RunLayout, top: TopLine) -> HeightCheck | None:
    if job.top.most_height is None:
        return None
    line = layout.ground.line
    return check_heights(line, layout.slots, top, job.top.most_height, job.top.measured)


def _gaps(layout: RunLayout, boards: Boards) -> Truths:
    return layout.zones.too_open(boards.cuts.gap) & ~layout.zones.open


def _soil_bars(job: Job, layout: RunLayout, low: LowRun, boards: Boards) -> dict[str, Truths]:
    """What keeps soil from which boards (n,); nothing where no gap asks for it."""
    return soil_bars(low, boards.cuts, job.soil) if _gaps(layout, boards).any() else {}


def _whole(job: Job, layout: RunLayout) -> float:
    """Width (in) of a board of a run that is not ripped."""
    return min(job.pickets.width, layout.width)


def _ripped(job: Job, layout: RunLayout) -> Truths:
    """Which pickets (n,) are ripped; of those that stand, which may be a little narrow, those that are
    narrower by far."""
    width, whole = layout.slots.width, _whole(job, layout)
    far = width < (1 - RIPPED_SHARE) * whole
    return is_ripped(width, whole) & (layout.coming | far)


def _flags(
    job: Job,
    layout: RunLayout,
    bars: dict[str, Truths],
    boards: Boards,
    doubt: Doubt,
    check: HeightCheck | None,
    ripped: Truths,
) -> Flags:
    width, coming, whole = layout.slots.width, layout.coming, _whole(job, layout)
    over = check.over if check else np.zeros(len(width), dtype=bool)
    gap = _gaps(layout, boards)
    return {
        PicketFlag.STANDS: ~coming,
        PicketFlag.NO_STOCK: boards.unserved,
        PicketFlag.OVER_HEIGHT: over,
        PicketFlag.GAP: gap,
        PicketFlag.NO_SOIL: gap & np.logical_or.reduce([*bars.values(), np.zeros_like(gap)]),
        PicketFlag.RIPPED: ripped & coming,
        PicketFlag.SLIVER: (width < whole / 2 - SAME_LENGTH) & coming,
        PicketFlag.KEPT_OPEN: layout.zones.open & coming,
        PicketFlag.MARK_IN_PLACE: ~doubt.from_chart & coming & ~boards.unserved,
    }


_OPEN_UNDER = {
    BottomCut.SQUARE: ("a square cut", "scribe {boards} to the ground"),
    BottomCut.SCRIBED: ("a straight scribed cut", "cut {boards} to the ground's curve"),
}


def _no_soil(bars: dict[str, Truths], bare: Truths) -> str:
    """What keeps soil from some boards (n,); empty where there are none."""
    causes = [cause for cause, under in bars.items() if (under & bare).any()]
    if not causes:
        return ""
    return f"soil may not lie or run out there: {listed(causes)} {'bars' if len(causes) == 1 else 'bar'} it"


def _unread_roots(run: RunPlan, words: Words) -> Iterator[Problem]:
    """Roots where readings are missing, as long as boards are to come there."""
    marked = [(s.start, s.end) for s in run.run.root]
    slots, coming = run.slots, run.layout.coming
    ahead = [(a, b) for a, b in marked if (coming & (slots.left < b) & (slots.right > a)).any()]
    yield from unread_roots(run.ground.profile, ahead, run.run.name, words)


def _picket_remarks(
    run: RunPlan, pickets: Pickets, bars: dict[str, Truths], least_height: float | None, words: Words
) -> list[Problem]:
    problems = []
    missing = np.flatnonzero(run.flags[PicketFlag.NO_STOCK])
    if len(missing):
        worst = missing[np.argmax(run.full[missing])]
        needed = float(run.full[worst]) * words.mark
        longest = max(s.length for s in for_sale(pickets.stock))
        lower = lower_tops(least_height, needed - longest, words)
        problems.append(
            warning(
                f"{run.run.name}, {numbered('picket', missing)}",
                f"no stock serves: {words.length(needed)} is needed at picket {worst + 1}, the longest stock "
                f"is {words.sold_length(longest)}, {words.fine(needed - longest)} too short",
                f"add a longer stock{f'; {lower}' if lower else ', or '}choose another top",
            )
        )
    a_cut, scribe = _OPEN_UNDER[pickets.bottom_cut]
    over, bare, coming = run.flags[PicketFlag.GAP], run.flags[PicketFlag.NO_SOIL], run.layout.coming
    for which, what, remedy in (
        (coming & ~bare, a_cut, f"{scribe}, or fill beneath {{them}}"),
        (coming & bare, a_cut, f"{scribe}; {_no_soil(bars, over & coming & bare)}"),
        (~coming & ~bare, "what stands", "fill beneath {them}, or {another}"),
        (
            ~coming & bare,
            "what stands",
            "{another}, or close it with a board along the ground; "
            f"{_no_soil(bars, over & ~coming & bare)}",
        ),
    ):
        gaps = np.flatnonzero(over & which)
        which_ones = ("this board", "it") if len(gaps) == 1 else ("these boards", "them")
        another = _another(run, gaps, words)
        way = remedy.format(boards=which_ones[0], them=which_ones[1], another=another)
        problems += _left_open(run, gaps, what, way, words)
    others, rips = spaces_not_asked(run, pickets.spacing), not run.layout.style.by_bay
    rips &= pickets.fit is Fit.EVEN_GAPS
    told = space_remarks(run.run.name, others, pickets.spacing, rips, words)
    return [*problems, *_unread_roots(run, words), *told]


def _another(run: RunPlan, gaps: Indices, words: Words) -> str:
    """What is hung in place of boards that stand too short, and where such a board is long enough."""
    if len(gaps) != 1:
        return "take them down and hang longer ones"
    here = int(gaps[0])
    told = f"take it down and hang one of {words.length(float(run.full[here]) * words.mark)}"
    kept, from_chart = run.cuts.kept, run.layout.coming & run.doubt.from_chart & ~run.boards.unserved
    if not len(serves := np.flatnonzero(from_chart & (kept <= kept[here]))):
        return told
    return f"{told} (it is long enough for picket {serves[np.argmax(kept[serves])] + 1})"


def _left_open(run: RunPlan, gaps: Indices, what: str, remedy: str, words: Words) -> Iterator[Problem]:
    """That pickets leave more open below than the job allows."""
    if len(gaps):
        worst = gaps[first_most(run.cuts.gap[gaps])]
        gap, limit = float(run.cuts.gap[worst]), float(run.zones.most_gap[worst])
        found = f"{what} leaves up to {past_limit(gap, limit, words.length)} open, at picket {worst + 1}"
        yield warning(f"{run.run.name}, {numbered('picket', gaps)}", found, remedy)
