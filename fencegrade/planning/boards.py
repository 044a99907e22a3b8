"""A cutting plan for any list of pieces: the list's lengths in tape marks, the plan, and back again."""

from collections import Counter
from collections.abc import Iterable, Iterator

from msgspec import Struct

from fencegrade.cutting import (
    CutPlan,
    CuttingError,
    NoPlanFoundError,
    Piece,
    Stock,
    TooFewBoardsError,
    cut_plan,
)
from fencegrade.job.cut_list import CutList, ListPiece
from fencegrade.problems import JobMistakesError, Problem, mistake, note, raise_mistakes
from fencegrade.units import MM_PER_INCH, UnitSystem, format_length, marks_down, marks_up
from fencegrade.units.tolerances import SAME_LENGTH
from fencegrade.units.words import plural

_IMPERIAL_MARK = 1 / 32
_METRIC_MARK = 1 / MM_PER_INCH
_MOST_LISTED = 4
"""Lengths named in one message."""


class ListPlan(Struct, frozen=True, kw_only=True):
    """The plan of a cut list. `mark` is inches a tape mark, or None where lengths are bare whole numbers.

    `names` counts the pieces of each length (marks) by name, longest first; `kerf` in marks; `notes` what was
    rounded.
    """

    listed: CutList
    plan: CutPlan
    mark: float | None
    kerf: int
    names: dict[int, dict[str, int]]
    notes: tuple[Problem, ...]

    def length(self, marks: int) -> str:
        """A length in marks as the tape reads, or the bare number."""
        return _said(marks, self.mark, self.listed)

    def number(self, marks: float) -> float | int:
        """A length in marks as a number: inches, millimetres, or bare."""
        if self.mark is None:
            return marks
        return round(marks * self.mark * (MM_PER_INCH if self.listed.metric else 1.0), 4)

    @property
    def system(self) -> UnitSystem:
        """The units of the list's lengths; of no use where they are bare."""
        return UnitSystem.METRIC if self.listed.metric else UnitSystem.IMPERIAL


def plan_cut_list(listed: CutList, seconds: float = 5.0) -> ListPlan:
    """Plan a cut list.

    `seconds`: work of the exact search, in seconds of an ordinary computer. Piece lengths and the kerf are
    rounded up to the mark (1/32 in or 1 mm), stock and the least offcut down, and it is said where that
    changed a length; a piece as long as a board is that board. Errors: JobMistakesError where the list cannot
    be cut, or no plan was found.
    """
    marks = _Marks(listed)
    raise_mistakes(_too_long(listed, marks))
    pieces = [marks.piece(p) for p in listed.pieces]
    names: dict[int, dict[str, int]] = {}
    for length, piece in sorted(zip(pieces, listed.pieces, strict=True), key=lambda pair: -pair[0]):
        counts = names.setdefault(length, {})
        counts[piece.name] = counts.get(piece.name, 0) + piece.count
    try:
        plan = cut_plan(
            [Piece(length=n, count=p.count) for n, p in zip(pieces, listed.pieces, strict=True)],
            [
                Stock(length=marks.down(s.length), price=s.price, on_hand=s.on_hand, limit=s.limit)
                for s in listed.stock
            ],
            marks.up(listed.kerf),
            least_offcut=marks.down(listed.least_offcut),
            one_piece=listed.one_piece,
            seconds=seconds,
        )
    except TooFewBoardsError as error:
        raise JobMistakesError([_too_few(listed, marks, error, names)]) from None
    except NoPlanFoundError as error:
        raise JobMistakesError([_none_found(listed, marks, error, names)]) from None
    except CuttingError as error:
        found = [mistake(f"{listed.place} {m.place}", m.found, m.remedy) for m in error.mistakes]
        raise JobMistakesError(found) from None
    return ListPlan(
        listed=listed,
        plan=plan,
        mark=marks.mark,
        kerf=marks.up(listed.kerf),
        names=names,
        notes=(*_no_kerf(listed, plan), *marks.notes(pieces)),
    )


def _no_kerf(listed: CutList, plan: CutPlan) -> Iterator[Problem]:
    """Boards of several pieces, and a saw that takes no wood."""
    if not listed.kerf and any(len(b.pieces) > 1 for b in plan.boards):
        found = "the kerf is zero, so the cuts are taken to lose no wood"
        remedy = "write the width of the saw's cut, often 1/8 in or 3 mm"
        yield note(f"{listed.place} kerf".strip(), found, remedy)


def _said(marks: int, mark: float | None, listed: CutList) -> str:
    """A length in marks as the tape reads, or the bare number."""
    if mark is None:
        return str(marks)
    system = UnitSystem.METRIC if listed.metric else UnitSystem.IMPERIAL
    return format_length(marks * mark, system, mark)


