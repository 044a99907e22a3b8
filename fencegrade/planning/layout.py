"""Before any top is chosen: the ground of every run, its bays, its gates, and the pickets' slots."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
from msgspec import Struct, structs

from fencegrade.fence.bays.bays import Bays, lay_bays
from fencegrade.fence.bays.given_posts import Ends, hangs_on_ends, outside
from fencegrade.fence.bays.reach import SlopeOf, slanted_ends
from fencegrade.fence.gates.gates import GatePlan, plan_gate
from fencegrade.fence.pickets.patterns import lay_pattern
from fencegrade.fence.pickets.spacing import Spacing, laid_spaces
from fencegrade.fence.pickets.wishes import Zones, aimed, picket_zones
from fencegrade.fence.posts.posts import TOP_ALLOWED, ground_at_posts, standing_heights
from fencegrade.fence.rails.rails import bay_tops
from fencegrade.fence.slots import Slots, closed_stretches, join_slots
from fencegrade.fence.tops.asked import Corner
from fencegrade.fence.tops.bay_slots import bay_slots
from fencegrade.fence.tops.bays import posts_within
from fencegrade.fence.tops.line import TopLine
from fencegrade.fence.tops.table import TopStyle
from fencegrade.ground.survey import RunGround, ground_from_survey
from fencegrade.job.choices import Pattern, StationsTaped
from fencegrade.job.read import Job, read_sound_parts
from fencegrade.job.records import ExistingPost, Posts, Run
from fencegrade.job.survey import StringSurvey
from fencegrade.planning.row import Again
from fencegrade.problems import Problem, mistake, raise_mistakes
from fencegrade.units import MM_PER_INCH, UnitSystem
from fencegrade.units.arrays import Floats, Indices, Truths
from fencegrade.units.tolerances import SAME_LENGTH
from fencegrade.units.words import Words

CORNER_ALLOWED = {UnitSystem.IMPERIAL: 0.25, UnitSystem.METRIC: 6 / MM_PER_INCH}
"""Inches that two joined runs' surveys may differ at the stake they share: common practice, no source."""

MOST_PICKETS = 1_500_000
MOST_BAYS = 500_000
"""A job with more of them is refused before it fills the memory; a hundred miles of pickets have fewer."""


class Standing(Struct, frozen=True, kw_only=True, eq=False):
    """What stands of a run, over all its pickets (n,) as they now lie.

    `up`: which are; `kept`: the length each of those was cut to (in), nan where it was not written; `cut`:
    the length boards to come had on the list they may be cut from already (in), nan likewise;
    `measured` (n, 2): ground (in) at both edges of boards where it was measured in place, else nan;
    `doubted` (n,): which of those the survey makes hard to believe;
    `railed`: bays (m,) whose rails are up; `known`: by how many boards the width of those to come is known,
    none where it was neither measured nor seen over enough of them; `hung`: the line of the tops with its
    steps and bends where posts were planned; `again`: how the rest was laid again, None where all agrees.
    """

    up: Truths
    kept: Floats
    cut: Floats
    measured: Floats
    doubted: Truths
    railed: Truths
    known: int
    hung: TopLine
    again: Again | None


