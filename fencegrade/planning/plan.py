"""The main job: from a job to a whole fence plan."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

import numpy as np
from msgspec import Struct, structs

from fencegrade.fence.gates.gates import LeafPickets
from fencegrade.fence.low_ground.choice import LowGroundPlan
from fencegrade.fence.low_ground.fill_places import LowRun
from fencegrade.fence.pickets.cuts import cut_over, cut_pickets
from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.fence.posts.concrete import Concrete, concrete_for
from fencegrade.fence.rails.screws import Screws, crossings, picket_screws, rail_screws, sharp_ends
from fencegrade.fence.stock import StockChoice
from fencegrade.fence.tops.asked import TopChoice
from fencegrade.fence.tops.line import TopLine
from fencegrade.fence.tops.table import TopStyle
from fencegrade.ground.survey import RunGround
from fencegrade.job.choices import LowGround, Pattern
from fencegrade.job.read import Job
from fencegrade.planning.alike import fit_remarks, rows_remarks, shared_rows
from fencegrade.planning.closer_posts import closer_posts
from fencegrade.planning.delivered import board_findings, board_width
from fencegrade.planning.families import Families, Family, Missing
from fencegrade.planning.first_list import FirstList
from fencegrade.planning.layout import RunLayout, joined_corners, lay_out, rails_reach, survey_grounds
from fencegrade.planning.leaves import hang_gates
from fencegrade.planning.one_pile import board_beside_gates
from fencegrade.planning.part_families import (
    PostsToSet,
    gate_family,
    kickboard_family,
    leaf_names,
    post_family,
    posts_to_set,
    rail_family,
)
from fencegrade.planning.picket_boards import board_pickets
from fencegrade.planning.post_rows import post_schedules
from fencegrade.planning.row_widths import row_widths, width_notes
from fencegrade.planning.run import RunPlan as RunPlan
from fencegrade.planning.run import finish_run, with_rows
from fencegrade.planning.standing import as_it_stands
from fencegrade.planning.stops import held_to_list, listed_marks
from fencegrade.planning.tops import (
    styles_asked,
    top_lines,
    tops_as_they_hang,
    with_tops,
)
from fencegrade.problems import JobMistakesError, Problem, Severity, mistake, raise_mistakes
from fencegrade.units import UnitSystem, layout_mark
from fencegrade.units.arrays import Floats, Truths
from fencegrade.units.words import Words, numbered

_MOST_LAYINGS = 4
"""Times bays are laid anew for the slope of the top found on them."""


class FencePlan(Struct, frozen=True, kw_only=True, eq=False):
    """A whole plan: every run, what is cut from which stock, and every problem a builder should know of.

    `first`: the list of pickets before the first was up; None where none is and nothing was counted.
    """

    job: Job
    runs: tuple[RunPlan, ...]
    stock: StockChoice
    first: FirstList | None
    low_ground: LowGroundPlan
    families: Families
    concrete: Concrete
    screws: tuple[Screws, ...]
    problems: tuple[Problem, ...]

    @property
    def styles(self) -> tuple[TopStyle, ...]:
        """The top style of each run."""
        return tuple(r.top.style for r in self.runs)

    @property
    def words(self) -> Words:
        """How its numbers are written."""
        return self.job.words

    @property
    def units(self) -> UnitSystem:
        """The units it is told in."""
        return self.job.units

    @property
    def mark(self) -> float:
        """The tape mark (in)."""
        return self.job.tape

    @property
    def leaf_names(self) -> tuple[tuple[str, ...], ...]:
        """Run by run, the name of every leaf, the same wherever one is told."""
        return _leaf_names([run.layout for run in self.runs])

    @property
    def posts_to_set(self) -> tuple[PostsToSet, ...]:
        """Run by run, the posts that are to be set, one at a corner once."""
        return posts_to_set(self.job, [r.posts for r in self.runs])

    @property
    def picket_count(self) -> int:
        """How many pickets the fence has, gate leaves apart."""
        return sum(len(r.slots) for r in self.runs)

    def flagged(self, flag: PicketFlag) -> int:
        """How many pickets carry a flag."""
        return sum(int(r.flags[flag].sum()) for r in self.runs)

    @property
    def missing(self) -> tuple[Missing, ...]:
        """The pieces no stock serves, part by part; they are in no list of what to buy."""
        return self.families.missing(self.mark)

    @property
    def posts_failing(self) -> int:
        """Posts that do not pass the screen of wind and soil, one at a corner once; 0 where none is asked."""
        return self._count_posts([run.wind.fails for run in self.runs if run.wind is not None])

    @property
    def posts_judged(self) -> int:
        """Posts that the screen of wind and soil judges, one at a corner once; 0 where none is asked."""
        return self._count_posts([run.wind.judged for run in self.runs if run.wind is not None])

    def _count_posts(self, which: Sequence[Truths]) -> int:
        """How many posts are meant, run by run, one at a corner once."""
        if not which:
            return 0
        meant = [each.copy() for each in which]
        for before, after in joined_corners([run.layout for run in self.runs]):
            meant[before][-1] |= meant[after][0]
            meant[after][0] = False
        return sum(int(each.sum()) for each in meant)

    @property
    def trims(self) -> tuple[Floats, ...]:
        """Run by run, (n,) inches cut off each picket's board; nan where no stock serves."""
        return tuple(r.boards.trim for r in self.runs)


