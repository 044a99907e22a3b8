"""One run of a plan once its top and its boards are chosen: heights, gaps, posts, rails and gate leaves."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fencegrade.fence.gates.gates import LeafPickets, leaf_pickets
from fencegrade.fence.low_ground.choice import RunClosing
from fencegrade.fence.low_ground.gaps import GapStretch
from fencegrade.fence.pickets.cuts import Cuts, Marks, shortened
from fencegrade.fence.pickets.flags import Flags, PicketFlag, picket_numbers
from fencegrade.fence.pickets.wishes import Zones
from fencegrade.fence.posts.posts import PostSchedule, post_schedule
from fencegrade.fence.posts.wind import WindScreen, wind_depths, wind_screen
from fencegrade.fence.rails.rails import RailPieces, RailRows, long_pieces, rail_rows, top_at_posts
from fencegrade.fence.slots import Slots
from fencegrade.fence.stock import NO_STOCK, StockChoice
from fencegrade.fence.tops import TopChoice, TopLine
from fencegrade.fence.tops.height_limit import HeightCheck, check_heights, height_remarks
from fencegrade.ground.advice import FROM_CHART, Boards
from fencegrade.ground.fit import GroundProfile
from fencegrade.ground.survey import RunGround
from fencegrade.ground.wording import Say
from fencegrade.job.read import Job
from fencegrade.job.records import BottomCut, Run
from fencegrade.planning.layout import RunLayout
from fencegrade.problems import Problem, warning
from fencegrade.units import past_limit

_HAIR = 1e-6

LEAST_OF_CLEARANCE = 0.5
"""Least open height that is still all right, as a share of the clearance (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RunPlan:
    """One run of the plan. Arrays are (n,) over its pickets in order; lengths and stations in inches.

    `layout`: ground, bays, gates, slots and zones; `choice`: the top line and in what sense it is best;
    `full`: each picket's length in tape marks before stock is chosen, `cuts` what is made of it; `stock`:
    index into the plan's `stock.offered`, or NO_STOCK; `closing`: fills, kickboards and gaps; `leaves`: gate
    leaves in order; `height_check`: None where there is no limit; `wind`: None where the job asks for no
    screen.
    """

    layout: RunLayout
    choice: TopChoice
    full: Marks
    cuts: Cuts
    stock: Marks
    flags: Flags
    closing: RunClosing
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
    def gaps(self) -> tuple[GapStretch, ...]:
        """Stretches of low ground and what closes them."""
        return self.closing.gaps

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


def finish_run(
    job: Job,
    layout: RunLayout,
    choice: TopChoice,
    full: Marks,
    closing: RunClosing,
    stock: Marks,
    kept: Marks,
    offered: StockChoice,
) -> tuple[RunPlan, list[Problem]]:
    """One run once its boards are chosen, and what a builder must see of it.

    `full`, `stock`, `kept`: (n,) of its pickets, see `RunPlan` and `StockChoice`; `closing`: what closes its
    low ground.
    """
    line, top, mark = layout.ground.profile.line, choice.top, job.job.tape
    say = Say(system=job.job.units, tape=mark)
    cuts = shortened(closing.finished, kept, mark)
    check = _heights(job, layout, top)
    flags = _flags(job, layout, cuts, stock, check)
    rows, rail_found = rail_rows(layout.run, layout.bays, top, line, job.rails, job.pickets.clearance, say)
    posts, wind, post_found = _posts(job, layout, top, say)
    run = RunPlan(
        layout=layout,
        choice=choice,
        full=full,
        closing=closing,
        cuts=cuts,
        stock=stock,
        flags=flags,
        posts=posts,
        rails=rows,
        rail_pieces=long_pieces(rows, layout.bays, top),
        leaves=tuple(_leaves(job, layout, top)),
        height_check=check,
        wind=wind,
    )
    remarks = height_remarks(check, layout.run.name, job.job.units, mark) if check else []
    return run, [
        *rail_found,
        *post_found,
        *remarks,
        *_picket_remarks(run, offered, job.pickets.bottom_cut, say),
    ]


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


def _heights(job: Job, layout: RunLayout, top: TopLine) -> HeightCheck | None:
    if job.top.most_height is None or not len(layout.slots):
        return None
    line = layout.ground.profile.line
    return check_heights(line, layout.slots, top, job.top.most_height, job.top.measured)


def _flags(job: Job, layout: RunLayout, cuts: Cuts, stock: Marks, check: HeightCheck | None) -> Flags:
    width = layout.slots.width
    over = check.over if check else np.zeros(len(width), dtype=bool)
    return {
        PicketFlag.NO_STOCK: stock == NO_STOCK,
        PicketFlag.OVER_HEIGHT: over,
        PicketFlag.GAP: (cuts.gap > layout.zones.most_gap + _HAIR) & ~layout.zones.open,
        PicketFlag.RIPPED: width < job.pickets.width - _HAIR,
        PicketFlag.SLIVER: width < job.pickets.width / 2 - _HAIR,
        PicketFlag.MARK_IN_PLACE: ~sure_of_ground(layout.ground.profile, layout.slots, cuts, layout.zones),
    }


def boards_cut(slots: Slots, cuts: Cuts, zones: Zones) -> Boards:
    """Pickets as they are to be cut, with the open heights that are all right under each.

    Where the plan itself leaves more open than wanted, that much is all right; water has no upper limit.
    """
    most = np.where(zones.open, np.inf, np.maximum(zones.most_gap, cuts.gap))
    return Boards(
        left=slots.left,
        right=slots.right,
        foot=cuts.bottom_left,
        slope=(cuts.bottom_right - cuts.bottom_left) / slots.width,
        least=LEAST_OF_CLEARANCE * zones.clearance,
        most=most,
    )


def sure_of_ground(profile: GroundProfile, slots: Slots, cuts: Cuts, zones: Zones) -> NDArray[np.bool_]:
    """Whether each picket may be cut from the chart; the others are left long and marked in place."""
    b = boards_cut(slots, cuts, zones)
    chance = profile.chance_outside(b.left, b.right, b.foot, b.least, b.most, b.slope)
    return np.asarray(chance <= FROM_CHART)


_OPEN_UNDER = {
    BottomCut.SQUARE: ("a square cut", "scribe these boards to the ground, or fill beneath them"),
    BottomCut.SCRIBED: (
        "a straight scribed cut",
        "cut these boards to the ground's curve, or fill beneath them",
    ),
}


def _picket_remarks(run: RunPlan, choice: StockChoice, bottom_cut: BottomCut, say: Say) -> list[Problem]:
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
        gap, limit = float(run.cuts.gap[worst]), float(run.zones.most_gap[worst])
        a_cut, remedy = _OPEN_UNDER[bottom_cut]
        problems.append(
            warning(
                f"{run.run.name}, {picket_numbers(gaps)}",
                f"{a_cut} leaves up to {past_limit(gap, limit, say)} open, at picket {worst + 1}",
                remedy,
            )
        )
    return problems