class RunLayout(Struct, frozen=True, kw_only=True, eq=False):
    """One run before its top is chosen; `run` has its stations level, whatever way they were taped.

    `style`: the top it is laid out for; `width` (in) of its boards to come; `row` (n,): 0 for pickets of the
    first row, 1 for those of the second where the pattern has two; `standing`: what stands, None before
    anything does.
    """

    run: Run
    style: TopStyle
    start: float
    end: float
    ground: RunGround
    bays: Bays
    gates: tuple[GatePlan, ...]
    width: float
    slots: Slots
    row: Indices
    zones: Zones
    standing: Standing | None = None

    @property
    def coming(self) -> Truths:
        """(n,) which pickets are still to come: all of them before the first is up."""
        return np.ones(len(self.slots), dtype=bool) if self.standing is None else ~self.standing.up

    @property
    def measured(self) -> Truths:
        """(n,) which pickets have their ground measured in place."""
        none = np.zeros(len(self.slots), dtype=bool)
        return none if self.standing is None else ~np.isnan(self.standing.measured[:, 0])

    @property
    def settled(self) -> Truths:
        """(n,) which pickets the ground leaves in no doubt: those up, and those measured in place if that is
        to be believed."""
        return (
            ~self.coming
            if self.standing is None
            else self.standing.up | self.measured & ~self.standing.doubted
        )

    def spaces(self) -> tuple[Spacing, ...]:
        """The stretches of equal spaces between its pickets, in order; see `laid_spaces`."""
        return laid_spaces(self.slots, self.row, [(g.station, g.end) for g in self.run.gate])

    def top_of_post(self, post: int) -> float | None:
        """Elevation (in) of the top that a post which stands is given with; None where it is not."""
        height = float(standing_heights(self.run, self.bays)[post])
        return None if np.isnan(height) else float(self._ground_at(post)) + height

    def with_post(self, post: int, like: Bays, there: int, top: float | None) -> "RunLayout":
        """The layout with one of its posts standing, and old, as that of another run is too, and with its
        `top` (elevation, in) where that is known."""
        old, standing = self.bays.old.copy(), self.bays.standing.copy()
        old[post] |= like.old[there]
        standing[post] |= like.standing[there]
        bays = structs.replace(self.bays, old=old, standing=standing)
        run = self.run
        if top is not None:
            given = ExistingPost(station=float(bays.posts[post]), height=top - self._ground_at(post))
            run = replace(run, existing_post=(*run.existing_post, given))
        return structs.replace(self, run=run, bays=bays)

    def _ground_at(self, post: int) -> float:
        return float(ground_at_posts(self.ground.line, self.bays.posts[[post]])[0])


def read_and_survey(
    path: Path | str, said: Mapping[tuple[str, str], Any] | None = None
) -> tuple[Job, list[RunGround], list[Problem]]:
    """Read a job and work out the ground of every run, reporting the mistakes of all of it together.

    `path`, `said`: as `read_sound_parts` takes them. Result: the job, the grounds, and the remarks that came
    up. Errors: JobMistakesError.
    """
    job, problems = read_sound_parts(path, said)
    grounds, found = _grounds(job)
    raise_mistakes([*problems, *found])
    return job, grounds, found


def survey_grounds(job: Job) -> tuple[list[RunGround], list[Problem]]:
    """The ground of every run, and what came up.

    Errors: JobMistakesError with every mistake of the job as it now is and of its surveys.
    """
    grounds, problems = _grounds(job)
    raise_mistakes([*job.mistakes, *problems])
    return grounds, problems


def _grounds(job: Job) -> tuple[list[RunGround], list[Problem]]:
    grounds: list[RunGround] = []
    problems: list[Problem] = []
    for run, survey, place in zip(job.runs, job.surveys, job.run_places, strict=True):
        ground, found = ground_from_survey(run, survey, job.units, job.tape, place)
        problems += found
        if ground is not None:
            grounds.append(ground)
    return grounds, [*problems, *_corner_mistakes(job, grounds)]


def _corner_mistakes(job: Job, grounds: Sequence[RunGround]) -> Iterator[Problem]:
    """Joined runs whose surveys give the stake they share different elevations."""
    words = job.words
    allowed = CORNER_ALLOWED[job.units]
    by_name = {ground.name: ground for ground in grounds}
    for run, place in zip(job.runs, job.run_places, strict=True):
        before, after = by_name.get(run.join or ""), by_name.get(run.name)
        if before is None or after is None or before is after:
            continue
        ends = float(before.line.elevation(before.end, before=True))
        starts = float(after.line.elevation(after.start))
        if abs(starts - ends) > allowed + SAME_LENGTH:
            slips = [*before.slips, *after.slips]
            string = "" if slips else _height_of_string(job, run, ends - starts)
            yield mistake(
                f"{place}, join",
                f'the ground at the stake shared with "{run.join}" is {words.fine(ends)} by {before.source} '
                f"and {words.fine(starts)} by {after.source}: {words.fine(abs(starts - ends))} apart, "
                f"{words.fine(allowed)} allowed",
                f"{_slipped(slips)}{_turned(after, ends, words)}{_turned(before, starts, words, ahead=True)}"
                "carry one datum through the stake (height in [[run.string]], or one benchmark), or read it "
                f"again{string}",
            )


