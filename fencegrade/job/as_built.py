"""What stands so far: the one reader and the one writer of `built.toml`, beside the job file.

[[run]]
name = "north side"
[[run.picket]]                     # those that are up and were measured; the largest number is the last
number = 43
far_edge = "19 ft 3-1/2 in"        # station of its far edge
width = "5-9/16 in"                # optional from here on: its width
kept = "71-1/4 in"                 #   the length it was cut to
gap = "7/32 in"                    #   the space that the boards before it were set to
lean = ["3/8 in", "4 ft"]          #   its top out of plumb toward the start (minus: the end), over a height
[[run.post]]                       # posts as set
number = 3
station = "16 ft 1/2 in"           # of its centre
top = "66 in"                      # optional: its top over the ground beside it
[[run.measured]]                   # boards to come whose ground was measured in place
number = 57
drop = ["31-1/4 in", "31-3/4 in"]  # from the line of the tops down at its two edges, or one: the higher
[[run.later]]                      # pickets that were left out on the way and come later
first = 12
last = 18
[[left]]                           # boards left, by length
length = "8 ft"
count = 14

Keeping an edge writes three more keys of a run: `style` and `[[run.top]]` (station, elevation), the line of
the tops as it hangs, so that a reading taken later moves no top, and `limit`, where one was asked for.
"""

import json
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from difflib import get_close_matches
from pathlib import Path
from typing import Any, TypeVar

from pydantic import TypeAdapter, ValidationError

from fencegrade.fence.tops.table import TopStyle
from fencegrade.job.csv_text import printable, read_text
from fencegrade.job.exact import exact_length
from fencegrade.job.fields import FROM_FILE, Count, Extent, Length, Size, Text, shown_value
from fencegrade.job.toml_text import toml_tree
from fencegrade.problems import JobMistakesError, Problem, mistake, raise_mistakes
from fencegrade.units import UnitError, UnitSystem

FILE = "built.toml"
"""Its name, beside the job file."""

MOST_ROWS = 100_000

_LENGTH, _EXTENT, _SIZE = TypeAdapter(Length), TypeAdapter(Extent), TypeAdapter(Size)
_COUNT, _TEXT = TypeAdapter(Count), TypeAdapter(Text)


def nearest_of(name: str, known: Iterable[str]) -> str:
    """A remedy that names the nearest known name, or lists those there are."""
    names = list(known)
    close = get_close_matches(name[:60], names, n=1, cutoff=0.5)
    listed = ", ".join(names[:10]) + (", ..." if len(names) > 10 else "")
    return f'did you mean "{close[0]}"?' if close else f"known here: {listed}"


@dataclass(frozen=True, slots=True, kw_only=True)
class PicketUp:
    """A picket that is up and was measured: its number, and in inches what was measured of it.

    `far_edge`: station; `width`; `kept`: the length it was cut to; `gap` that those before it were set to;
    `lean`: how far its top is out of plumb toward the start, and over what height.
    """

    number: int
    far_edge: float
    width: float | None = None
    kept: float | None = None
    gap: float | None = None
    lean: tuple[float, float] | None = None
    place: str = FILE


@dataclass(frozen=True, slots=True, kw_only=True)
class PostSet:
    """A post as set: its number, the station of its centre and its top over the ground beside it (in)."""

    number: int
    station: float
    top: float | None = None
    place: str = FILE


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredGround:
    """A board to come whose ground was measured: drops (in) from the line of the tops at its two edges, or
    one at the higher of them."""

    number: int
    drop: tuple[float, ...]
    place: str = FILE


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """Pickets `first` to `last` that were left out on the way and come later."""

    first: int
    last: int
    place: str = FILE


@dataclass(frozen=True, slots=True, kw_only=True)
class TopPoint:
    """A point of the line of the tops as it hangs: station, and elevation over the survey's datum (in)."""

    station: float
    elevation: float
    place: str = FILE


@dataclass(frozen=True, slots=True, kw_only=True)
class BuiltRun:
    """What stands of one run; rows ascend by number, `top` as it was written, empty where it was not."""

    name: str
    pickets: tuple[PicketUp, ...] = ()
    posts: tuple[PostSet, ...] = ()
    measured: tuple[MeasuredGround, ...] = ()
    later: tuple[LeftOut, ...] = ()
    style: TopStyle | None = None
    top: tuple[TopPoint, ...] = ()
    limit: float | None = None
    place: str = FILE


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardsLeft:
    """Boards of one length (in) that are left."""

    length: float
    count: int
    place: str = FILE


