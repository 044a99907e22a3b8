"""A builder's mistakes in a cutting list, collected and reported together."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from msgspec import Struct

from fencegrade.cutting.records import Board
from fencegrade.units.words import plural


class CuttingMistake(Struct, frozen=True, kw_only=True):
    """One mistake: where it is (as `pieces 2, length`, counted from 1), what was found, and what to do."""

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


class NoPlanFoundError(CuttingError):
    """Limits so tight that no plan was found, though none is proven to be missing; lengths in tape marks.

    `lacking`: (length, count) of the pieces that the best plan leaves over, longest first; `partial`: its
    boards; `seconds`: the limit of the search.
    """

    def __init__(self, lacking: Iterable[tuple[int, int]], partial: Iterable[Board], seconds: float) -> None:
        self.lacking = tuple(sorted(lacking, reverse=True))
        self.partial, self.seconds = tuple(partial), seconds
        found = f"no plan found in {seconds:g} s of work; the best leaves {_over(self.lacking)}"
        remedy = "raise a limit, or give the search more time"
        super().__init__([CuttingMistake(place="stock", found=found, remedy=remedy)])


class TooFewBoardsError(CuttingError):
    """Limits proven too small for the demand; lengths in tape marks.

    `lacking`: (length, count) of the pieces left over, longest first; `boards` more of `length` would serve.
    """

    def __init__(self, lacking: Iterable[tuple[int, int]], boards: int, length: int) -> None:
        self.lacking = tuple(sorted(lacking, reverse=True))
        self.boards, self.length = boards, length
        found = f"the boards that can be had leave {_over(self.lacking)}"
        remedy = f"raise a limit: {plural(boards, 'board')} more of {length} would serve"
        super().__init__([CuttingMistake(place="stock", found=found, remedy=remedy)])


def _over(lacking: Sequence[tuple[int, int]]) -> str:
    """How many pieces are left over, and the longest of them."""
    listed = ", ".join(f"{n} of {size}" for size, n in lacking[:4])
    more = " and others" if len(lacking) > 4 else ""
    return f"{plural(sum(n for _, n in lacking), 'piece')} over ({listed}{more})"
