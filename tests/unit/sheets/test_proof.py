"""How good a purchase is, in one sentence: figures carried as numbers, written once."""

from fractions import Fraction
from typing import Any

import pytest

from fencegrade.cutting.wording import Proof, proof_sentence


def proof(cost: str, raw: str, **others: Any) -> Proof:
    known: dict[str, Any] = {"unit": Fraction(1, 100), "each": None, "priced": True, "boards": 9}
    return Proof(cost=Fraction(cost), raw=Fraction(raw), **{"bound": Fraction(raw)} | known | others)


def dollars(amount: Fraction) -> str:
    return f"${float(amount):.2f}"


@pytest.mark.parametrize(
    ("figures", "told"),
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
            proof("40", "38.889", bound=Fraction(40), unit=Fraction(2)),
            "cost $40.00; $38.88 is the least any plan could use and cost moves in steps of 2, "
            "so $40.00 is best",
        ),
        (
            proof("2040", "2000", priced=False),
            "2040 marks of boards bought; 2000 marks is the least any plan could use, "
            "so at most 2 % more could be saved",
        ),
        (
            proof("12", "8.5", bound=Fraction(12), each=Fraction(4)),
            "3 boards; 2.12 is the least any plan could use, so 3 is best",
        ),
        (proof("0", "0"), "9 boards, all on hand, so nothing has to be bought"),
        (proof("0", "0", boards=0), "nothing is wanted, so nothing has to be bought"),
    ],
)
def test_every_figure_of_the_sentence_has_its_unit_and_no_other(figures: Proof, told: str) -> None:
    assert proof_sentence(figures, money=dollars, length=lambda marks: f"{int(marks)} marks") == told
