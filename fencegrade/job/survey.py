"""The readings of one run as they stand in the survey file, one record a row.

Nothing is computed here: stations, drops and sights are inches, exactly as read, and each row keeps its
line number so that a doubt can point at it.
"""

from dataclasses import dataclass
from enum import StrEnum


class Side(StrEnum):
    """On which side of a vertical face a reading was taken, going along the run."""

    BEFORE = "before"
    AFTER = "after"


class Mark(StrEnum):
    """What a note may say of its reading: taken at a visible break of the ground; checked and right."""

    BREAK = "break"
    CONFIRMED = "confirmed"


def marks_of(note: str) -> frozenset[Mark]:
    """The marks in a note: every part between commas that is one and no more, as in "break, ditch lip"."""
    parts = {part.strip().lower() for part in note.replace(";", ",").split(",")}
    return frozenset(mark for mark in Mark if mark in parts)


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


@dataclass(frozen=True, slots=True, kw_only=True)
class StringSurvey:
    """Readings under one or several strings."""

    source: str
    rows: tuple[StringReading, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelBook:
    """A level book."""

    source: str
    rows: tuple[LevelRow, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ElevationSurvey:
    """Plain elevations."""

    source: str
    rows: tuple[ElevationReading, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PointSurvey:
    """Points to be projected on the run."""

    source: str
    rows: tuple[PointReading, ...]


Survey = StringSurvey | LevelBook | ElevationSurvey | PointSurvey
