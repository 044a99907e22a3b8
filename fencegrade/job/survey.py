"""The readings of one run as they stand in the survey file, one record a row, and the table of their kinds.

Nothing is computed here: stations, drops and sights are inches, exactly as read, and each row keeps its
line number so that a doubt can point at it.
"""

import re
from dataclasses import dataclass, field, fields
from enum import StrEnum
from typing import Any, Generic, TypeVar


class Side(StrEnum):
    """On which side of a vertical face a reading was taken, going along the run."""

    BEFORE = "before"
    AFTER = "after"


class Mark(StrEnum):
    """What a note may say of its reading: taken at a visible break of the ground; checked and right; on a
    root or trunk, in water, or where a gate post is to stand, for which the job has tables of its own.
    """

    BREAK = "break"
    CONFIRMED = "confirmed"
    ROOT = "root"
    WATER = "water"
    GATE_POST = "gate post"


def marks_of(note: str) -> frozenset[Mark]:
    """The marks in a note: those that begin it or a part of it after a comma, as "lip, break here".

    What is asked, as "confirmed?", is not said; a root or water that is asked about is.
    """
    asked = _found(r"(?:^|[,;])\s*", note, r"[^,;]*\?") & {Mark.BREAK, Mark.CONFIRMED}
    return _found(r"(?:^|[,;])\s*", note) - asked


def words_of(note: str) -> frozenset[Mark]:
    """The marks whose words stand anywhere in a note, as in "the break of the bank"."""
    return _found(r"\b", note)


def _found(before: str, note: str, after: str = "") -> frozenset[Mark]:
    return frozenset(m for m in Mark if note and re.search(rf"{before}{m}s?\b{after}", note, re.IGNORECASE))


@dataclass(frozen=True, slots=True, kw_only=True)
class StringReading:
    """One distance from the string down to the ground."""

    line: int
    station: float
    drop: float
    string: str | None = None
    side: Side | None = None
    known: float | None = None
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelRow:
    """One row of a level book; a station of None is a turning point off the line."""

    line: int
    station: float | None
    backsight: float | None = None
    intermediate: float | None = None
    foresight: float | None = None
    side: Side | None = None
    known: float | None = None
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ElevationReading:
    """One ground elevation at a station."""

    line: int
    station: float
    elevation: float
    side: Side | None = None
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PointReading:
    """One ground point in a plane system."""

    line: int
    x: float
    y: float
    z: float
    note: str = ""


Row = TypeVar("Row")


@dataclass(frozen=True, slots=True, kw_only=True)
class SurveyOf(Generic[Row]):
    """The readings of one run, in the order of the file `source`; `unit`, `station_unit`: those its heading
    gives the figures read and the stations, empty where each has its own."""

    source: str
    rows: tuple[Row, ...]
    unit: str = field(default="", compare=False)
    station_unit: str = field(default="", compare=False)

    @property
    def kind(self) -> "SurveyKind":
        """Its row in the table of kinds."""
        return next(kind for kind in KINDS if isinstance(self, kind.survey))


Survey = SurveyOf[Any]


class StringSurvey(SurveyOf[StringReading]):
    """Readings under one or several strings."""


class LevelBook(SurveyOf[LevelRow]):
    """A level book."""


class ElevationSurvey(SurveyOf[ElevationReading]):
    """Plain elevations."""


class PointSurvey(SurveyOf[PointReading]):
    """Points to be projected on the run."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SurveyKind:
    """One kind of survey, one row of the table.

    `name` in messages, `when` it is used; `survey` and the `record` of one row, whose fields are the columns;
    `tells`: columns that no other kind has; `needs`: those that must be there, and `one_of` these; `figure`:
    what one number read is called, empty for coordinates; `reduced_by`: the module of `ground/` whose
    `reduce` makes heights of it.
    """

    name: str
    when: str
    survey: type[Survey]
    record: type[Any]
    tells: tuple[str, ...]
    needs: tuple[str, ...]
    one_of: tuple[str, ...] = ()
    figure: str
    reduced_by: str

    @property
    def columns(self) -> tuple[str, ...]:
        """Every column of this kind, needed ones first."""
        own = (f.name for f in fields(self.record) if f.name != "line")
        return tuple(dict.fromkeys((*self.needs, *self.tells, *own)))

    @property
    def words(self) -> tuple[str, ...]:
        """Columns that hold words, not lengths."""
        lengths = (float, float | None)
        return tuple(f.name for f in fields(self.record) if f.name != "line" and f.type not in lengths)

    @property
    def filled(self) -> tuple[str, ...]:
        """Columns that no row may leave empty."""
        return tuple(f.name for f in fields(self.record) if f.type is float)


KINDS = (
    SurveyKind(
        name="string readings",
        when="the usual way, with a string and a tape",
        survey=StringSurvey,
        record=StringReading,
        tells=("drop", "string"),
        needs=("station", "drop"),
        figure="drop",
        reduced_by="strings",
    ),
    SurveyKind(
        name="a level book",
        when="a builder's level and a staff",
        survey=LevelBook,
        record=LevelRow,
        tells=("backsight", "intermediate", "foresight"),
        needs=("station", "backsight"),
        one_of=("intermediate", "foresight"),
        figure="sight",
        reduced_by="levelbook",
    ),
    SurveyKind(
        name="elevations",
        when="heights that are worked out already",
        survey=ElevationSurvey,
        record=ElevationReading,
        tells=("elevation",),
        needs=("station", "elevation"),
        figure="elevation",
        reduced_by="elevations",
    ),
    SurveyKind(
        name="points",
        when="a total station or a satellite receiver; the run then needs `from_xy` and `to_xy`",
        survey=PointSurvey,
        record=PointReading,
        tells=("x", "y", "z"),
        needs=("x", "y", "z"),
        figure="",
        reduced_by="points",
    ),
)
"""Every kind of survey. The reader, the words of its mistakes, the reduction and the reference go by this."""
