"""A builder's mistake, or a thing to know, as a value that carries its place."""

from collections.abc import Iterable
from enum import StrEnum
from typing import NoReturn

from msgspec import Struct


class Severity(StrEnum):
    """How much a problem weighs: a mistake stops the plan, a warning goes with it, a note informs."""

    MISTAKE = "mistake"
    WARNING = "warning"
    NOTE = "note"


class Problem(Struct, frozen=True, kw_only=True):
    """One finding: where it is, what was found, and what to do about it.

    `place` reads as a builder would point at it: `job.toml [pickets] width`, `north.csv line 7`,
    `north side, 24 ft`. `found` and `remedy` are plain sentences without a final full stop. `on_record`: it
    comes of what is written of a fence that stands.
    """

    severity: Severity
    place: str
    found: str
    remedy: str = ""
    on_record: bool = False

    @property
    def message(self) -> str:
        """What was found and what to do, as one text."""
        return f"{self.found}; {self.remedy}" if self.remedy else self.found

    def __str__(self) -> str:
        return f"{self.place}: {self.message}"

    def as_dict(self) -> dict[str, str]:
        """The finding as an answer in JSON holds it."""
        return {"severity": str(self.severity), "place": self.place, "message": self.message}


def mistake(place: str, found: str, remedy: str) -> Problem:
    """A problem that stops the plan."""
    return Problem(severity=Severity.MISTAKE, place=place, found=found, remedy=remedy)


def warning(place: str, found: str, remedy: str = "") -> Problem:
    """A problem the plan lives with, but the builder must see."""
    return Problem(severity=Severity.WARNING, place=place, found=found, remedy=remedy)


def note(place: str, found: str, remedy: str = "") -> Problem:
    """Something worth knowing."""
    return Problem(severity=Severity.NOTE, place=place, found=found, remedy=remedy)


class JobMistakesError(Exception):
    """The job has mistakes; `problems` holds every one of them once, in the order found."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(dict.fromkeys(problems))
        super().__init__("\n".join(str(p) for p in self.problems))


def refuse(place: str, found: str, remedy: str) -> NoReturn:
    """Raise `JobMistakesError` with one mistake."""
    raise JobMistakesError([mistake(place, found, remedy)]) from None


def has_mistake(problems: Iterable[Problem]) -> bool:
    """Whether any of them stops the plan."""
    return any(p.severity is Severity.MISTAKE for p in problems)


def raise_mistakes(problems: Iterable[Problem]) -> None:
    """Raise `JobMistakesError` with all problems if any of them is a mistake.

    Errors: JobMistakesError.
    """
    found = tuple(problems)
    if has_mistake(found):
        raise JobMistakesError(p for p in found if p.severity is Severity.MISTAKE)