def plan_fence(job: Job, style: TopStyle | str | None = None) -> FencePlan:
    """Plan a fence.

    `job`: as read; `style`: a top style for every run instead of the job's. Result: the whole plan. Errors:
    JobMistakesError with every mistake found in the surveys or the posts; ValueError for an unknown style.
    """
    if style:
        job = with_tops(job, styles_asked(job, TopStyle(style)))
    grounds, problems = survey_grounds(job)
    return plan_on(job, grounds, styles_asked(job), problems)


def plan_on(
    job: Job,
    grounds: list[RunGround],
    styles: Sequence[TopStyle],
    problems: Sequence[Problem] = (),
    advise: bool = True,
) -> FencePlan:
    """Plan a fence on grounds already worked out; `problems` are those found so far.

    `styles`: the top of each run; `advise`: whether other ways to close low ground, to space the posts and to
    have fewer rails are costed, for what is told of them. Boards are laid out from their measured widths
    where the job gives some. Errors: JobMistakesError where posts cannot stand or the boards as described
    cannot be, with what is doubted in the job file and in the readings, which may be the cause.
    """
    try:
        return _planned(job, grounds, styles, problems, advise)
    except JobMistakesError as error:
        doubted = [p for p in job.notes if p.severity is Severity.WARNING]
        slips = (p for ground in grounds for p in ground.slips)
        raise JobMistakesError([*error.problems, *doubted, *slips]) from None


def _planned(
    job: Job,
    grounds: list[RunGround],
    styles: Sequence[TopStyle],
    problems: Sequence[Problem],
    advise: bool,
) -> FencePlan:
    doubted = job.notes
    job, delivered = as_delivered(job, grounds)
    layouts, choices, found = _laid_as_they_came(job, grounds, styles)
    tops = [choice.top for choice in choices]
    lows = full_length(job, layouts, tops)
    hung = [hang_gates(job, layout, top) for layout, top in zip(layouts, tops, strict=True)]
    layouts, leaves = tuple(layout for layout, _ in hung), [own for _, own in hung]
    compare = advise and _worth_comparing(job)
    named = _named_leaves(layouts, leaves)
    boarded = board_beside_gates(job, named, lambda own: board_pickets(own, layouts, lows, compare))
    runs, noted, more = [], list[Problem](), list(boarded.closing.problems)
    rows = shared_rows(job, layouts, tops)
    posts = post_schedules(job, layouts, tops)
    for lay, choice, low, closing, boards, hung_leaves, count, set_out in zip(
        layouts, choices, lows, boarded.closing.runs, boarded.runs, leaves, rows, posts, strict=True
    ):
        run, own = finish_run(job, lay, choice, low, closing, boards, hung_leaves, count, set_out)
        runs.append(run)
        noted += own
    families = _families(job, runs, boarded.family)
    screws = _screws(job, runs)
    if advise:
        bought = families.rails, screws
        more += rows_remarks(job, layouts, tops, bought, lambda rows: _with_rows(job, runs, rows))
    more += [*fit_remarks(job, layouts), *noted]
    if advise and not any(lay.standing for lay in layouts):
        rails = None if any(r.frames for r in runs) else families.rails
        more += closer_posts(job, grounds, styles, tops, runs, rails)
    more += sharp_ends(screws, job.words)
    return FencePlan(
        job=job,
        runs=tuple(runs),
        stock=boarded.stock,
        first=boarded.first,
        low_ground=boarded.closing,
        families=families,
        concrete=_concrete(job, posts_to_set(job, [r.posts for r in runs])),
        screws=screws,
        problems=tuple(dict.fromkeys((*doubted, *problems, *delivered, *found, *more))),
    )


