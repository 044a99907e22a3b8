"""The fence as it stands: what `built.toml` says put into the layout, so that all the rest follows from it.

Posts go where they were set, and with them the ends, openings and bays; what is up keeps its edges and its
lengths; ground measured in place replaces that of the survey under its board. What stands is never moved.
"""

import dataclasses
from collections.abc import Iterator, Sequence

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from fencegrade.fence.bays.bays import Bays, bays_as_set
from fencegrade.fence.bays.given_posts import PostKind
from fencegrade.fence.gates.gates import GatePlan, plan_gate
from fencegrade.fence.pickets.wishes import aimed, picket_zones
from fencegrade.fence.slots import Slots, join_slots
from fencegrade.fence.tops.asked import TopChoice
from fencegrade.fence.tops.line import TopLine
from fencegrade.fence.wood.widths import USUAL_LIMIT
from fencegrade.ground.profile import GroundLine
from fencegrade.job.as_built import BuiltRun, MeasuredGround, PicketUp
from fencegrade.job.choices import Pattern
from fencegrade.job.read import Job
from fencegrade.job.records import ExistingPost, Gate, Run
from fencegrade.planning.layout import (
    RunLayout,
    Standing,
    lay_stretch,
    no_slope,
    one_post_at_corners,
    steeper,
    stretches_of,
)
from fencegrade.planning.measured import believed_off, doubted_off, far_off, ground_as_measured, too_long
from fencegrade.planning.posts_as_set import POST_TOLERANCE, post_findings, sound_posts
from fencegrade.planning.row import Laying, Row, Stretch, row_as_it_stands
from fencegrade.problems import Problem, has_mistake, mistake, note, raise_mistakes, warning
from fencegrade.units import layout_mark, parse_length
from fencegrade.units.arrays import Floats, Truths
from fencegrade.units.tolerances import SAME_LENGTH
from fencegrade.units.words import Words, listed


def as_it_stands(
    job: Job, layouts: Sequence[RunLayout], choices: Sequence[TopChoice], before: Sequence[Problem] = ()
) -> tuple[tuple[RunLayout, ...], tuple[TopChoice, ...], list[Problem]]:
    """Layouts and tops of a fence as it now stands.

    `layouts`, `choices`: as planned before the first board, with what was found `before` then. Result: the
    same where nothing is written of a run, and what a builder must see; of a gate that is made to another
    opening only what is found now. Errors: JobMistakesError with every mistake in the record.
    """
    runs = [_Run(job, lay, choice) for lay, choice in zip(layouts, choices, strict=True)]
    found = [run.stood() for run in runs]
    problems = [replace(p, on_record=True) for _, _, told in found for p in told]
    raise_mistakes(problems)
    anew = {place for run in runs for place in run.anew}
    problems = [*(p for p in before if p.place not in anew), *problems, *_since_counted(job)]
    stood = [lay for lay, _, _ in found]
    shared, apart = one_post_at_corners(stood, Words.of_readings(job.units))
    raise_mistakes(replace(p, on_record=True) for p in apart)
    return shared, tuple(f[1] for f in found), problems


def _since_counted(job: Job) -> Iterator[Problem]:
    """When the boards left are taken as counted: a record does not say it, and a stale count buys too few."""
    up = [(run.name, max(p.number for p in run.picket)) for run in job.built.run if run.picket]
    if job.built.left and up:
        last = listed([f"{number} of {name}" for name, number in up])
        found = f"the boards left are taken as counted when the last one up was picket {last}"
        told = note(job.built.left[0].place, found, "count them again if more went up since")
        yield replace(told, on_record=True)


def _is_silent(built: BuiltRun) -> bool:
    return not (built.picket or built.post or built.measured or built.cut)


class _Ends(Struct, frozen=True, kw_only=True, eq=False):
    """The run as its posts were set: the run itself with its openings, and the stations of its ends (in)."""

    run: Run
    start: float
    end: float


