"""The cutting plan of a list: its tables, the words on the screen, and JSON."""

from collections.abc import Iterator
from functools import partial
from typing import Any

from msgspec.structs import replace

from fencegrade.planning.boards import ListPlan, stop_settings, usable_offcuts
from fencegrade.sheets.cautions import SAW
from fencegrade.sheets.proof import proof_words
from fencegrade.sheets.tables import Table, columns_of, filled_columns, text_lines
from fencegrade.units import format_money, format_share
from fencegrade.units.tolerances import MARK_GRACE
from fencegrade.units.words import Words, numbers, plural

FORMAT = "fencegrade-boards/1"
_MOST_NAMES = 3


class BareWords(Words, frozen=True, kw_only=True):
    """Lengths without a unit: whole numbers as the list has them."""

    @property
    def unit(self) -> str:
        """None."""
        return ""

    def length(self, inches: float) -> str:
        """The number."""
        return f"{inches:g}"

    def sold_length(self, inches: float) -> str:
        """The number."""
        return self.length(inches)

    def number(self, inches: float) -> float:
        """The number as it is."""
        return float(inches)


def list_words(listed: ListPlan) -> Words:
    """How the lengths of a list's plan are written."""
    if listed.mark is None:
        return BareWords(system=listed.system, mark=1.0, currency="")
    return Words(system=listed.system, mark=listed.mark, currency="")


def _total(listed: ListPlan, marks: int) -> str:
    """Many boards' length together, in metres or feet where the list has a unit."""
    return listed.length(marks) if listed.mark is None else list_words(listed).station(marks * listed.mark)


def boards_json(listed: ListPlan) -> dict[str, Any]:
    """The plan as plain values; lengths in inches or millimetres, or as given where they had no unit."""
    plan = listed.plan
    cost_in_lengths = not plan.priced
    boards = [
        {
            "stock": listed.number(board.stock),
            "pieces": [listed.number(p) for p in board.pieces],
            "offcut": listed.number(board.offcut),
            "count": board.count,
            "on_hand": board.on_hand,
        }
        for board in plan.boards
    ]
    words = list_words(listed)
    return {
        "format": FORMAT,
        "boards": boards,
        "cost": listed.number(int(plan.cost)) if cost_in_lengths else plan.cost,
        "lower_bound": listed.number(plan.lower_bound) if cost_in_lengths else plan.lower_bound,
        "proven": plan.proven,
        "seconds": round(plan.seconds, 3),
        "length_unit": words.unit or None,
        "waste": listed.number(plan.waste),
        "kept": listed.number(plan.kept),
        "proof": proof_words(plan, partial(_total, listed)),
        "notes": [str(n) for n in listed.notes],
    }


def pattern_table(listed: ListPlan) -> Table:
    """Each way of cutting a board: what comes out of it, in the order of its cuts."""
    unit = listed.mark or 1.0
    columns = columns_of(
        "pattern:count | boards:count | stock:sold | pieces, from one end | left over:length | from"
    )
    rows = [
        (
            number,
            board.count,
            board.stock * unit,
            ", ".join(_pieces(listed, board.pieces)),
            board.offcut * unit or None,
            "on hand" if board.on_hand else None,
        )
        for number, board in enumerate(listed.plan.boards, start=1)
    ]
    return Table(name="boards", title="Boards", columns=columns, rows=rows)


def stop_table(listed: ListPlan) -> Table:
    """Pieces by length, longest first: one setting of the stop block a row."""
    unit = listed.mark or 1.0
    columns = columns_of("stop block at:length | pieces:count | for | in patterns")
    rows = [
        (length * unit, count, _for(listed, length), _patterns_with(listed, length))
        for length, count in stop_settings(listed.plan).items()
    ]
    return Table(name="saw_list", title="Saw list", columns=columns, rows=rows)


def offcut_table(listed: ListPlan) -> Table:
    """What is left of the boards, longest first; where the list names a least offcut none under it."""
    unit = listed.mark or 1.0
    least = int(listed.listed.least_offcut / unit + MARK_GRACE)
    columns = columns_of("length:length | offcuts:count")
    rows = [(length * unit, count) for length, count in usable_offcuts(listed.plan, least).items()]
    return Table(name="offcuts", title="Offcuts", columns=columns, rows=rows)


def boards_lines(listed: ListPlan) -> Iterator[str]:
    """The plan line by line: the boards, the saw list, what is left over, and how good the plan is."""
    plan, words = listed.plan, list_words(listed)
    yield f"{plural(plan.board_count, 'board')}, {plural(plan.setups, 'way')} of cutting them"
    for table in (pattern_table(listed), stop_table(listed), offcut_table(listed)):
        rows = list(table.rows)
        if rows:
            yield ""
            yield table.title
            yield from text_lines(filled_columns(replace(table, rows=rows)), words)
    yield ""
    if plan.priced:
        yield f"cost {format_money(float(plan.cost), '')}"
    yield f"waste {_total(listed, plan.waste)}, {format_share(plan.waste_share)} of the boards used"
    yield proof_words(plan, partial(_total, listed))
    yield from (str(n) for n in listed.notes)
    yield SAW.short


def _pieces(listed: ListPlan, pieces: tuple[int, ...]) -> Iterator[str]:
    """Equal pieces of one board together, with their names where they have some."""
    for length in dict.fromkeys(pieces):
        count = pieces.count(length)
        names = [n for n in listed.names.get(length, {}) if n]
        named = f" ({' / '.join(names[:_MOST_NAMES])})" if names else ""
        yield (f"{count} x " if count > 1 else "") + listed.length(length) + named


def _for(listed: ListPlan, length: int) -> str | None:
    """What the pieces of a length are for, with counts where there are several uses."""
    names = listed.names.get(length, {})
    if len(names) == 1:
        return next(iter(names)) or None
    return ", ".join(f"{count} {name or 'without name'}" for name, count in names.items())


def _patterns_with(listed: ListPlan, length: int) -> str:
    return numbers(k for k, board in enumerate(listed.plan.boards, start=1) if length in board.pieces)
