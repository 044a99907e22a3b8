"""What is asked when a fence is resumed: options and the as-built file, held against the plan."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from fencegrade.building.resume_stretch import edge_as_set, stretch_at
from fencegrade.fence.wood.widths import USUAL_LIMIT
from fencegrade.job.as_built import AsBuilt, BoardUp, PostSet, nearest_of
from fencegrade.job.fields import printable
from fencegrade.job.records import StationsTaped
from fencegrade.planning.plan import FencePlan
from fencegrade.planning.run import RunPlan
from fencegrade.problems import JobMistakesError, Problem, mistake, raise_mistakes
from fencegrade.units import UnitError, parse_length
from fencegrade.units.words import Words

NARROWEST = 0.8
"""Share of its planned width that any board has at least; a station short of that many boards is a slip."""

MOST_BOARDS = 10_000_000
_HAIR = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Ask:
    """A resumption that has been held against the plan; lengths and level stations in inches.

    `run`: index of the run; `after`: pickets up; `at`: far edge of the last one, or where the first is to
    begin; `limit`: most one gap may differ from the one before; `left`: boards left of each stock length
    offered, None for those the plan has; `width` of the boards to come, None for what those up come to;
    `gap`: that the last ones were set to, None for the plan's; `boards`, `posts`: as measured; `built`: the
    as-built file; `assumed`: options that were not given.
    """

    run: int
    after: int
    at: float
    limit: float
    left: tuple[int, ...] | None = None
    width: float | None = None
    gap: float | None = None
    boards: tuple[BoardUp, ...] = ()
    posts: tuple[PostSet, ...] = ()
    built: AsBuilt | None = None
    assumed: tuple[tuple[str, str], ...] = ()


def read_ask(
    plan: FencePlan,
    *,
    run: str | None = None,
    after: int | None = None,
    at: str | None = None,
    limit: str | None = None,
    gap: str | None = None,
    left: Sequence[str] = (),
    built: AsBuilt | None = None,
) -> Ask:
    """What is asked, from options as text and the as-built file.

    `plan`: the fence as planned; `run`: its name, may be None where there is one; `after`, `at`: may be None
    where `built` has the last edge, `at` also before the first board; `gap`: that the last boards were set
    to, the plan's if None; `left`: such as `6 ft:14`. Errors:
    JobMistakesError with every mistake found, each with its place.
    """
    reader = _Reader(plan, built)
    index = reader.run_index(run)
    if index is None:
        raise JobMistakesError(reader.problems)
    reader.take_run(index)
    up, where = reader.count_up(after)
    sized = reader.limit(limit)
    spacing = reader.gap(gap)
    boards_left = reader.boards_left(left)
    reader.check_boards()
    reader.check_posts()
    station, place = reader.station(at, up)
    if up is not None and station is not None and not reader.problems:
        reader.check_station(up, station, where, place)
    raise_mistakes(reader.problems)
    assert up is not None
    assert station is not None
    widths = built.widths if built is not None else ()
    return Ask(
        run=index,
        after=up,
        at=station,
        limit=sized,
        left=boards_left,
        width=float(np.mean(widths)) if widths else None,
        gap=spacing,
        boards=reader.boards,
        posts=reader.posts,
        built=built,
        assumed=tuple(reader.assumed),
    )


class _Reader:
    """Collects what is wrong while it reads."""

    def __init__(self, plan: FencePlan, built: AsBuilt | None) -> None:
        self.plan, self.built = plan, built
        self.say = Words(system=plan.job.job.units, mark=plan.mark)
        self.problems: list[Problem] = []
        self.assumed: list[tuple[str, str]] = []
        self.boards: tuple[BoardUp, ...] = ()
        self.posts: tuple[PostSet, ...] = ()
        self.run: RunPlan = plan.runs[0]
        self.index = 0

    def run_index(self, given: str | None) -> int | None:
        names = [r.run.name for r in self.plan.runs]
        built = self.built.run if self.built else None
        place = "--run" if given is not None or self.built is None else f"{self.built.place} run"
        named = given if given is not None else built
        if given is not None and built is not None and given != built:
            found = f'"{printable(given, 60)}" is asked for, but the file is of "{built}"'
            self._wrong("--run", found, "give the file of that run")
        elif named is None and len(names) > 1:
            self._wrong("--run", f"the job has {len(names)} runs", f"name one: {', '.join(names[:10])}")
        elif named is not None and named not in names:
            self._wrong(place, f'no run is called "{printable(named, 60)}"', nearest_of(named, names))
        else:
            return names.index(named) if named is not None else 0
        return None

    def take_run(self, index: int) -> None:
        """Settle the run; stations taped along the slope become level ones."""
        self.index, self.run = index, self.plan.runs[index]
        if self.built is not None:
            self.boards = tuple(
                b if b.right_edge is None else replace(b, right_edge=self._level(b.right_edge))
                for b in self.built.boards
            )
            self.posts = tuple(replace(p, station=self._level(p.station)) for p in self.built.posts)

    def _level(self, station: float) -> float:
        sloped = self.plan.job.runs[self.index].stations_taped is StationsTaped.ALONG_SLOPE
        return self.run.ground.station(station) if sloped else station

    def count_up(self, given: int | None) -> tuple[int | None, str]:
        """How many pickets are up, and where that is said."""
        measured = [b for b in self.boards if b.right_edge is not None]
        if given is None and not measured:
            self._wrong("--after", "it is not said how many pickets are up", "add --after N, or --built FILE")
            return None, "--after"
        last = self.boards[-1] if self.boards else None
        if given is not None and last is not None and last.number > given:
            found = f"picket {last.number} is up, but --after says {given}"
            self._wrong(f"{last.place}.number", found, "correct the one or the other")
            return None, "--after"
        up, where = (given, "--after") if given is not None else (measured[-1].number, measured[-1].place)
        count = len(self.run.slots)
        if not 0 <= up <= count:
            found = f"{up} pickets are said to be up, but the plan has {count} in {self.run.run.name}"
            self._wrong(where, found, f"write 0 to {count}")
            return None, where
        if not count:
            self._wrong(where, f"no picket stands in {self.run.run.name}", "resume another run")
            return None, where
        if up and self.run.layout.row[up - 1] != 0:
            beside = [str(k) for k in (up - 1, up + 1) if 1 <= k <= count]
            found = f"picket {up} is of the second row, which follows the first"
            self._wrong(where, found, f"give the last of the first row that is up, {' or '.join(beside)}")
            return None, where
        return up, where

    def limit(self, text: str | None) -> float:
        usual = USUAL_LIMIT[self.plan.job.job.units]
        if text is None:
            self.assumed.append(("--limit", usual))
        value = self._length("--limit", usual if text is None else text)
        if value is not None and value <= 0:
            self._wrong("--limit", f"{self.say(value)} is not more than zero", f'write such as "{usual}"')
        return value or parse_length(usual)

    def gap(self, text: str | None) -> float | None:
        if text is None:
            return self.built.spacing if self.built else None
        value = self._length("--gap", text)
        if value is not None and not 0 <= value <= self.plan.job.pickets.width:
            self._wrong("--gap", f"{self.say(value)} is no gap between boards", 'write such as "1/4 in"')
        return value

    def boards_left(self, texts: Sequence[str]) -> tuple[int, ...] | None:
        built = self.built.left if self.built else None
        if texts and built is not None:
            self._wrong("--left", "the as-built file counts the boards left as well", "keep one of the two")
            return None
        entries = [e for text in texts if (e := self._left(text)) is not None]
        if built is not None:
            entries = [(b.length, b.count, f"{b.place}.length") for b in built]
        if not texts and built is None:
            self.assumed.append(("--left", "the boards the plan has for the pickets to come"))
            return None
        counts = [0] * len(self.plan.stock.offered)
        seen: set[int] = set()
        for length, count, place in entries:
            kind = self._offered(length, place)
            if kind in seen:
                self._wrong(place, f"{self.say(length)} comes twice", "add the two up")
            elif kind is not None:
                seen.add(kind)
                counts[kind] = count
        return tuple(counts)

    def _left(self, text: str) -> tuple[float, int, str] | None:
        size, colon, number = text.rpartition(":")
        if not colon or not number.strip().isdecimal() or int(number) > MOST_BOARDS:
            found = f'"{printable(text, 60)}" is no length with a count'
            self._wrong("--left", found, 'write such as "72 in:14" for 14 boards of 72 in')
            return None
        length = self._length("--left", size)
        return None if length is None else (length, int(number), "--left")

    def _offered(self, length: float, place: str) -> int | None:
        offered = self.plan.stock.offered
        for k, stock in enumerate(offered):
            if abs(stock.length - length) <= self.plan.mark / 2:
                return k
        listed = ", ".join(self.say(s.length) for s in offered)
        found = f"the job offers no picket stock of {self.say(length)}, only {listed}"
        self._wrong(place, found, "check the length, or add it to [[pickets.stock]]")
        return None

    def check_boards(self) -> None:
        count = len(self.run.slots)
        edge, number = self.run.start, 0
        for board in self.boards:
            if board.number > count:
                found = f"the plan has no picket {board.number} in {self.run.run.name}, only {count}"
                self._wrong(f"{board.place}.number", found, "check the number")
            if board.right_edge is None:
                continue
            if board.right_edge <= edge:
                before = f"the edge of picket {number}" if number else "the start of the run"
                here, there = self.say.station(board.right_edge), self.say.station(edge)
                found = f"{here} is not past {before} at {there}"
                self._wrong(f"{board.place}.right_edge", found, "check number and station")
            edge, number = max(edge, board.right_edge), board.number

    def check_posts(self) -> None:
        planned, profile = self.run.posts.station, self.run.ground.profile
        low, high, beyond = profile.start, profile.end, self.plan.job.posts.width
        for post in self.posts:
            if post.number > len(planned):
                found = f"the plan has no post {post.number} in {self.run.run.name}, only {len(planned)}"
                self._wrong(f"{post.place}.number", found, "check the number")
                continue
            off = abs(post.station - float(planned[post.number - 1]))
            if off > self.plan.job.posts.spacing / 2:
                found = f"post {post.number} is {self.say(off)} from its plan"
                self._wrong(f"{post.place}.station", found, "check number and station")
            elif not low - beyond <= post.station <= high + beyond:
                here = self.say.station(post.station)
                found = f"{here} lies outside the readings, {self.say.stretch(low, high)}"
                self._wrong(f"{post.place}.station", found, "take a reading there and add it to the survey")

    def station(self, text: str | None, up: int | None) -> tuple[float | None, str]:
        if text is not None:
            value = self._length("--at", text)
            return (None if value is None else self._level(value)), "--at"
        edge = next((b for b in self.boards if b.number == up and b.right_edge is not None), None)
        if edge is not None:
            return edge.right_edge, f"{edge.place}.right_edge"
        if up == 0:
            self.assumed.append(("--at", "the start of the run"))
            return self.run.start, "--at"
        if up is not None:
            found = f"the far edge of picket {up} was not measured"
            self._wrong("--at", found, "add --at STATION, its far edge from the start of the run")
        return None, "--at"

    def check_station(self, up: int, at: float, where: str, place: str) -> None:
        stretch = stretch_at(self.plan, self.index, up)
        end, say = edge_as_set(self.plan, self.index, stretch.end, self.posts), self.say
        if at > end + self.plan.mark / 2:
            past = "the run ends" if abs(stretch.end - self.run.end) <= _HAIR else "its stretch ends"
            found = f"{say.station(at)} lies beyond {say.station(end)}, where {past}"
            self._wrong(place, found, "check the station, that of the last board's far edge")
            return
        first_row = self.run.layout.row[stretch.first : up] == 0
        least = NARROWEST * float(self.run.slots.width[stretch.first : up][first_row].sum())
        if at < stretch.start + least - _HAIR:
            count = int(first_row.sum())
            found = (
                f"{say.station(at)} lies before picket {up} can end: {count} boards from "
                f"{say.station(stretch.start)} on reach at least {say.station(stretch.start + least)}"
            )
            if not up:
                found = f"{say.station(at)} lies before the stretch begins at {say.station(stretch.start)}"
            self._wrong(place, found, "check the station, that of its far edge, and the count")

    def _length(self, place: str, text: str) -> float | None:
        try:
            return parse_length(text)
        except UnitError as error:
            remedy = error.remedy.removesuffix(".")
            self._wrong(place, error.found.removesuffix("."), remedy[:1].lower() + remedy[1:])
            return None

    def _wrong(self, place: str, found: str, remedy: str) -> None:
        self.problems.append(mistake(place, found, remedy))
