"""The cutting plan of a list: on the screen and as JSON."""

from collections.abc import Iterator
from typing import Any

from fencegrade.boards import ListPlan
from fencegrade.sheets.words import plural
from fencegrade.units import format_money


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
    return {
        "boards": boards,
        "cost": listed.number(int(plan.cost)) if cost_in_lengths else plan.cost,
        "lower_bound": listed.number(plan.lower_bound) if cost_in_lengths else plan.lower_bound,
        "proven": plan.proven,
        "seconds": round(plan.seconds, 3),
        "waste": listed.number(plan.waste),
        "proof": plan.proof,
        "notes": [str(n) for n in listed.notes],
    }


def boards_lines(listed: ListPlan) -> Iterator[str]:
    """The plan line by line: the boards, what is left of each, and how good it is."""
    plan = listed.plan
    yield f"{plural(plan.board_count, 'board')}, {plural(plan.setups, 'way')} of cutting them"
    for board in plan.boards:
        pieces = ", ".join(_pieces(listed, board.pieces))
        pile = " (on hand)" if board.on_hand else ""
        rest = f"; {listed.length(board.offcut)} left" if board.offcut else ""
        yield f"  {board.count} x {listed.length(board.stock)}{pile}: {pieces}{rest}"
    if plan.priced:
        yield f"cost {format_money(float(plan.cost), '')}"
    yield f"waste {listed.length(plan.waste)}, {plan.waste_share:.1%} of the boards used"
    yield plan.proof
    yield from (str(n) for n in listed.notes)


def _pieces(listed: ListPlan, pieces: tuple[int, ...]) -> Iterator[str]:
    """Equal pieces of one board together, with their names where they have some."""
    for length in dict.fromkeys(pieces):
        count = pieces.count(length)
        names = listed.names.get(length, ())
        named = f" ({' / '.join(names[:3])})" if names else ""
        yield (f"{count} x " if count > 1 else "") + listed.length(length) + named
