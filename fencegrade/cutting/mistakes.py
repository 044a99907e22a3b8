"""A builder's mistakes in a cutting list, collected and reported together."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class CuttingMistake:
    """One mistake: where it is (as `pieces[2].length`), what was found there, and what to do."""

    place: str
    found: str
    remedy: str

    def __str__(self) -> str:
        return f"{self.place}: {self.found}; {self.remedy}"


class CuttingError(ValueError):
    """A cutting list that cannot be planned; `mistakes` holds every one that was found."""

    def __init__(self, mistakes: Iterable[CuttingMistake]) -> None:
        self.mistakes = tuple(mistakes)
        super().__init__("\n".join(str(mistake) for mistake in self.mistakes))