def _slipped(slips: Sequence[Problem]) -> str:
    """What to settle before the stake two runs share: the first thing that looks like a slip in either."""
    return f"first see to {slips[0].place}: {slips[0].found}; if that is right, " if slips else ""


def _turned(ground: RunGround, height: float, words: Words, *, ahead: bool = False) -> str:
    """What to do with a run whose far end fits the stake it shares, at a `height` (in); else nothing.

    `ahead`: it is the run that ends at the stake, and its far end is its start.
    """
    far = float(ground.line.elevation(ground.start if ahead else ground.end, before=not ahead))
    if abs(far - height) > CORNER_ALLOWED[words.system] + SAME_LENGTH:
        return ""
    end, origin = (
        (f'the start of "{ground.name}"', "its other end") if ahead else ("its far end", "the shared stake")
    )
    return (
        f"{end} lies at {words.fine(far)}: if {ground.source} was read from the other end, count its "
        f"stations from {origin} ({words.station(ground.start + ground.end)} less each); else "
    )


def _height_of_string(job: Job, run: Run, higher: float) -> str:
    """What ties a run's one string to the stake, where it hangs `higher` (in) than it is taken to."""
    survey = job.surveys[job.runs.index(run)]
    if not isinstance(survey, StringSurvey) or len(run.string) > 1:
        return ""
    height = (run.string[0].height or 0.0) if run.string else 0.0
    written = Words.of_readings(job.units).fine(height + higher)
    return f'; where only its string hangs at another height: height = "{written}" in its [[run.string]]'


def lay_out(
    job: Job,
    grounds: list[RunGround],
    styles: Sequence[TopStyle],
    tops: Sequence[TopLine] = (),
    widths: Sequence[float] = (),
) -> tuple[tuple[RunLayout, ...], list[Problem]]:
    """Bays, gates and slots of every run for the top style of each.

    `tops`: top lines found on earlier bays, whose rails did not all reach: the bays are then laid for the
    steeper of ground and top. `widths`: of the boards of each run (in), the job's where none are given.
    Errors: JobMistakesError where posts cannot stand.
    """
    words = job.words
    raise_mistakes(_too_many(job, grounds, words))
    layouts: list[RunLayout] = []
    problems = list(_in_no_run(job, grounds, words))
    runs = [_level_stations(run, ground) for run, ground in zip(job.runs, grounds, strict=True)]
    hung = _hung_at_corners(job, runs, grounds)
    for index, (run, ground, style) in enumerate(zip(runs, grounds, styles, strict=True)):
        slope = no_slope if style.level_rails else steeper(ground, tops[index]) if tops else None
        width = widths[index] if widths else job.pickets.width
        layout, found = _lay_run(job, run, ground, style, slope, width, hung[index])
        problems += found
        if layout is not None:
            layouts.append(layout)
    raise_mistakes(problems)
    shared, found = one_post_at_corners(layouts, words)
    raise_mistakes(found)
    return shared, problems


def joined_corners(layouts: Sequence[RunLayout]) -> list[Corner]:
    """Pairs (run that ends at a corner, run that starts there), from the `join` of the later run."""
    return _corners([layout.run for layout in layouts])


def _corners(runs: Sequence[Run]) -> list[Corner]:
    index = {run.name: k for k, run in enumerate(runs)}
    return [(index[run.join], k) for k, run in enumerate(runs) if run.join is not None]


def _hung_at_corners(job: Job, runs: Sequence[Run], grounds: Sequence[RunGround]) -> list[Ends]:
    """Whether the end posts of each run hang a gate of it, or of a run that shares the post."""
    first, last = (
        list(own)
        for own in zip(
            *(hangs_on_ends(r, job.posts, g.start, g.end) for r, g in zip(runs, grounds, strict=True)),
            strict=True,
        )
    )
    corners = _corners(runs)
    for before, after in [*corners, *corners]:
        last[before] = first[after] = last[before] or first[after]
    return list(zip(first, last, strict=True))