def as_delivered(job: Job, grounds: Sequence[RunGround]) -> tuple[Job, list[Problem]]:
    """The job with the boards as they were measured, and what is to be said of them.

    Errors: JobMistakesError where they cannot be as described.
    """
    found = board_findings(job, grounds)
    raise_mistakes(found)
    width = board_width(job.pickets)
    if width == job.pickets.width:
        return job, found
    return replace(job, pickets=replace(job.pickets, width=width)), found


def full_length(job: Job, layouts: Sequence[RunLayout], tops: Sequence[TopLine]) -> list[LowRun]:
    """Every run with its pickets at full length under its top.

    Errors: JobMistakesError where nothing is left of a picket.
    """
    lows = [_low_run(job, layout, top) for layout, top in zip(layouts, tops, strict=True)]
    raise_mistakes(_nothing_left(lows, [layout.style for layout in layouts]))
    return lows


def _families(job: Job, runs: Sequence[RunPlan], pickets: Family) -> Families:
    """The boards of every part of the fence, cut from stock."""
    names, schedules = [r.run.name for r in runs], [r.posts for r in runs]
    leaves = _named_leaves([r.layout for r in runs], [r.leaves for r in runs])
    return Families(
        pickets=pickets,
        gate_pickets=gate_family(job, leaves, pickets),
        kickboards=kickboard_family(job, [r.closing.kickboards for r in runs], names),
        posts=post_family(job, schedules, names),
        gate_posts=post_family(job, schedules, names, gate=True) if job.posts.gate_stock else None,
        rails=_rails(job, runs),
    )


def _rails(job: Job, runs: Sequence[RunPlan]) -> Family:
    """The boards of rails and of the frames of gates."""
    leaves = _named_leaves([r.layout for r in runs], [r.leaves for r in runs])
    frames = zip((name for name, _ in leaves), (f for r in runs for f in r.frames), strict=True)
    pieces, coming = [r.rail_pieces for r in runs], [r.rails_coming for r in runs]
    return rail_family(job, pieces, [r.run.name for r in runs], coming, list(frames))


def _with_rows(job: Job, runs: Sequence[RunPlan], count: int) -> tuple[Family, tuple[Screws, ...]]:
    """The rails and the screws of all runs with so many rows of rails."""
    other = [with_rows(job, run, count) for run in runs]
    return _rails(job, other), _screws(job, other)


def _leaf_names(layouts: Sequence[RunLayout]) -> tuple[tuple[str, ...], ...]:
    return leaf_names(
        [lay.run.name for lay in layouts], [[len(g.chosen) for g in lay.gates] for lay in layouts]
    )


def _named_leaves(
    layouts: Sequence[RunLayout], leaves: Sequence[Sequence[LeafPickets]]
) -> list[tuple[str, LeafPickets]]:
    """The leaves of all runs, each with its name."""
    names = (name for own in _leaf_names(layouts) for name in own)
    return list(zip(names, (leaf for own in leaves for leaf in own), strict=True))


def _laid_as_they_came(
    job: Job, grounds: list[RunGround], styles: Sequence[TopStyle]
) -> tuple[tuple[RunLayout, ...], tuple[TopChoice, ...], list[Problem]]:
    """Bays and tops as they stand, runs not begun laid for boards as wide as those that are up."""
    widths = row_widths(job)
    stood = as_it_stands(job, *laid_and_topped(job, grounds, styles, widths))
    came = row_widths(job, stood[0])
    if came != widths:
        stood = as_it_stands(job, *laid_and_topped(job, grounds, styles, came))
    return stood[0], stood[1], [*stood[2], *width_notes(job, came)]


TopsOf = Callable[[Job, Sequence[RunLayout]], tuple[tuple[TopChoice, ...], list[Problem]]]


def laid_and_topped(
    job: Job,
    grounds: Sequence[RunGround],
    styles: Sequence[TopStyle],
    widths: Sequence[float] = (),
    tops_of: TopsOf = top_lines,
) -> tuple[tuple[RunLayout, ...], tuple[TopChoice, ...], list[Problem]]:
    """Bays and tops together: the rails of a sloping top must reach on the bays, which its slope decides.

    Bays are laid by the ground first, and anew by the top found where some rail would not reach. `widths`:
    as `lay_out` takes them; `tops_of`: how the top of every run is found. Errors: as `lay_out`.
    """
    tops: list[TopLine] = []
    for _ in range(_MOST_LAYINGS):
        layouts, found = lay_out(job, list(grounds), styles, tops, widths)
        choices, remarks = tops_of(job, layouts)
        choices = tops_as_they_hang(job, choices, layouts)
        tops = [c.top for c in choices]
        if all(rails_reach(lay, top) for lay, top in zip(layouts, tops, strict=True)):
            break
    return layouts, choices, [*found, *remarks]


