"""How good a purchase is, in one sentence: figures carried as numbers, written once."""

from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from fencegrade.cutting import Board, CutPlan, cut_plan
from fencegrade.job.records import Gate
from fencegrade.planning.buying import PICKET_PARTS, buying_list
from fencegrade.planning.plan import plan_fence
from fencegrade.sheets.proof import pickets_proof, proof_words

from .conftest import MakePlan


def proof(cost: str, raw: str, boards: int = 9, **others: Any) -> CutPlan:
    cut = Board(stock=9, pieces=(9,), offcut=0, count=boards, shortened=(0,))
    known: dict[str, Any] = {"unit": Fraction(1, 100), "each": None, "priced": True}
    return CutPlan(
        boards=(cut,) * bool(boards),
        exact_cost=Fraction(cost),
        raw_bound=Fraction(raw),
        seconds=0.0,
        waste=0,
        waste_share=0.0,
        kept=0,
        **{"exact_bound": Fraction(raw)} | known | others,
    )


def dollars(amount: float) -> str:
    return f"${amount:.2f}"


@pytest.mark.parametrize(
    ("plan", "told"),
    [
        (
            proof("100.50", "100.02"),
            "cost $100.50; $100.02 is the least any plan could use, so at most 0.48 % more could be saved",
        ),
        (
            proof("150", "100"),
            "cost $150.00; $100.00 is the least any plan could use, so at most 33 % more could be saved",
        ),
        (proof("100.50", "100.50"), "cost $100.50; no plan can use less, so $100.50 is best"),
        (
            proof("40", "38.889", exact_bound=Fraction(40), unit=Fraction(2)),
            "cost $40.00; $38.88 is the least any plan could use and cost moves in steps of 2, "
            "so $40.00 is best",
        ),
        (
            proof("2040", "2000", priced=False),
            "2040 marks of boards bought; 2000 marks is the least any plan could use, "
            "so at most 2 % more could be saved",
        ),
        (
            proof("12", "8.5", exact_bound=Fraction(12), each=Fraction(4)),
            "3 boards; 2.12 is the least any plan could use, so 3 is best",
        ),
        (proof("0", "0"), "9 boards, all on hand, so nothing has to be bought"),
        (proof("0", "0", boards=0), "nothing is wanted, so nothing has to be bought"),
    ],
)
def test_every_figure_of_the_sentence_has_its_unit_and_no_other(plan: CutPlan, told: str) -> None:
    assert proof_words(plan, money=dollars, length=lambda marks: f"{marks} marks") == told


@pytest.mark.parametrize(
    ("pieces", "stock", "told"),
    [
        (
            [(45, 97), (36, 610), (31, 395), (14, 211)],
            [100],
            "453 boards; 452.25 is the least any plan could use, so 453 is best",
        ),
        (
            [(30, 7), (40, 2)],
            [(72, 4), (100, 6)],
            "cost 18.00; 16.11 is the least any plan could use and cost moves in steps of 2, "
            "so 18.00 is best",
        ),
        ([(70, 10)], [(72, 4), (96, 6)], "cost 40.00; no plan can use less, so 40.00 is best"),
    ],
)
def test_a_plan_says_how_good_it_is(pieces: list[object], stock: list[object], told: str) -> None:
    assert proof_words(cut_plan(pieces, stock), str) == told


@pytest.mark.parametrize(
    ("spare", "gates", "apart"),
    [
        (0.0, False, ""),
        (0.1, False, ", spares apart"),
        (0.0, True, ", gates apart"),
        (0.1, True, ", spares and gates apart"),
    ],
)
def test_the_cost_of_the_pickets_is_that_of_their_lines_less_what_is_apart(
    make_plan: MakePlan, spare: float, gates: bool, apart: str
) -> None:
    job = make_plan().job
    own = (Gate(station=120.0, width=48.0),) if gates else ()
    runs = (replace(job.runs[0], gate=own),)
    plan = plan_fence(replace(job, pickets=replace(job.pickets, spare=spare), runs=runs))
    lines = [x for x in buying_list(plan).lines if x.part in PICKET_PARTS]
    without = [x for x in lines if x.part == "pickets"]
    cost = sum((x.to_buy - x.spare + x.spare_there) * (x.price or 0.0) for x in without)
    assert pickets_proof(plan).startswith(f"pickets{apart}: cost {plan.words.money(cost)}; ")
    assert (sum(x.total or 0.0 for x in lines) == pytest.approx(cost)) == (not apart)
