"""The main job: from a job to a whole fence plan."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fencegrade.families import Families, gate_family, post_family, rail_family, share_boards
from fencegrade.fence.concrete import Concrete, concrete_for
from fencegrade.fence.fasteners import Screws, crossings, picket_screws, rail_screws
from fencegrade.fence.flags import Flags, PicketFlag, picket_numbers
from fencegrade.fence.gaps import GapAction, GapStretch, gap_stretches
from fencegrade.fence.gates import LeafPickets, leaf_pickets
from fencegrade.fence.heights_rule import HeightCheck, check_heights, height_remarks
from fencegrade.fence.pickets import Cuts, Marks, cut_pickets, join_cuts, shortened
from fencegrade.fence.posts import PostSchedule, post_schedule
from fencegrade.fence.rails import RailPieces, RailRows, long_pieces, rail_rows, top_at_posts
from fencegrade.fence.slots import Slots
from fencegrade.fence.stock import NO_STOCK, StockChoice, choose_stock
from fencegrade.fence.tops import TopChoice, TopLine
from fencegrade.fence.wind import WindScreen, wind_depths, wind_screen
from fencegrade.fence.zones import Zones
from fencegrade.ground.advice import weigh_boards
from fencegrade.ground.fit import GroundProfile
from fencegrade.ground.profile import Floats
from fencegrade.ground.survey import RunGround
from fencegrade.ground.wording import Say
from fencegrade.job.read import Job
from fencegrade.job.records import Pattern, Run, TopStyle
from fencegrade.layout import RunLayout, lay_out, rails_reach, survey_grounds
from fencegrade.problems import Problem, warning
from fencegrade.topline import choose_tops

_HAIR = 1e-6

TOLERANCE = 0.5
"""Inches a board may be off before it is left long and marked in place (common practice, no source)."""

_MOST_LAYINGS = 4
"""Times bays are laid anew for the slope of the top found on them."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RunPlan:
    """One run of the plan. Arrays are (n,) over its pickets in order; lengths and stations in inches.

    `layout`: ground, bays, gates, slots and zones; `choice`: the top line and in what sense it is best;
    `full`: each picket's length in tape marks before stock is chosen, `cuts` what is made of it; `stock`:
    index into the plan's `stock.offered`, or NO_STOCK; `leaves`: gate leaves in order; `height_check`: None
    where there is no limit; `wind`: None where the job asks for no screen.
    """

    layout: RunLayout
    choice: TopChoice
    full: Marks
    cuts: Cuts
    stock: Marks
    flags: Flags
    gaps: tuple[GapStretch, ...]
    posts: PostSchedule
    rails: RailRows
    rail_pieces: RailPieces
    leaves: tuple[LeafPickets, ...]
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
    def slots(self) -> Slots:
        """Where the pickets stand."""
        return self.layout.slots

    @property
    def zones(self) -> Zones:
        """What is asked under each picket."""
        return self.layout.zones

    @property
    def top(self) -> TopLine:
        """The top line."""
        return self.choice.top


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FencePlan:
    """A whole plan: every run, what is cut from which stock, and every problem a builder should know of."""

    job: Job
    style: TopStyle
    runs: tuple[RunPlan, ...]
    stock: StockChoice
    families: Families
    concrete: Concrete
    screws: tuple[Screws, ...]
    problems: tuple[Problem, ...]

    @property
    def mark(self) -> float:
        """The tape mark (in)."""
        return self.job.job.tape

    @property
    def trims(self) -> tuple[Floats, ...]:
        """Run by run, (n,) inches cut off each picket's board; nan where no stock serves."""
        lengths = np.append([s.length for s in self.stock.offered], np.nan)
        return tuple(np.maximum(lengths[r.stock] - r.cuts.kept * self.mark, 0.0) for r in self.runs)


def plan_fence(job: Job, style: TopStyle | str | None = None) -> FencePlan:
    """Plan a fence.

    `job`: as read; `style`: a top style instead of the job's. Result: the whole plan. Errors:
    JobMistakesError with every mistake found in the surveys or the posts; ValueError for an unknown style.
    """
    grounds, problems = survey_grounds(job)
    return plan_on(job, grounds, TopStyle(style) if style is not None else job.top.style, problems)