class _Marks:
    """The lengths of a list in whole marks of the tape."""

    def __init__(self, listed: CutList) -> None:
        self.listed = listed
        self.mark = None if listed.whole else _METRIC_MARK if listed.metric else _IMPERIAL_MARK
        self.stock = [s.length for s in listed.stock if s.offered]

    def up(self, length: float) -> int:
        return int(length) if self.mark is None else marks_up(length, self.mark)

    def down(self, length: float) -> int:
        return int(length) if self.mark is None else marks_down(length, self.mark)

    def piece(self, piece: ListPiece) -> int:
        """A piece rounded up; one as long as a board is the board uncut."""
        if any(abs(piece.length - s) < SAME_LENGTH for s in self.stock):
            return self.down(piece.length)
        return min(self.up(piece.length), max(self.down(s) for s in self.stock))

    def say(self, length: float) -> str:
        """A length of the list as the tape reads."""
        return self.say_marks(self.up(length))

    def say_marks(self, marks: int) -> str:
        return _said(marks, self.mark, self.listed)

    def notes(self, pieces: list[int]) -> Iterator[Problem]:
        """What the rounding to marks changed."""
        if self.mark is None:
            return
        mark = self.mark
        given = [p.length for p in self.listed.pieces]
        off = sum(abs(n * mark - x) > SAME_LENGTH for n, x in zip(pieces, given, strict=True))
        if off:
            found = f"{off} lengths lie between two marks" if off > 1 else "one length lies between two marks"
            up = f"pieces are rounded up to {self.say_marks(1)}, so none comes out short"
            yield note(self.listed.place, found, up)
        for one in self.listed.stock:
            if abs(self.down(one.length) * mark - one.length) > SAME_LENGTH:
                found = f"a board between two marks counts as {self.say_marks(self.down(one.length))}"
                yield note(one.place, found)


def _too_long(listed: CutList, marks: _Marks) -> Iterator[Problem]:
    """Pieces longer than any board that can be had, each with its name."""
    longest = max(marks.stock)
    for piece in listed.pieces:
        if piece.count and piece.length > longest + SAME_LENGTH:
            name = f'"{piece.name}", ' if piece.name else ""
            yield mistake(
                piece.place,
                f"{name}{marks.say(piece.length)}, is longer than the longest board, "
                f"{marks.say_marks(marks.down(longest))}",
                "offer a longer board, or make the piece shorter",
            )


def _too_few(
    listed: CutList, marks: _Marks, error: TooFewBoardsError, names: dict[int, dict[str, int]]
) -> Problem:
    """Limits too small: how many pieces are left over, and what would serve."""
    boards = f"{error.boards} boards" if error.boards > 1 else "one board"
    return mistake(
        f"{listed.place} stock",
        f"the boards that can be had leave {_left_over(marks, error.lacking, names)}",
        f"raise a limit: {boards} more of {marks.say_marks(error.length)} would serve",
    )


def _none_found(
    listed: CutList, marks: _Marks, error: NoPlanFoundError, names: dict[int, dict[str, int]]
) -> Problem:
    """Limits so tight that the search ended without a plan, and what the best try left over."""
    boards = sum(board.count for board in error.partial)
    return mistake(
        f"{listed.place} stock",
        f"no plan found in {error.seconds:g} s: the best one, of {boards} boards, leaves "
        f"{_left_over(marks, error.lacking, names)}",
        "raise a limit, or give the search more time",
    )


def _left_over(marks: _Marks, lacking: tuple[tuple[int, int], ...], names: dict[int, dict[str, int]]) -> str:
    """How many pieces are left over, and which."""
    count = sum(n for _, n in lacking)
    shown = [f"{n} of {marks.say_marks(size)}{_named(names.get(size, {}))}" for size, n in lacking]
    others = len(shown) - _MOST_LISTED
    more = f" and {plural(others, 'other length')}" if others > 0 else ""
    return f"{plural(count, 'piece')} over: {', '.join(shown[:_MOST_LISTED])}{more}"


def _named(names: dict[str, int]) -> str:
    known = [n for n in names if n]
    return f" ({' / '.join(known[:3])})" if known else ""


def usable_offcuts(plan: CutPlan, least: int) -> dict[int, int]:
    """How many offcuts of each length (marks) are left, longest first; none shorter than `least` marks."""
    kept = (b for b in plan.boards if b.offcut >= max(least, 1))
    return _longest_first((b.offcut, b.count) for b in kept)


def stop_settings(plan: CutPlan) -> dict[int, int]:
    """How many pieces of each length (marks) are cut, longest first: one setting of the stop block each."""
    return _longest_first((piece, b.count) for b in plan.boards for piece in b.pieces)


def _longest_first(counted: Iterable[tuple[int, int]]) -> dict[int, int]:
    counts = Counter[int]()
    for length, count in counted:
        counts[length] += count
    return dict(sorted(counts.items(), reverse=True))
