"""The one sentence that says how good a plan is, and why."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

from msgspec import Struct

Say = Callable[[Fraction], str]
"""Writes an amount of money, or a length in tape marks."""


class Proof(Struct, frozen=True, kw_only=True):
    """What a plan needs and what no plan can go under, in money or, where not `priced`, in tape marks.

    `cost` of the plan; `raw` the bound as computed, `bound` the same rounded up to a step of `unit`; `each`:
    what every bought board costs, where they all cost the same; `boards`: how many the plan uses.
    """

    cost: Fraction
    raw: Fraction
    bound: Fraction
    unit: Fraction
    each: Fraction | None
    priced: bool
    boards: int


def proof_sentence(proof: Proof, money: Say | None = None, length: Say | None = None) -> str:
    """Say how good a plan is.

    `money`, `length`: how amounts are written; plain numbers if absent, a bound that is no whole hundredth
    rounded down.
    """
    if proof.boards == 0:
        return "nothing is wanted, so nothing has to be bought"
    if proof.cost == 0:
        return f"{counted(proof.boards)}, all on hand, so nothing has to be bought"
    have, least, step, top = _amounts(proof, money, length)
    if proof.bound < proof.cost:
        share = float((proof.cost - proof.bound) / proof.cost) * 100
        return (
            f"{have}; {least} is the least any plan could use, so at most {share:.2g} % more could be saved"
        )
    if proof.raw >= proof.cost:
        return f"{have}; no plan can use less, so {top} is best"
    return f"{have}; {least} is the least any plan could use{step}, so {top} is best"


def _amounts(proof: Proof, money: Say | None, length: Say | None) -> tuple[str, str, str, str]:
    """What the plan needs as it begins the sentence, the least any could, its steps, what it needs again."""
    if proof.each is not None:
        number = int(proof.cost / proof.each)
        return counted(number), _plain(_down(proof.raw / proof.each)), "", str(number)
    if proof.priced:
        say = money or _money
        cost = say(proof.cost)
        step = f" and cost moves in steps of {_plain(proof.unit)}"
        return f"cost {cost}", say(_down(proof.raw)), step, cost
    say = length or _plain
    bought = say(proof.cost)
    step = f" and purchases move in steps of {say(proof.unit)}"
    return f"{bought} of boards bought", say(_down(proof.raw)), step, bought


def counted(number: int) -> str:
    """Say how many boards."""
    return "1 board" if number == 1 else f"{number} boards"


def _down(value: Fraction) -> Fraction:
    """A bound rounded down to the hundredth, so that it stays one."""
    return Fraction(value * 100 // 1, 100)


def _plain(value: Fraction) -> str:
    """A number with two decimals at most; one that is no whole hundredth is rounded up."""
    return _money(value).rstrip("0").rstrip(".")


def _money(value: Fraction) -> str:
    """An amount with two decimals."""
    return f"{int(-((-value * 100) // 1)) / 100:.2f}"
