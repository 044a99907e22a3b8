"""What stands so far: the one reader and the one writer of `built.toml`, beside the job file.

Its stations are those of the sheets, taped level, whatever way those of the job file were.

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

Keeping an edge writes more of a run: `style` and `[[run.top]]` (station, elevation), the line of the tops as
it hangs, so that a reading taken later moves no top; `[[run.cut]]`, the lengths of the saw list with their
pickets, so that what stands keeps them, and what is to come its own where it still serves; `board_width`,
where the row was laid for boards as wide as those of other runs had come; and `limit`, where one was asked
for.
"""

from collections.abc import Iterator
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

from pydantic.dataclasses import dataclass

from fencegrade.fence.tops.table import TopStyle
from fencegrade.job.explain import Location, in_words
from fencegrade.job.fields import (
    CLOSED,
    MOST_TALL,
    Count,
    Drop,
    Extent,
    Length,
    Number,
    Size,
    Text,
    explained,
)
from fencegrade.job.rows import MOST_ROWS, records_of
from fencegrade.job.schema import Place
from fencegrade.job.text_file import PLAIN_FILE, printable, sound_text
from fencegrade.job.toml_text import toml_tree
from fencegrade.job.write import file_lines
from fencegrade.problems import Problem, mistake, refuse
from fencegrade.units import MM_PER_INCH, UnitSystem
from fencegrade.units.words import numbers_of

FILE = "built.toml"
"""Its name, beside the job file."""


@dataclass(frozen=True, slots=True, kw_only=True, config=CLOSED)
class PicketUp:
    """`[[run.picket]]`: a board that is up and was measured; the largest number is the last one."""

    number: Number = explained("as it stands on the chart")
    far_edge: Length = explained("station of its far edge, taped level")
    width: Size | None = explained("boards came narrower or wider: the width of one", default=None)
    kept: Size | None = explained(
        "cut short, or another in place of a split one: the length it has", default=None
    )
    gap: Extent | None = explained(
        "the space those before it were set to, where it is not the plan's", default=None
    )
    lean: tuple[Length, Length] | None = explained(
        "its top out of plumb toward the start (minus: the end), over a height", default=None
    )
    place: Place = FILE


@dataclass(frozen=True, slots=True, kw_only=True, config=CLOSED)
class PostSet:
    """`[[run.post]]`: a post as set."""

    number: Number = explained("as it stands on the drawing")
    station: Length = explained("of its centre")
    top: Size | None = explained("over the ground beside it", default=None)
    place: Place = FILE


@dataclass(frozen=True, slots=True, kw_only=True, config=CLOSED)
class MeasuredGround:
    """`[[run.measured]]`: a board to come whose ground was measured in place."""

    number: Number = explained("as it stands on the chart")
    drop: Drop = explained("from the line of the tops down at its two edges, or one: the higher")
    confirmed: bool = explained(
        "true if a drop that is doubted was measured again and is right", default=False
    )
    left_edge: Length | None = explained(
        "station of its left edge then: its number may be another where boards are laid again", default=None
    )
    place: Place = FILE


@dataclass(frozen=True, slots=True, kw_only=True, config=CLOSED)
class LeftOut:
    """`[[run.later]]`: a stretch that was left out on the way."""

    first: Number = explained("number of its first picket")
    last: Number = explained("number of its last picket")
    place: Place = FILE


@dataclass(frozen=True, slots=True, kw_only=True, config=CLOSED)
class CutAlike:
    """`[[run.cut]]`: boards that were cut to one length by the saw list."""

    kept: Size = explained("the length they were cut to")
    pickets: Text = explained('their numbers, such as "1-9, 14"')
    place: Place = FILE

    @property
    def numbers(self) -> tuple[int, ...]:
        """The numbers of its pickets; none where the text is no list of them."""
        return numbers_of(self.pickets, MOST_ROWS)


@dataclass(frozen=True, slots=True, kw_only=True, config=CLOSED)
class TopPoint:
    """`[[run.top]]`: a point of the line of the tops as it hangs; written by the program."""

    station: Length = explained("of a point of the line")
    elevation: Length = explained("of the line there, over the survey's datum")
    place: Place = FILE


@dataclass(frozen=True, slots=True, kw_only=True, config=CLOSED)
class BuiltRun:
    """`[[run]]`: what stands of one run.

    Numbered rows ascend, `top` is as it was written.
    """

    name: Text = explained("as in job.toml")
    style: TopStyle | None = explained("top that it stands under; written by the program", default=None)
    limit: Size | None = explained("by which gaps may differ; written by the program", default=None)
    board_width: Size | None = explained(
        "of the boards that its row was laid for; written by the program", default=None
    )
    top: tuple[TopPoint, ...] = explained("the line of the tops", default=())
    post: tuple[PostSet, ...] = explained("posts as set", default=())
    later: tuple[LeftOut, ...] = explained("pickets that come later", default=())
    cut: tuple[CutAlike, ...] = explained("boards as they were cut", default=())
    measured: tuple[MeasuredGround, ...] = explained("ground measured in place", default=())
    picket: tuple[PicketUp, ...] = explained("pickets that are up", default=())
    place: Place = FILE


