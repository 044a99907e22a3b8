"""The one sentence that says how good a cutting plan is, with its lengths as the tape reads."""

from collections.abc import Callable

from fencegrade.cutting import CutPlan
from fencegrade.cutting.wording import proof_sentence


def proof_words(
    plan: CutPlan, length: Callable[[int], str], money: Callable[[float], str] | None = None
) -> str:
    """How good a plan is.

    `length`: a length in marks as the tape reads; `money`: an amount with its currency, plain numbers if
    absent.
    """
    return proof_sentence(
        plan.figures,
        money=None if money is None else lambda amount: money(float(amount)),
        length=lambda marks: length(int(marks)),
    )