@dataclass(frozen=True, slots=True, kw_only=True)
class AsBuilt:
    """All that stands of a job; `left` is None where the file does not say."""

    runs: tuple[BuiltRun, ...] = ()
    left: tuple[BoardsLeft, ...] | None = None
    place: str = FILE

    def run(self, name: str) -> BuiltRun:
        """What stands of a run; nothing where the file does not name it."""
        return next((r for r in self.runs if r.name == name), BuiltRun(name=name, place=self.place))

    @property
    def begun(self) -> bool:
        """Whether anything of the fence stands."""
        return any(run.pickets or run.posts for run in self.runs)

    def with_run(self, run: BuiltRun) -> "AsBuilt":
        """The same with one run in place of the one of its name, or added."""
        rows = [run if r.name == run.name else r for r in self.runs]
        return replace(self, runs=tuple(rows if run in rows else [*rows, run]))


NOTHING_BUILT = AsBuilt()
"""Before the first post."""


def read_as_built(path: Path) -> AsBuilt:
    """Read what stands. Errors: JobMistakesError with every mistake of the file, each with its place."""
    place = printable(path.name or str(path))
    text = read_text(path, place)
    if isinstance(text, Problem):
        remedy = text.remedy.replace("the survey CSV inside it", "the file inside it")
        raise JobMistakesError([mistake(text.place, text.found, remedy.replace("a survey CSV", "a file"))])
    return parse_as_built(text, place)


def parse_as_built(text: str, place: str = FILE) -> AsBuilt:
    """What stands, from the text of a `built.toml`; `place` names it. Errors: as `read_as_built`."""
    return _Reader(place).whole(toml_tree(text, place))


Value = TypeVar("Value")
_OLD = {"checked_by", "checked_on", "tops", "tolerance", "widths", "spacing", "board", "post"}