def one_post_at_corners(
    layouts: Sequence[RunLayout], words: Words
) -> tuple[tuple[RunLayout, ...], list[Problem]]:
    """The layouts with the post at each corner one post in all the runs that share it: where it stands it
    does so in each, under one top; and a mistake for every post that is given two."""
    found, problems = list(layouts), list[Problem]()
    corners = joined_corners(layouts)
    for before, after in [*corners, *corners]:
        ends, starts = found[before], found[after]
        last, first = ends.top_of_post(-1), starts.top_of_post(0)
        apart = 0.0 if last is None or first is None else last - first
        if abs(apart) > TOP_ALLOWED[words.system] + SAME_LENGTH:
            problems.append(_two_tops(ends, starts, apart, words))
        top = first if last is None else last
        found[before] = ends.with_post(-1, starts.bays, 0, None if last == top else top)
        found[after] = starts.with_post(0, ends.bays, -1, None if first == top else top)
    return tuple(found), problems


def _two_tops(ends: RunLayout, starts: RunLayout, higher: float, words: Words) -> Problem:
    place = f"{ends.run.name}, post {len(ends.bays.posts)}"
    way = "higher" if higher > 0 else "lower"
    found = (
        f"is post 1 of {starts.run.name} too, and its top is {words.fine(abs(higher))} {way} here than there"
    )
    return mistake(place, found, "measure it again, and correct the one that is wrong")


def _too_many(job: Job, grounds: Sequence[RunGround], words: Words) -> Iterator[Problem]:
    """More pickets or bays than anybody builds: a slip of a unit or of a decimal point."""
    length = sum(ground.end - ground.start for ground in grounds)
    counted = (
        ("pickets", length / (job.pickets.width + job.pickets.spacing), MOST_PICKETS),
        ("bays", length / job.posts.spacing, MOST_BAYS),
    )
    for what, count, most in counted:
        if count > most:
            yield mistake(
                f"{job.place} [{'pickets' if what == 'pickets' else 'posts'}]",
                f"{words.station(length)} of fence would have about {count:,.0f} {what}; the most is "
                f"{most:,}",
                "check the stations' units and the widths and spacings, or divide the job",
            )


def _in_no_run(job: Job, grounds: Sequence[RunGround], words: Words) -> Iterator[Problem]:
    """Posts of `posts.fixed`, which speaks for every run, that stand in none."""
    fixed = [_level_posts(job.posts, run, g).fixed for run, g in zip(job.runs, grounds, strict=True)]
    longest = max(grounds, key=lambda g: g.end - g.start)
    told = words.stretch(longest.start, longest.end)
    runs = f"the run, {told}" if len(grounds) == 1 else f"every run; the longest is {told}"
    for k, stations in enumerate(zip(*fixed, strict=True)):
        if not any(
            g.start - SAME_LENGTH <= x <= g.end + SAME_LENGTH for x, g in zip(stations, grounds, strict=True)
        ):
            yield outside(f"{job.place} [posts] fixed {k + 1}", stations[0], runs, words)


def _lay_run(
    job: Job,
    run: Run,
    ground: RunGround,
    style: TopStyle,
    slope: SlopeOf | None,
    width: float,
    hung: Ends,
) -> tuple[RunLayout | None, list[Problem]]:
    line, start, end, words = ground.line, ground.start, ground.end, job.words
    posts = _level_posts(job.posts, run, ground)
    bays, found = lay_bays(run, posts, job.rails, line, start, end, slope, words=words, hung=hung)
    if bays is None:
        return None, list(found)
    problems = list(found)
    gates = []
    for number, gate in enumerate(run.gate, start=1):
        plan, remarks = plan_gate(
            f"{run.name}, gate {number}", gate, line, job.pickets.clearance, words, job.pickets.most_gap
        )
        gates.append(plan)
        problems += remarks
    slots, row = _slots(job, run, ground, bays, style, width)
    layout = RunLayout(
        run=run,
        style=style,
        start=start,
        end=end,
        ground=ground,
        bays=bays,
        gates=tuple(gates),
        width=width,
        slots=slots,
        row=row,
        zones=aimed(picket_zones(slots, run, job.pickets), job.pickets, slots, line),
    )
    return layout, problems