@dataclass(frozen=True, slots=True, kw_only=True, config=CLOSED)
class BoardsLeft:
    """`[[left]]`: boards of one length left in the pile."""

    length: Size = explained('such as "6 ft"')
    count: Count = explained("how many are left")
    place: Place = FILE


@dataclass(frozen=True, slots=True, kw_only=True, config=CLOSED)
class AsBuilt:
    """All that stands of a job; `left` is None where the file does not say."""

    run: tuple[BuiltRun, ...] = explained("what stands, run by run", default=())
    left: tuple[BoardsLeft, ...] | None = explained("boards left in the pile", default=None)
    place: Place = FILE

    def of(self, name: str) -> BuiltRun:
        """What stands of a run; nothing where the file does not name it."""
        return next((r for r in self.run if r.name == name), BuiltRun(name=name, place=self.place))

    @property
    def begun(self) -> bool:
        """Whether anything of the fence stands."""
        return any(run.picket or run.post for run in self.run)

    def with_run(self, run: BuiltRun) -> "AsBuilt":
        """The same with one run in place of the one of its name, or added."""
        rows = [run if r.name == run.name else r for r in self.run]
        return replace(self, run=tuple(rows if run in rows else [*rows, run]))


NOTHING_BUILT = AsBuilt()
"""Before the first post."""

_OLD = {"checked_by", "checked_on", "tops", "tolerance", "widths", "spacing", "board", "post"}
_NUMBERED = {"post": "post", "measured": "measured picket", "picket": "picket"}


def read_as_built(path: Path) -> AsBuilt:
    """Read what stands. Errors: JobMistakesError with every mistake of the file, each with its place."""
    place = printable(path.name or str(path))
    return parse_as_built(sound_text(path, place, PLAIN_FILE), place)


def parse_as_built(text: str, place: str = FILE) -> AsBuilt:
    """What stands, from the text of a `built.toml`; `place` names it. Errors: as `read_as_built`."""
    return as_built_of(toml_tree(text, place), place)


def as_built_of(tree: dict[str, Any], place: str = FILE) -> AsBuilt:
    """What stands, from the tables of a `built.toml`, into which places are written. Errors: as above."""
    if _OLD & tree.keys() or isinstance(tree.get("run"), str):
        remedy = "write [[run]] with its name, and in it [[run.picket]] and [[run.post]]"
        refuse(place, "is written in an older form", remedy)
    built = records_of(AsBuilt, tree, place, _contradictions, told=partial(_in_words, tree))
    return replace(built, run=tuple(_in_order(run) for run in built.run))


def _in_words(tree: dict[str, Any], location: Location) -> str:
    """A place by the name of its run and the number of its post or picket, where the tables say them."""
    if len(location) < 2 or location[0] != "run" or not isinstance(location[1], int):
        return in_words(location)
    run, rest = tree["run"][location[1]], location[2:]
    name = run.get("name") if isinstance(run, dict) else None
    words = (f'run "{name[:50]}"',) if name and isinstance(name, str) else location[:2]
    if len(rest) > 1 and rest[0] in _NUMBERED and isinstance(rest[1], int):
        row, called = run[rest[0]][rest[1]], _NUMBERED[rest[0]]
        number = row.get("number") if isinstance(row, dict) else None
        known = type(number) is int and number > 0
        rest = (f"{called} {number}", *rest[2:]) if known else (f"{called} row", *rest[1:])
    return in_words((*words, *rest))


def _contradictions(built: AsBuilt) -> Iterator[Problem]:
    """Mistakes that lie between rows."""
    names: set[str] = set()
    for run in built.run:
        if run.name in names:
            yield mistake(run.place, f'"{run.name}" comes twice', "put what stands of it together")
        names.add(run.name)
        for post in run.post:
            if post.top is not None and post.top > MOST_TALL:
                most = f"{MOST_TALL / 12:g} ft ({MOST_TALL * MM_PER_INCH / 1000:.1f} m)"
                found = f"a post of more than {most} is no fence post"
                yield mistake(f"{post.place}, top", found, "check the number and its unit")
        for out in run.later:
            if out.last < out.first:
                found = f"{out.last} comes before {out.first}"
                yield mistake(f"{out.place}, last", found, "write the lower number first")
        for alike in run.cut:
            if not alike.numbers:
                found = f'"{printable(alike.pickets)}" is no list of pickets'
                yield mistake(f"{alike.place}, pickets", found, 'write them as the saw list does: "1-9, 14"')
        for key in _NUMBERED:
            numbers: set[int] = set()
            for row in getattr(run, key):
                if row.number in numbers:
                    yield mistake(row.place, f"number {row.number} comes twice", "keep one of the two")
                numbers.add(row.number)


def _in_order(run: BuiltRun) -> BuiltRun:
    post, measured, picket = (
        tuple(sorted(getattr(run, key), key=lambda row: row.number)) for key in _NUMBERED
    )
    return replace(run, post=post, measured=measured, picket=picket)


def built_text(built: AsBuilt, system: UnitSystem) -> str:
    """What stands as the text of a `built.toml`; read again it is the same, every length exact."""
    lines = ["# What stands so far. Every command reads it beside job.toml.", ""]
    lines += ["left = []"] if built.left == () else []
    return "\n".join([*lines, *file_lines(built, system)]).strip() + "\n"
