"""The one sentence that says how good a cutting plan is, and why, with its lengths as the tape reads."""

from collections.abc import Callable
from fractions import Fraction

from fencegrade.cutting import CutPlan
from fencegrade.planning.buying import PICKET_PARTS, buying_list
from fencegrade.planning.plan import FencePlan
from fencegrade.units.words import listed, plural

Say = Callable[[Fraction], str]
"""Writes an amount of money, or a length in tape marks."""


def proof_words(
    plan: CutPlan, length: Callable[[int], str], money: Callable[[float], str] | None = None
) -> str:
    """How good a plan is.

    `length`: a length in marks as the tape reads; `money`: an amount with its currency, plain numbers if
    absent. What is no whole hundredth is rounded down where no plan can use less, else up.
    """
    if not plan.boards:
        return "nothing is wanted, so nothing has to be bought"
    if plan.cost == 0:
        return f"{plural(plan.board_count, 'board')}, all on hand, so nothing has to be bought"
    have, least, step, top = _amounts(plan, length, money)
    if not plan.proven:
        share = float((plan.exact_cost - plan.exact_bound) / plan.exact_cost) * 100
        return (
            f"{have}; {least} is the least any plan could use, so at most {share:.2g} % more could be saved"
        )
    if plan.raw_bound >= plan.exact_cost:
        return f"{have}; no plan can use less, so {top} is best"
    return f"{have}; {least} is the least any plan could use{step}, so {top} is best"


def pickets_proof(plan: FencePlan) -> str:
    """How good the plan of a fence's pickets is, and what of the list is not in it; empty where one of them
    has no board."""
    own, words = plan.families.pickets, plan.words
    if own.unserved:
        return ""
    lines = [line for line in buying_list(plan).lines if line.part in PICKET_PARTS]
    apart = ["spares"] if any(line.spare for line in lines) else []
    apart += ["gates"] if plan.families.gate_pickets is not None else []
    proof = proof_words(own.plan, lambda marks: words.station(marks * plan.mark), words.money)
    return f"pickets{f', {listed(apart)} apart' if apart else ''}: {proof}"


def _amounts(
    plan: CutPlan, length: Callable[[int], str], money: Callable[[float], str] | None
) -> tuple[str, str, str, str]:
    """What the plan needs as it begins the sentence, the least any could, its steps, what it needs again."""
    if plan.each is not None:
        number = int(plan.exact_cost / plan.each)
        least = _plain(_down(plan.raw_bound / plan.each))
        return plural(number, "board"), least, "", str(number)
    say = _say(plan, length, money)
    cost, least = say(plan.exact_cost), say(_down(plan.raw_bound))
    if plan.priced:
        return f"cost {cost}", least, f" and cost moves in steps of {_plain(plan.unit)}", cost
    return f"{cost} of boards bought", least, f" and purchases move in steps of {say(plan.unit)}", cost


def _say(plan: CutPlan, length: Callable[[int], str], money: Callable[[float], str] | None) -> Say:
    """How what is bought is written."""
    if not plan.priced:
        return lambda marks: length(int(marks))
    return _money if money is None else lambda amount: money(float(amount))


def _down(value: Fraction) -> Fraction:
    """A bound rounded down to the hundredth, so that it stays one."""
    return Fraction(value * 100 // 1, 100)


def _plain(value: Fraction) -> str:
    """A number with two decimals at most; one that is no whole hundredth is rounded up."""
    return _money(value).rstrip("0").rstrip(".")


def _money(value: Fraction) -> str:
    """An amount with two decimals."""
    return f"{int(-((-value * 100) // 1)) / 100:.2f}"
