"""A cutting plan for any list of pieces: the list's lengths in tape marks, the plan, and back again."""

import math
from collections import defaultdict
from dataclasses import dataclass

from fencegrade.cutting import CutPlan, CuttingError, Piece, Stock, cut_plan
from fencegrade.job.cut_list import CutList
from fencegrade.problems import JobMistakesError, Problem, mistake, note
from fencegrade.units import MM_PER_INCH, UnitSystem, format_length, marks_down, marks_up

_IMPERIAL_MARK = 1 / 32
_METRIC_MARK = 1 / MM_PER_INCH


@dataclass(frozen=True, slots=True, kw_only=True)
class ListPlan:
    """The plan of a cut list. `mark` is inches a tape mark, or None where lengths are bare whole numbers.

    `names` gives the names of the pieces of each length (marks); `notes` what was rounded.
    """

    listed: CutList
    plan: CutPlan
    mark: float | None
    names: dict[int, tuple[str, ...]]
    notes: tuple[Problem, ...]

    def length(self, marks: int) -> str:
        """A length in marks as the tape reads, or the bare number."""
        if self.mark is None:
            return str(marks)
        system = UnitSystem.METRIC if self.listed.metric else UnitSystem.IMPERIAL
        return format_length(marks * self.mark, system, self.mark)

    def number(self, marks: float) -> float | int:
        """A length in marks as a number: inches, millimetres, or bare."""
        if self.mark is None:
            return marks
        return round(marks * self.mark * (MM_PER_INCH if self.listed.metric else 1.0), 4)


def plan_cut_list(listed: CutList, seconds: float = 5.0) -> ListPlan:
    """Plan a cut list.

    `seconds`: time for the exact search. Piece lengths and the kerf are rounded up to the mark (1/32 in or
    1 mm), stock down, and it is said where that changed one. Errors: JobMistakesError where the list
    cannot be cut.
    """
    mark = None if listed.whole else _METRIC_MARK if listed.metric else _IMPERIAL_MARK
    names: dict[int, list[str]] = defaultdict(list)
    pieces, rounded = [], 0
    for p in listed.pieces:
        length = int(p.length) if mark is None else marks_up(p.length, mark)
        rounded += mark is not None and not math.isclose(length * mark, p.length, abs_tol=1e-6)
        if p.name:
            names[length].append(p.name)
        pieces.append(Piece(length=length, count=p.count))
    stock = [
        Stock(
            length=int(s.length) if mark is None else marks_down(s.length, mark),
            price=s.price,
            on_hand=s.on_hand,
            limit=s.limit,
        )
        for s in listed.stock
    ]
    try:
        plan = cut_plan(
            pieces,
            stock,
            int(listed.kerf) if mark is None else marks_up(listed.kerf, mark),
            least_offcut=int(listed.least_offcut) if mark is None else marks_up(listed.least_offcut, mark),
            one_piece=listed.one_piece,
            seconds=seconds,
        )
    except CuttingError as error:
        raise JobMistakesError(_in_words(listed, error)) from None
    found = f"{rounded} lengths lie between two marks" if rounded > 1 else "one length lies between two marks"
    notes = (note(listed.place, found, "pieces are rounded up, so none comes out short"),) if rounded else ()
    return ListPlan(
        listed=listed,
        plan=plan,
        mark=mark,
        names={k: tuple(dict.fromkeys(v)) for k, v in names.items()},
        notes=notes,
    )


def _in_words(listed: CutList, error: CuttingError) -> list[Problem]:
    return [mistake(f"{listed.place} {m.place}", m.found, m.remedy) for m in error.mistakes]