def plan_on(
    job: Job, grounds: list[RunGround], style: TopStyle, problems: Sequence[Problem] = ()
) -> FencePlan:
    """Plan a fence on grounds already worked out; `problems` are those found so far."""
    layouts, choices, found = _laid_and_topped(job, grounds, style)
    full = [_full_cuts(job, lay, choice.top) for lay, choice in zip(layouts, choices, strict=True)]
    every, most_gap = join_cuts(full), np.concatenate([lay.zones.most_gap for lay in layouts])
    stock, pickets = share_boards(
        job, every, most_gap, choose_stock(every, most_gap, job.pickets.stock, job.job.tape)
    )
    ends = np.cumsum([len(lay.slots) for lay in layouts])[:-1]
    parts = zip(np.split(stock.stock, ends), np.split(stock.kept, ends), strict=True)
    runs, more = [], []
    for lay, choice, cuts, (part, kept) in zip(layouts, choices, full, parts, strict=True):
        run, noted = _finish(job, lay, choice, cuts, part, kept, stock)
        runs.append(run)
        more += noted
    names = [r.run.name for r in runs]
    depths = np.concatenate([r.posts.depth[r.posts.new] for r in runs])
    return FencePlan(
        job=job,
        style=style,
        runs=tuple(runs),
        stock=stock,
        families=Families(
            pickets=pickets,
            gate_pickets=gate_family(job, [leaf for r in runs for leaf in r.leaves], pickets),
            posts=post_family(job, [r.posts for r in runs], names),
            rails=rail_family(job, [r.rail_pieces for r in runs], names),
        ),
        concrete=concrete_for(depths, job.posts),
        screws=_screws(job, runs),
        problems=(*job.notes, *problems, *found, *more),
    )


def _laid_and_topped(
    job: Job, grounds: list[RunGround], style: TopStyle
) -> tuple[tuple[RunLayout, ...], tuple[TopChoice, ...], list[Problem]]:
    """Bays and tops together: the rails of a sloping top must reach on the bays, which its slope decides.

    Bays are laid by the ground first, and anew by the top found where some rail would not reach.
    """
    tops: list[TopLine] = []
    for _ in range(_MOST_LAYINGS):
        layouts, found = lay_out(job, grounds, style, tops)
        choices, remarks = choose_tops(job, layouts, style)
        tops = [c.top for c in choices]
        if all(rails_reach(lay, top) for lay, top in zip(layouts, tops, strict=True)):
            break
    return layouts, choices, [*found, *remarks]


def _full_cuts(job: Job, layout: RunLayout, top: TopLine) -> Cuts:
    line = layout.ground.profile.line
    return cut_pickets(line, layout.slots, top, layout.zones.clearance, job.pickets.bottom_cut, job.job.tape)


def _finish(
    job: Job,
    layout: RunLayout,
    choice: TopChoice,
    full: Cuts,
    stock: Marks,
    kept: Marks,
    offered: StockChoice,
) -> tuple[RunPlan, list[Problem]]:
    """One run once its boards are chosen: gaps, heights, posts and rails."""
    line, top, mark = layout.ground.profile.line, choice.top, job.job.tape
    say = Say(system=job.job.units, tape=mark)
    cuts = shortened(full, kept, mark)
    check = _heights(job, layout, top)
    flags = _flags(job, layout, cuts, stock, check)
    would_gap = full.gap + np.maximum(full.kept - offered.lengths[0], 0) * mark
    rows, rail_found = rail_rows(layout.run, layout.bays, top, line, job.rails, job.pickets.clearance, say)
    posts, wind, post_found = _posts(job, layout, top, say)
    run = RunPlan(
        layout=layout,
        choice=choice,
        full=full.kept,
        cuts=cuts,
        stock=stock,
        flags=flags,
        gaps=gap_stretches(layout.slots, would_gap, _actions(layout, would_gap, stock, flags)),
        posts=posts,
        rails=rows,
        rail_pieces=long_pieces(rows, layout.bays, top),
        leaves=tuple(_leaves(job, layout, top)),
        height_check=check,
        wind=wind,
    )
    remarks = height_remarks(check, layout.run.name, job.job.units, mark) if check else []
    return run, [*rail_found, *post_found, *remarks, *_picket_remarks(run, offered, say)]


def _posts(
    job: Job, layout: RunLayout, top: TopLine, say: Say
) -> tuple[PostSchedule, WindScreen | None, list[Problem]]:
    """The posts, and the screen of wind and soil where the job has a site."""
    line, bays = layout.ground.profile.line, layout.bays
    ground = np.minimum(line.elevation(bays.posts), line.elevation(bays.posts, before=True))
    heights = np.maximum(top_at_posts(top, bays.posts) - ground, 0.0)
    site = job.site
    asked = wind_depths(site, bays, heights, job.posts) if site and site.sets_depth else None
    posts, found = post_schedule(layout.run, bays, top, line, job.posts, say, asked)
    if site is None:
        return posts, None, list(found)
    screen, noted = wind_screen(layout.run, site, bays, posts, heights, job.posts, say)
    return posts, screen, [*found, *noted]