class _Reader:
    """Turns the raw tree into records and collects what is wrong."""

    def __init__(self, place: str) -> None:
        self.place = place
        self.problems: list[Problem] = []

    def whole(self, tree: dict[str, Any]) -> AsBuilt:
        if _OLD & tree.keys() or isinstance(tree.get("run"), str):
            found = "is written in an older form"
            remedy = "write [[run]] with its name, and in it [[run.picket]] and [[run.post]]"
            raise JobMistakesError([mistake(self.place, found, remedy)])
        self._known(tree, ("run", "left"), "")
        runs = self._rows(tree, "run", self._run, "")
        for k, run in enumerate(runs):
            if run.name in {r.name for r in runs[:k]}:
                self._wrong(f"run {k + 1}", f'"{run.name}" comes twice', "put what stands of it together")
        left = tuple(self._rows(tree, "left", self._left, "")) if "left" in tree else None
        raise_mistakes(self.problems)
        return AsBuilt(runs=tuple(runs), left=left, place=self.place)

    def _run(self, row: dict[str, Any], where: str) -> BuiltRun:
        self._known(row, ("name", "style", "limit", "picket", "post", "measured", "later", "top"), where)
        return BuiltRun(
            name=self._needed(_TEXT, row, "name", where, "as in job.toml", ""),
            pickets=self._numbered(self._rows(row, "picket", self._picket, where)),
            posts=self._numbered(self._rows(row, "post", self._post, where)),
            measured=self._numbered(self._rows(row, "measured", self._measured, where)),
            later=tuple(self._rows(row, "later", self._later, where)),
            style=self._style(row, where),
            top=tuple(self._rows(row, "top", self._top, where)),
            limit=self._value(_SIZE, row, "limit", where, None),
            place=f"{self.place} {where}",
        )

    def _picket(self, row: dict[str, Any], where: str) -> PicketUp:
        self._known(row, ("number", "far_edge", "width", "kept", "gap", "lean"), where)
        lean = self._listed(_LENGTH, row, "lean", where, 2) if "lean" in row else ()
        return PicketUp(
            number=self._number(row, "number", where),
            far_edge=self._needed(_LENGTH, row, "far_edge", where, "the station of its far edge", 0.0),
            width=self._value(_SIZE, row, "width", where, None),
            kept=self._value(_SIZE, row, "kept", where, None),
            gap=self._value(_EXTENT, row, "gap", where, None),
            lean=(lean[0], lean[1]) if len(lean) == 2 else None,
            place=f"{self.place} {where}",
        )

    def _post(self, row: dict[str, Any], where: str) -> PostSet:
        self._known(row, ("number", "station", "top"), where)
        return PostSet(
            number=self._number(row, "number", where),
            station=self._needed(_LENGTH, row, "station", where, "of its centre", 0.0),
            top=self._value(_SIZE, row, "top", where, None),
            place=f"{self.place} {where}",
        )

    def _measured(self, row: dict[str, Any], where: str) -> MeasuredGround:
        self._known(row, ("number", "drop"), where)
        value = row.get("drop")
        if isinstance(value, list):
            drop = self._listed(_SIZE, row, "drop", where, 2)
        else:
            drop = (self._needed(_SIZE, row, "drop", where, "from the line of the tops to the ground", 1.0),)
        number = self._number(row, "number", where)
        return MeasuredGround(number=number, drop=drop, place=f"{self.place} {where}")

    def _later(self, row: dict[str, Any], where: str) -> LeftOut:
        self._known(row, ("first", "last"), where)
        first, last = self._number(row, "first", where), self._number(row, "last", where)
        if last < first:
            self._wrong(f"{where}, last", f"{last} comes before {first}", "write the lower number first")
        return LeftOut(first=first, last=last, place=f"{self.place} {where}")

    def _top(self, row: dict[str, Any], where: str) -> TopPoint:
        self._known(row, ("station", "elevation"), where)
        return TopPoint(
            station=self._needed(_LENGTH, row, "station", where, "of a point of the line", 0.0),
            elevation=self._needed(_LENGTH, row, "elevation", where, "of the line there", 0.0),
            place=f"{self.place} {where}",
        )

    def _left(self, row: dict[str, Any], where: str) -> BoardsLeft:
        self._known(row, ("length", "count"), where)
        return BoardsLeft(
            length=self._needed(_SIZE, row, "length", where, 'such as "6 ft"', 1.0),
            count=self._needed(_COUNT, row, "count", where, "how many are left", 0),
            place=f"{self.place} {where}",
        )

    def _style(self, row: dict[str, Any], where: str) -> TopStyle | None:
        value = row.get("style")
        if value is None or value in list(TopStyle):
            return None if value is None else TopStyle(value)
        found = f"{shown_value(value)} is not one of the tops"
        self._wrong(f"{where}, style", found, f"write one of {', '.join(TopStyle)}")
        return None

    def _number(self, row: dict[str, Any], key: str, where: str) -> int:
        number = self._needed(_COUNT, row, key, where, "as it stands on the chart", 1)
        if number == 0:
            self._wrong(f"{where}, {key}", "numbers count from 1", "write the number on the chart")
        return number

    def _numbered(self, rows: list[Any]) -> tuple[Any, ...]:
        """The rows by number; a number that comes twice is a mistake."""
        seen: set[int] = set()
        for row in rows:
            if row.number in seen:
                self.problems.append(
                    mistake(row.place, f"number {row.number} comes twice", "keep one of the two")
                )
            seen.add(row.number)
        return tuple(sorted(rows, key=lambda r: r.number))

    def _rows(
        self, tree: dict[str, Any], key: str, read: Callable[[dict[str, Any], str], Value], where: str
    ) -> list[Value]:
        rows, within = tree.get(key, []), f"{where}, {key}" if where else key
        table = f"[[run.{key}]]" if where else f"[[{key}]]"
        if not isinstance(rows, list) or not all(isinstance(r, dict) for r in rows):
            self._wrong(within, f"{shown_value(rows)} stands where tables belong", f"write each as {table}")
            return []
        if len(rows) > MOST_ROWS:
            self._wrong(within, f"{len(rows):,} entries are too many", f"keep to {MOST_ROWS:,}")
            return []
        return [read(row, f"{within} {k}") for k, row in enumerate(rows, start=1)]

    def _known(self, row: dict[str, Any], known: tuple[str, ...], where: str) -> None:
        for key in sorted(row.keys() - set(known)):
            at = f"{where}, {key}" if where else key
            self._wrong(printable(at)[:80], "is not a key that is known here", nearest_of(key, known))

    def _listed(
        self, kind: TypeAdapter[float], row: dict[str, Any], key: str, where: str, most: int
    ) -> tuple[float, ...]:
        """A list of as many lengths."""
        values = row[key]
        if not isinstance(values, list) or len(values) != most:
            found = f"{shown_value(values)} is not a list of {most} lengths"
            self._wrong(f"{where}, {key}", found, 'write it so: ["31-1/4 in", "31-3/4 in"]')
            return ()
        return tuple(self._value(kind, {key: v}, key, where, 1.0) for v in values)

    def _needed(
        self, kind: TypeAdapter[Value], row: dict[str, Any], key: str, where: str, what: str, stand_in: Value
    ) -> Value:
        if key not in row:
            self._wrong(f"{where}, {key}", "is missing", f"add {key}, {what}")
            return stand_in
        found: Value = self._value(kind, row, key, where, stand_in)
        return found

    def _value(
        self, kind: TypeAdapter[Value], row: dict[str, Any], key: str, where: str, stand_in: Any
    ) -> Any:
        if key not in row:
            return stand_in
        try:
            return kind.validate_python(row[key], context=FROM_FILE)
        except ValidationError as error:
            self._wrong(f"{where}, {key}", *_words(error))
            return stand_in

    def _wrong(self, where: str, found: str, remedy: str) -> None:
        self.problems.append(mistake(f"{self.place} {where}", found, remedy))


