"""What has been built and measured so far, read from a small TOML file beside the job.

run = "south side"
checked_by = "A. Mason"
checked_on = "2 May"
tops = "plan"                 # plan | posts: whether the tops to come follow the plan or the posts as set
tolerance = "1/2 in"          # how far a post may stand from its plan before it is listed
widths = ["5-1/2 in", "5-9/16 in"]   # boards to come, as measured
[[board]]                     # any of those that are up; the largest number counts as the last one
number = 43
right_edge = "19 ft 3-1/2 in" # station of its far edge
height = "72-1/4 in"          # optional: its top over the lowest ground under it
gap = "2-1/8 in"              # optional: what is open under it
[[left]]                      # boards that are left, by length
length = "6 ft"
count = 14
[[post]]                      # posts as set
number = 3
station = "16 ft 1/2 in"      # of its centre
top = "66 in"                 # optional: its top over the ground beside it
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from difflib import get_close_matches
from enum import StrEnum
from pathlib import Path
from typing import Any, TypeVar

from pydantic import TypeAdapter, ValidationError

from fencegrade.job.csv_text import printable, read_text
from fencegrade.job.fields import FROM_FILE, Count, Extent, Length, Size, Text, shown_value
from fencegrade.job.toml_text import toml_tree
from fencegrade.problems import JobMistakesError, Problem, mistake, raise_mistakes
from fencegrade.units import UnitError

_LENGTH, _EXTENT, _SIZE = TypeAdapter(Length), TypeAdapter(Extent), TypeAdapter(Size)
_COUNT, _TEXT = TypeAdapter(Count), TypeAdapter(Text)

MOST_ROWS = 100_000


def nearest_of(name: str, known: Iterable[str]) -> str:
    """A remedy that names the nearest known name, or lists those there are."""
    names = list(known)
    close = get_close_matches(name[:60], names, n=1, cutoff=0.5)
    listed = ", ".join(names[:10]) + (", ..." if len(names) > 10 else "")
    return f'did you mean "{close[0]}"?' if close else f"known here: {listed}"


class Tops(StrEnum):
    """What the tops of the boards to come follow."""

    PLAN = "plan"
    POSTS = "posts"


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardUp:
    """A board that is up: its number, and in inches its far edge, height over and gap to the ground."""

    number: int
    right_edge: float | None
    height: float | None
    gap: float | None
    place: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardsLeft:
    """Boards of one length (in) that are left."""

    length: float
    count: int
    place: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PostSet:
    """A post as set: its number, the station of its centre and its top over the ground (in)."""

    number: int
    station: float
    top: float | None
    place: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AsBuilt:
    """What has been built and measured; boards and posts ascend by number.

    `left` is None where the file does not say, `tolerance` None for the usual one.
    """

    place: str
    run: str | None
    checked_by: str
    checked_on: str
    tops: Tops
    tolerance: float | None
    widths: tuple[float, ...]
    spacing: float | None
    boards: tuple[BoardUp, ...]
    left: tuple[BoardsLeft, ...] | None
    posts: tuple[PostSet, ...]


def read_as_built(path: Path) -> AsBuilt:
    """Read what has been built.

    Errors: JobMistakesError with every mistake of the file, each with its place.
    """
    place = printable(path.name or str(path))
    text = read_text(path, place)
    if isinstance(text, Problem):
        remedy = text.remedy.replace("the survey CSV inside it", "the file inside it")
        raise JobMistakesError([mistake(text.place, text.found, remedy.replace("a survey CSV", "a file"))])
    return _Reader(place).whole(toml_tree(text, place))


Value = TypeVar("Value")
_KEYS = ("run", "checked_by", "checked_on", "tops", "tolerance", "widths", "spacing", "board", "left", "post")


class _Reader:
    """Turns the raw tree into records and collects what is wrong."""

    def __init__(self, place: str) -> None:
        self.place = place
        self.problems: list[Problem] = []

    def whole(self, tree: dict[str, Any]) -> AsBuilt:
        self._known(tree, _KEYS, "")
        found = AsBuilt(
            place=self.place,
            run=self._value(_TEXT, tree, "run", "", None),
            checked_by=self._value(_TEXT, tree, "checked_by", "", ""),
            checked_on=self._value(_TEXT, tree, "checked_on", "", ""),
            tops=self._tops(tree.get("tops", Tops.PLAN)),
            tolerance=self._value(_SIZE, tree, "tolerance", "", None),
            widths=tuple(self._widths(tree.get("widths", []))),
            spacing=self._value(_EXTENT, tree, "spacing", "", None),
            boards=self._numbered(self._rows(tree, "board", self._board)),
            left=tuple(self._rows(tree, "left", self._left)) if "left" in tree else None,
            posts=self._numbered(self._rows(tree, "post", self._post)),
        )
        raise_mistakes(self.problems)
        return found

    def _tops(self, value: Any) -> Tops:
        if value in list(Tops):
            return Tops(value)
        self._wrong("tops", f"{shown_value(value)} is not one of the choices", 'write "plan" or "posts"')
        return Tops.PLAN

    def _widths(self, listed: Any) -> list[float]:
        if not isinstance(listed, list):
            found = f"{shown_value(listed)} is not a list"
            self._wrong("widths", found, 'write a list, such as ["5-1/2 in"]')
            return []
        tree = {str(k): v for k, v in enumerate(listed)}
        values = [self._value(_SIZE, tree, key, "widths", None) for key in tree]
        return [v for v in values if v is not None]

    def _board(self, row: dict[str, Any], where: str) -> BoardUp:
        self._known(row, ("number", "right_edge", "height", "gap"), where)
        return BoardUp(
            number=self._number(row, where),
            right_edge=self._value(_LENGTH, row, "right_edge", where, None),
            height=self._value(_SIZE, row, "height", where, None),
            gap=self._value(_LENGTH, row, "gap", where, None),
            place=f"{self.place} {where}",
        )

    def _left(self, row: dict[str, Any], where: str) -> BoardsLeft:
        self._known(row, ("length", "count"), where)
        return BoardsLeft(
            length=self._needed(_SIZE, row, "length", where, 'such as "6 ft"', 1.0),
            count=self._needed(_COUNT, row, "count", where, "how many are left", 0),
            place=f"{self.place} {where}",
        )

    def _post(self, row: dict[str, Any], where: str) -> PostSet:
        self._known(row, ("number", "station", "top"), where)
        return PostSet(
            number=self._number(row, where),
            station=self._needed(_LENGTH, row, "station", where, "of its centre", 0.0),
            top=self._value(_SIZE, row, "top", where, None),
            place=f"{self.place} {where}",
        )

    def _number(self, row: dict[str, Any], where: str) -> int:
        number = self._needed(_COUNT, row, "number", where, "as it stands on the chart", 1)
        if number == 0:
            self._wrong(f"{where}.number", "numbers count from 1", "write the number on the chart")
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
        self, tree: dict[str, Any], key: str, read: Callable[[dict[str, Any], str], Value]
    ) -> list[Value]:
        rows = tree.get(key, [])
        if not isinstance(rows, list) or not all(isinstance(r, dict) for r in rows):
            self._wrong(key, f"{shown_value(rows)} stands where tables belong", f"write each as [[{key}]]")
            return []
        if len(rows) > MOST_ROWS:
            self._wrong(key, f"{len(rows):,} entries are too many", f"keep to {MOST_ROWS:,}")
            return []
        return [read(row, f"{key}[{k}]") for k, row in enumerate(rows)]

    def _known(self, row: dict[str, Any], known: tuple[str, ...], where: str) -> None:
        for key in row.keys() - set(known):
            at = f"{where}.{key}" if where else key
            self._wrong(printable(at)[:80], "is not a key that is known here", nearest_of(key, known))

    def _needed(
        self, kind: TypeAdapter[Value], row: dict[str, Any], key: str, where: str, what: str, stand_in: Value
    ) -> Value:
        if key not in row:
            self._wrong(f"{where}.{key}", "is missing", f"add {key}, {what}")
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
            at = f"widths[{key}]" if where == "widths" else f"{where}.{key}" if where else key
            self._wrong(at, *_words(error))
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