def _leaves(job: Job, layout: RunLayout, top: TopLine) -> Iterator[LeafPickets]:
    pickets, line = job.pickets, layout.ground.profile.line
    for gate in layout.gates:
        edges = np.array([gate.gate.station, gate.gate.station + gate.gate.width])
        for leaf in range(len(gate.chosen)):
            yield leaf_pickets(
                gate,
                leaf,
                line,
                np.array([top.sides(edges)[1][0], top.sides(edges)[0][1]]),
                pickets.width,
                pickets.spacing,
                pickets.fit,
                job.job.tape,
            )


def _screws(job: Job, runs: Sequence[RunPlan]) -> tuple[Screws, ...]:
    """Screws for pickets, row by row, and for rails."""
    rows = 1 if job.pickets.pattern is Pattern.SIDE_BY_SIDE else 2
    counts = [
        sum(crossings(r.slots.centre[r.layout.row == row], r.layout.bays, r.rails) for r in runs)
        for row in range(rows)
    ]
    rails = sum(len(r.rail_pieces) for r in runs)
    return (
        *picket_screws(
            np.array(counts), job.pickets.thickness, job.rails.thickness, job.pickets.pattern, job.fasteners
        ),
        rail_screws(rails, job.rails.thickness, job.posts.width, job.fasteners),
    )


def _heights(job: Job, layout: RunLayout, top: TopLine) -> HeightCheck | None:
    if job.top.most_height is None or not len(layout.slots):
        return None
    line = layout.ground.profile.line
    return check_heights(line, layout.slots, top, job.top.most_height, job.top.measured)


def _actions(layout: RunLayout, would_gap: Floats, stock: Marks, flags: Flags) -> NDArray[np.str_]:
    """What is done about each picket's gap; empty where nothing is called for."""
    actions = np.full(len(stock), "", dtype="U12")
    actions[(would_gap > layout.zones.most_gap + _HAIR) & (stock != NO_STOCK)] = GapAction.LONGER_BOARD
    actions[flags[PicketFlag.GAP] | flags[PicketFlag.NO_STOCK]] = GapAction.NONE
    actions[layout.zones.open] = GapAction.LEAVE_OPEN
    return actions


def _flags(job: Job, layout: RunLayout, cuts: Cuts, stock: Marks, check: HeightCheck | None) -> Flags:
    width = layout.slots.width
    over = check.over if check else np.zeros(len(width), dtype=bool)
    return {
        PicketFlag.NO_STOCK: stock == NO_STOCK,
        PicketFlag.OVER_HEIGHT: over,
        PicketFlag.GAP: (cuts.gap > layout.zones.most_gap + _HAIR) & ~layout.zones.open,
        PicketFlag.RIPPED: width < job.pickets.width - _HAIR,
        PicketFlag.SLIVER: width < job.pickets.width / 2 - _HAIR,
        PicketFlag.MARK_IN_PLACE: ~sure_of_ground(layout.ground.profile, layout.slots),
    }


def sure_of_ground(profile: GroundProfile, slots: Slots) -> NDArray[np.bool_]:
    """Whether each picket may be cut from the chart; the others are left long and marked in place."""
    if not len(slots):
        return np.zeros(0, dtype=bool)
    return weigh_boards(profile, slots.left, slots.right, TOLERANCE).from_chart


def _picket_remarks(run: RunPlan, choice: StockChoice, say: Say) -> list[Problem]:
    problems = []
    missing = np.flatnonzero(run.flags[PicketFlag.NO_STOCK])
    if len(missing):
        worst = missing[np.argmax(run.full[missing])]
        needed = float(run.cuts.kept[worst]) * say.tape
        longest = choice.offered[-1].length
        problems.append(
            warning(
                f"{run.run.name}, {picket_numbers(missing)}",
                f"no stock serves: {say(needed)} is needed at picket {worst + 1}, "
                f"the longest stock is {say(longest)}, {say(needed - longest)} too short",
                "add a longer stock, lower the top, or choose another top",
            )
        )
    gaps = np.flatnonzero(run.flags[PicketFlag.GAP])
    if len(gaps):
        worst = gaps[np.argmax(run.cuts.gap[gaps])]
        problems.append(
            warning(
                f"{run.run.name}, {picket_numbers(gaps)}",
                f"a square cut leaves up to {say(float(run.cuts.gap[worst]))} open, at picket {worst + 1}",
                "scribe these boards to the ground, or fill beneath them",
            )
        )
    return problems