def _words(error: ValidationError) -> tuple[str, str]:
    """What was found and what to do, from an error of one of the field readers."""
    (detail, *_) = error.errors(include_url=False)
    cause = detail.get("ctx", {}).get("error")
    if isinstance(cause, UnitError):
        remedy = cause.remedy.removesuffix(".")
        return cause.found.removesuffix("."), remedy[:1].lower() + remedy[1:]
    found, _, remedy = str(cause or detail["msg"]).rpartition("; ")
    return printable(found), remedy


_HEAD = "# What stands so far. Every command reads it beside job.toml.\n"


def built_text(built: AsBuilt, system: UnitSystem) -> str:
    """What stands as the text of a `built.toml`; read again it is the same, every length exact."""
    lines: list[str] = []
    for run in built.runs:
        lines += ["[[run]]", *_run_lines(run, system), ""]
    for one in built.left or ():
        length = _text(one.length, system)
        lines += ["[[left]]", f"length = {length}", f"count = {one.count}", ""]
    empty = ["left = []"] if built.left == () else []
    return _HEAD + "\n" + "\n".join([*empty, *lines]).strip() + "\n"


def _run_lines(run: BuiltRun, system: UnitSystem) -> Iterator[str]:
    yield f"name = {json.dumps(run.name, ensure_ascii=False)}"
    if run.style is not None:
        yield f'style = "{run.style}"'
    if run.limit is not None:
        yield f"limit = {_text(run.limit, system)}"
    for point in run.top:
        yield "[[run.top]]"
        yield f"station = {_text(point.station, system)}"
        yield f"elevation = {_text(point.elevation, system)}"
    for post in run.posts:
        yield from _row("post", post, ("station", "top"), system)
    for out in run.later:
        yield from ("[[run.later]]", f"first = {out.first}", f"last = {out.last}")
    for measured in run.measured:
        yield from _row("measured", measured, ("drop",), system)
    for picket in run.pickets:
        yield from _row("picket", picket, ("far_edge", "width", "kept", "gap", "lean"), system)


def _row(table: str, row: Any, keys: Iterable[str], system: UnitSystem) -> Iterator[str]:
    """One numbered row with its lengths; what was not measured is left out."""
    yield f"[[run.{table}]]"
    yield f"number = {row.number}"
    for key in keys:
        value = getattr(row, key)
        if isinstance(value, tuple) and len(value) == 1:
            value = value[0]
        if isinstance(value, tuple):
            yield f"{key} = [{', '.join(_text(v, system) for v in value)}]"
        elif value is not None:
            yield f"{key} = {_text(value, system)}"


def _text(inches: float, system: UnitSystem) -> str:
    return json.dumps(exact_length(inches, system))