def _low_run(job: Job, layout: RunLayout, top: TopLine) -> LowRun:
    """A run with its pickets at full length under its top."""
    line = layout.ground.line
    clearance, bottom_cut = layout.zones.clearance, job.pickets.bottom_cut
    cuts = cut_pickets(line, layout.slots, top, clearance, bottom_cut, job.tape)
    if layout.standing is not None:
        eased = cut_pickets(line, layout.slots, top, clearance - layout_mark(job.units), bottom_cut, job.tape)
        cuts = held_to_list(cuts, eased, listed_marks(layout.standing, job.tape))
        index = np.flatnonzero(layout.measured)
        edges = layout.standing.measured[index]
        cuts = cut_over(cuts, index, edges, clearance[index], bottom_cut, job.tape)
    bays = zip(layout.bays.left.tolist(), layout.bays.right.tolist(), strict=True)
    return LowRun(
        run=layout.run,
        line=line,
        start=layout.start,
        end=layout.end,
        slots=layout.slots,
        zones=layout.zones,
        cuts=cuts,
        bays=tuple(bays),
        no_soil=tuple((s.start, s.end) for s in (*layout.run.root, *layout.run.no_soil)),
    )


def _nothing_left(lows: Sequence[LowRun], styles: Sequence[TopStyle]) -> Iterator[Problem]:
    """Pickets the ground rises past within their own width, so that no wood is left of them."""
    for low, style in zip(lows, styles, strict=True):
        gone = np.flatnonzero(low.cuts.kept < 1)
        if len(gone):
            yield mistake(
                f"{low.run.name}, {numbered('picket', gone)}",
                f"the ground is so steep that nothing is left of a picket under a {style} top",
                "check the readings; write a wall or kerb as two rows at one station, before and after; "
                "or choose another top",
            )


def _worth_comparing(job: Job) -> bool:
    """Whether the job offers soil or kickboards, so that other choices than its own are worth costing."""
    return (
        job.soil.price is not None or bool(job.soil.kickboard) or job.soil.low_ground is not LowGround.BOARDS
    )


def _concrete(job: Job, posts: Sequence[PostsToSet]) -> Concrete:
    """Concrete for the holes of all posts to be set; what stands has used what all of them take besides."""
    coming = _concrete_of(job, posts, [p.wanted for p in posts])
    every = _concrete_of(job, posts, [p.wanted | p.up for p in posts])
    return structs.replace(
        coming,
        bags_used=every.bags_in_all - coming.bags_in_all,
        gravel_used=every.gravel_bags - coming.gravel_bags,
    )


def _concrete_of(job: Job, posts: Sequence[PostsToSet], which: Sequence[Truths]) -> Concrete:
    """Concrete for the holes of some of the posts."""
    depths = np.concatenate([p.depth[w] for p, w in zip(posts, which, strict=True)])
    gate = np.concatenate([p.schedule.gate[w] for p, w in zip(posts, which, strict=True)])
    return concrete_for(depths, gate, job.posts)


def _screws(job: Job, runs: Sequence[RunPlan]) -> tuple[Screws, ...]:
    """Screws for pickets, row by row, and for what is fixed to posts."""
    rows = 1 if job.pickets.pattern is Pattern.SIDE_BY_SIDE else 2
    counts = [
        sum(
            crossings(r.slots.centre[(r.layout.row == row) & r.layout.coming], r.layout.bays, r.rails)
            for r in runs
        )
        for row in range(rows)
    ]
    counts[0] += sum(
        len(s.kept) * len(f.rails) for r in runs for s, f in zip(r.leaves, r.frames, strict=True)
    )
    places = sum(int(r.rail_pieces.on_posts[r.rails_coming].sum()) for r in runs)
    kickboards = sum(len(r.closing.kickboards) for r in runs)
    joints = sum(f.screws for r in runs for f in r.frames)
    return (
        *picket_screws(
            np.array(counts),
            job.pickets.thickness,
            job.rails.thickness,
            job.pickets.pattern,
            job.fasteners,
            job.units,
        ),
        rail_screws(
            places, job.rails.thickness, job.posts.width, job.fasteners, job.units, joints, kickboards
        ),
    )