def no_slope(left: Floats, right: Floats) -> Floats:
    """The slope of level rails between posts at `left` and `right` (in): none."""
    return np.zeros(np.broadcast(left, right).shape)


def steeper(ground: RunGround, top: TopLine) -> SlopeOf:
    """Slope between two posts: that of the ground or of a top line, whichever is steeper."""
    line = ground.line

    def slope(left: Floats, right: Floats) -> Floats:
        width = right - left
        of_ground = (line.elevation(right, before=True) - line.elevation(left)) / width
        of_top = (top.sides(right)[0] - top.sides(left)[1]) / width
        return np.maximum(np.abs(of_ground), np.abs(of_top))

    return slope


def rails_reach(layout: RunLayout, top: TopLine) -> bool:
    """Whether the longest rail stock reaches in every bay along a top line."""
    bays = layout.bays
    ends = slanted_ends(bays.rail_height, bay_tops(top, bays).slope(bays))
    return bool(np.all(rail_lengths(layout, top) + ends <= bays.reach + SAME_LENGTH))


def rail_lengths(layout: RunLayout, top: TopLine) -> Floats:
    """The length (m,) of a rail along a top line in each bay, bearing included (in)."""
    bays = layout.bays
    level = bays.rail / np.sqrt(1 + bays.slope**2)
    slope = bay_tops(top, bays).slope(bays)
    return np.asarray(level * np.sqrt(1 + slope**2))


def stretches_of(
    run: Run, start: float, end: float, faces: Floats, posts: Floats, style: TopStyle
) -> list[tuple[float, float]]:
    """Ends (in) of the stretches of a run that are laid each for itself.

    Between gates, faces and the run's ends; a top built by the bay starts afresh at each post (`posts`, in).
    """
    stretches = closed_stretches(start, end, run.gate, faces)
    if not style.by_bay:
        return stretches
    return [part for a, b in stretches for part in pairwise([a, *posts_within(a, b, posts).tolist(), b])]


def lay_stretch(job: Job, style: TopStyle, start: float, end: float, width: float) -> tuple[Slots, Indices]:
    """The slots that fill a stretch with boards of a width (in), in order along it, and the row of each."""
    pickets = job.pickets
    if pickets.pattern is Pattern.SIDE_BY_SIDE and style.by_bay:
        slots = bay_slots(start, end, width, pickets.spacing)
        return slots, np.zeros(len(slots), dtype=np.int8)
    facing = lay_pattern(pickets.pattern, start, end, width, pickets.spacing, pickets.fit)
    slots, row = facing.in_order()
    return slots, row.astype(np.int8)


def _slots(
    job: Job, run: Run, ground: RunGround, bays: Bays, style: TopStyle, width: float
) -> tuple[Slots, Indices]:
    """The slots in order along the run, and the row of each."""
    faces = ground.line.faces
    laid = [
        lay_stretch(job, style, a, b, width)
        for a, b in stretches_of(run, ground.start, ground.end, faces, bays.posts, style)
    ]
    rows = [np.zeros(0, np.int8), *(row for _, row in laid)]
    return join_slots([slots for slots, _ in laid]), np.concatenate(rows)


def _level_posts(posts: Posts, run: Run, ground: RunGround) -> Posts:
    """The posts with the stations of those that stand level, where the run's were taped along the slope."""
    if run.stations_taped is not StationsTaped.ALONG_SLOPE:
        return posts
    return replace(posts, fixed=tuple(ground.station(x) for x in posts.fixed))


def _level_stations(run: Run, ground: RunGround) -> Run:
    """The run with every station of the job file level, where they were taped along the slope."""
    if run.stations_taped is not StationsTaped.ALONG_SLOPE:
        return run
    at = ground.station
    kept: dict[str, Any] = {
        name: tuple(replace(s, start=at(s.start), end=at(s.end)) for s in getattr(run, name))
        for name in ("no_post", "root", "no_soil", "keep_open", "clearance")
    }
    gates = tuple(replace(g, station=at(g.station)) for g in run.gate)
    posts = tuple(replace(p, station=at(p.station)) for p in run.existing_post)
    return replace(run, gate=gates, existing_post=posts, **kept)
