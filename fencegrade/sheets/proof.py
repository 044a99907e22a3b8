"""The one sentence that says how good a cutting plan is, with its lengths as the tape reads."""

import re
from collections.abc import Callable

from fencegrade.cutting import CutPlan

_IN_MARKS = "length bought"
"""How the sentence of a plan without prices begins where boards of several lengths can be bought."""

_IN_MONEY = "cost "
_AMOUNT = re.compile(r"\b\d+\.\d\d\b")


def proof_words(
    plan: CutPlan, length: Callable[[int], str], money: Callable[[float], str] | None = None
) -> str:
    """How good a plan is.

    `plan`: its own sentence counts boards or money, or lengths in tape marks; `length`: a length in marks
    as the tape reads; `money`: an amount with its currency.
    """
    if money is not None and plan.proof.startswith(_IN_MONEY):
        return _AMOUNT.sub(lambda amount: money(float(amount[0])), plan.proof)
    if not plan.proof.startswith(_IN_MARKS):
        return plan.proof
    bought = f"{length(int(plan.exact_cost))} of boards bought"
    if plan.proven:
        return f"{bought}; no plan can buy less"
    share = float((plan.exact_cost - plan.exact_bound) / plan.exact_cost) * 100
    least = length(int(plan.exact_bound))
    return f"{bought}; {least} is the least any plan could buy, so at most {share:.2g} % more could be saved"