class _Run:
    """One run, from its layout as planned to that of what stands."""

    def __init__(self, job: Job, layout: RunLayout, choice: TopChoice) -> None:
        self.job, self.layout, self.choice, self.style = job, layout, choice, layout.style
        self.built = job.built.of(layout.run.name)
        self.words = Words.of_readings(job.units)
        self.anew: list[str] = []
        self.posts, self.problems = sound_posts(job, layout, self.built.post)

    def stood(self) -> tuple[RunLayout, TopChoice, list[Problem]]:
        """Layout and top as they stand, and what there is to say of them."""
        if _is_silent(self.built):
            return self.layout, self.choice, []
        stations, ends = self._stations(), self._ends()
        top = self._top(stations)
        row = self._row(ends, stations)
        problems = [*self.problems, *row.problems]
        if has_mistake(problems):
            return self.layout, self.choice, problems
        ends = self._narrowed(ends, row)
        slots = join_slots([s.slots for s in row.stretches])
        up, kept, cut = self._up(len(slots))
        problems = [*problems, *self._numbers(slots)]
        rows = self._measured(slots)
        ground, measured = ground_as_measured(self.layout.ground, slots, top, rows)
        ground = ground.carried(float(stations[0]), float(stations[-1]))
        problems += too_long(ground, slots, top, self.built.picket, self.words)
        off = doubted_off(self.layout.ground, slots, measured, rows)
        problems += far_off(off, believed_off(self.layout.ground, slots), rows, self.words)
        bays = self._bays(stations, _last_edge(slots, up), top, ground.line)
        gates, told = self._gates(ends.run, ground.line)
        layout = replace(
            self.layout,
            run=ends.run,
            start=ends.start,
            end=ends.end,
            ground=ground,
            bays=bays,
            gates=gates,
            width=row.width,
            slots=slots,
            row=np.concatenate([s.row for s in row.stretches]),
            zones=aimed(
                picket_zones(slots, ends.run, self.job.pickets), self.job.pickets, slots, ground.line
            ),
            standing=Standing(
                up=up,
                kept=kept,
                cut=cut,
                measured=measured,
                doubted=off != 0,
                railed=bays.left < _last_edge(slots, up) - SAME_LENGTH,
                known=row.known,
                hung=self.choice.top,
                again=row.again,
            ),
        )
        problems += [*told, *post_findings(self.job, self.layout, self.posts, bays)]
        return layout, replace(self.choice, top=top), problems

    def _stations(self) -> Floats:
        """Centres of the posts (n,), as set where that was measured."""
        stations = self.layout.bays.posts.copy()
        for post in self.posts:
            stations[post.number - 1] = post.station
        sizes, apart = self.layout.bays.sizes, np.diff(stations)
        both = (sizes[1:] + sizes[:-1]) / 2
        least = np.minimum(both, np.diff(self.layout.bays.posts))
        for k in np.flatnonzero(apart < least - POST_TOLERANCE):
            off, wide = (self.words.fine(abs(float(x))) for x in (apart[k], both[k]))
            two = f"posts {k + 1} and {k + 2}"
            size = f"a post is {wide} wide" if sizes[k] == sizes[k + 1] else f"half of each comes to {wide}"
            found = f"{two} stand in each other: {size}, and their middles are {off} apart"
            if apart[k] < 0:
                found = f"{two} stand in the other order, {off} apart"
            remedy = "check number and station; each is the middle of its post"
            self.problems.append(mistake(f"{self.built.place}, post", found, remedy))
        return stations

    def _edge(self, edge: float) -> float:
        """An end or the edge of an opening (in), moved with the post it lies against."""
        for post in self.posts:
            planned = float(self.layout.bays.posts[post.number - 1])
            if abs(planned - edge) <= self.layout.bays.sizes[post.number - 1] / 2 + SAME_LENGTH:
                return edge + post.station - planned
        return edge

    def _read(self, edge: float) -> float:
        """An edge (in), not past the readings: no board is cut to ground that nobody measured."""
        profile = self.layout.ground.profile
        return min(max(edge, profile.start), profile.end)

    def _ends(self) -> _Ends:
        run = self.layout.run
        heights = [ExistingPost(station=p.station, height=p.top) for p in self.posts if p.top is not None]
        return _Ends(
            run=dataclasses.replace(
                run,
                gate=tuple(self._opening(k, g) for k, g in enumerate(run.gate, start=1)),
                existing_post=(*run.existing_post, *heights),
            ),
            start=self._read(self._edge(self.layout.start)),
            end=self._read(self._edge(self.layout.end)),
        )

    def _opening(self, number: int, gate: Gate) -> Gate:
        near, far = self._edge(gate.station), self._edge(gate.end)
        profile = self.layout.ground.profile
        if near < profile.start + SAME_LENGTH or far > profile.end - SAME_LENGTH:
            found = f"the opening as set, {self.words.stretch(near, far)}, reaches the end of the readings"
            remedy = "take a reading there and add it to the survey"
            self.problems.append(mistake(f"{self.layout.run.name}, gate {number}", found, remedy))
            return gate
        same = near == gate.station and far == gate.end
        return gate if same else dataclasses.replace(gate, station=near, width=far - near)

    def _narrowed(self, ends: _Ends, row: Row) -> _Ends:
        """The openings with the last board before each standing into it."""
        gates = list(ends.run.gate)
        for k, gate in enumerate(gates):
            for s in row.stretches:
                if SAME_LENGTH < s.end - gate.station <= s.beyond:
                    gates[k] = dataclasses.replace(gate, station=s.end, width=gate.end - s.end)
        if all(new is old for new, old in zip(gates, ends.run.gate, strict=True)):
            return ends
        return replace(ends, run=dataclasses.replace(ends.run, gate=tuple(gates)))

    def _beyond(self, ends: _Ends, end: float) -> float:
        """How far (in) past the end of a stretch its last board may stand: half a board into an opening."""
        into = [g.width / 2 for g in ends.run.gate if abs(g.station - end) <= SAME_LENGTH]
        return min(self.job.pickets.width / 2, *into) if into else 0.0

    def _within(self, picket: PicketUp, end: float) -> PicketUp:
        """A picket whose edge lies less than half a board past the run's `end` (in) is taken to end there."""
        edge = picket.far_edge
        past, words = edge - end, self.words
        if layout_mark(words.system) < past <= self.job.pickets.width / 2:
            found = f"picket {picket.number} stands {words.fine(past)} past the run's end"
            remedy = "it is planned as if it ended there; rip it where something must meet it"
            self.problems.append(warning(self.layout.run.name, found, remedy))
            edge = end
        return dataclasses.replace(picket, far_edge=edge)

    def _gates(self, run: Run, line: GroundLine) -> tuple[tuple[GatePlan, ...], list[Problem]]:
        """The gates, made to the openings as they stand."""
        pickets, own = self.job.pickets, self.job.words
        gates, problems = list(self.layout.gates), list[Problem]()
        for k, (gate, planned) in enumerate(zip(run.gate, self.layout.run.gate, strict=True)):
            if gate is not planned:
                place = f"{run.name}, gate {k + 1}"
                gates[k], told = plan_gate(place, gate, line, pickets.clearance, own, pickets.most_gap)
                problems += told
                self.anew.append(place)
                wide, was = self.words.fine(gate.width), self.words.fine(planned.width)
                found = f"the opening as it stands is {wide} wide, planned {was}"
                problems.append(warning(place, found, "make the gate to the opening"))
        return tuple(gates), problems

    def _top(self, stations: Floats) -> TopLine:
        """The line of the tops; where it steps or bends at a post, it does so where that was set."""
        top, planned = self.choice.top, self.layout.bays.posts
        moved = top.stations.copy()
        for was, now in zip(planned[planned != stations], stations[planned != stations], strict=True):
            at_post = np.abs(top.stations - was) <= SAME_LENGTH
            at_post[[0, -1]] = False
            moved[at_post] = now
        return replace(top, stations=moved).carried(float(stations[0]), float(stations[-1]))

    def _row(self, ends: _Ends, stations: Floats) -> Row:
        """The row of pickets: as planned up to what was measured, then laid again."""
        layout, job = self.layout, self.job
        faces = layout.ground.line.faces
        at_face = np.array([k is PostKind.FACE for k in layout.bays.kinds])
        split = np.where(at_face, layout.bays.posts, stations)
        planned = stretches_of(layout.run, layout.start, layout.end, faces, layout.bays.posts, self.style)
        now = stretches_of(ends.run, ends.start, ends.end, faces, split, self.style)
        stretches = [
            replace(self._stretch(a, b), beyond=self._beyond(ends, b[1]))
            for a, b in zip(planned, now, strict=True)
        ]
        stepped = self.style.by_bay and job.pickets.pattern is Pattern.SIDE_BY_SIDE
        laying = Laying(
            limit=self.built.limit or parse_length(USUAL_LIMIT[job.units]),
            fit=job.pickets.fit,
            stepped=stepped,
            width=layout.width,
            spacing=job.pickets.spacing,
            pattern=job.pickets.pattern,
        )
        pickets = [self._within(p, ends.end) for p in self.built.picket]
        return row_as_it_stands(
            stretches, pickets, laying, lambda a, b, w: lay_stretch(job, self.style, a, b, w), self.words
        )

    def _stretch(self, planned: tuple[float, float], now: tuple[float, float]) -> Stretch:
        slots, middles = self.layout.slots, self.layout.slots.centre
        own = slice(int(np.searchsorted(middles, planned[0])), int(np.searchsorted(middles, planned[1])))
        shift = now[0] - planned[0]
        return Stretch(
            start=now[0],
            end=now[1],
            slots=Slots(left=slots.left[own] + shift, right=slots.right[own] + shift),
            row=self.layout.row[own],
            moved=abs(shift) > SAME_LENGTH or abs(now[1] - planned[1]) > SAME_LENGTH,
        )

    def _up(self, count: int) -> tuple[Truths, Floats, Floats]:
        """Which pickets are up (count,), the length (in) each was cut to, and that on the list of those to
        come; nan where not written."""
        last = max((p.number for p in self.built.picket), default=0)
        up = np.arange(1, count + 1) <= last
        for out in self.built.later:
            up[out.first - 1 : out.last] = False
        listed = np.full(count, np.nan)
        for alike in self.built.cut:
            listed[[n - 1 for n in alike.numbers if n <= count]] = alike.kept
        kept = np.where(up, listed, np.nan)
        for picket in self.built.picket:
            if picket.kept is not None:
                kept[picket.number - 1] = picket.kept
        return up, kept, np.where(up, np.nan, listed)

    def _numbers(self, slots: Slots) -> Iterator[Problem]:
        """Rows of the record for pickets that are not there."""
        for m in self.built.measured:
            if self._board_of(m, slots) is not None:
                continue
            if m.left_edge is None:
                found = f"the fence has no picket {m.number}, only {len(slots)}"
                yield mistake(f"{m.place}, number", found, "check the number")
            else:
                found = f"no board begins at {self.words.station(m.left_edge)}, where this one did"
                yield warning(f"{m.place}, left_edge", found, "measure the boards there again")
        last = max((p.number for p in self.built.picket), default=0)
        for out in self.built.later:
            if out.last >= last:
                found = f"picket {out.last} is past the last one up, {last}, and comes later anyway"
                yield mistake(f"{out.place}, last", found, "keep what was left out below the last one up")

    def _measured(self, slots: Slots) -> dict[int, MeasuredGround]:
        """The rows of ground measured in place, by the board (index) of each."""
        return {k: m for m in self.built.measured if (k := self._board_of(m, slots)) is not None}

    def _board_of(self, measured: MeasuredGround, slots: Slots) -> int | None:
        """The board (index) that a measurement is of: by where it stood then, else by its number."""
        if measured.left_edge is None:
            return measured.number - 1 if measured.number <= len(slots) else None
        off = np.abs(slots.left - measured.left_edge)
        k = int(np.argmin(off))
        return k if off[k] <= self.job.pickets.width / 2 else None

    def _bays(self, stations: Floats, last: float, top: TopLine, line: GroundLine) -> Bays:
        """The bays between the posts as set; those behind the last board (in) stand too, and the one that the
        rails of its bay end on."""
        bays = self.layout.bays
        stand = bays.standing | (stations < last - SAME_LENGTH)
        railed = stations[bays.first] < last - SAME_LENGTH
        stand[bays.first[railed] + 1] = True
        stand[[p.number - 1 for p in self.posts]] = True
        surveyed = self.layout.ground.carried(float(stations[0]), float(stations[-1]))
        slope = no_slope if self.style.level_rails else steeper(surveyed, top)
        return bays_as_set(bays, stations, stand, self.job.posts, self.job.rails, line, slope)


def _last_edge(slots: Slots, up: Truths) -> float:
    """Station (in) of the last edge that stands; before everything where nothing does."""
    return float(slots.right[up].max()) if up.any() else -np.inf
