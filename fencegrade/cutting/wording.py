"""The one sentence that says how good a plan is, and why."""

from __future__ import annotations

from fractions import Fraction


def proof_sentence(
    *,
    cost: Fraction,
    raw: Fraction,
    bound: Fraction,
    unit: Fraction,
    each: Fraction | None,
    priced: bool,
    boards: int,
) -> str:
    """Say what the plan needs and what no plan can go under.

    cost, raw, bound: the plan's cost, the bound as computed, and the bound rounded up to a step of `unit`
    each: what every bought board costs, where they all cost the same; boards: how many the plan uses
    """
    if each is not None:
        number = int(cost / each)
        have, least, top = counted(number), plain(raw / each, up=False), str(number)
    elif priced:
        have, least, top = f"cost {money(cost)}", money(raw, up=False), money(cost)
    else:
        have, least, top = f"length bought {plain(cost)}", plain(raw, up=False), plain(cost)
    if boards == 0:
        return "nothing is wanted, so nothing has to be bought"
    if cost == 0:
        return f"{counted(boards)}, all on hand, so nothing has to be bought"
    if bound >= cost:
        if raw >= cost:
            return f"{have}; no plan can use less, so {top} is best"
        step = "" if each is not None else f" and cost moves in steps of {plain(unit)}"
        return f"{have}; {least} is the least any plan could use{step}, so {top} is best"
    share = float((cost - bound) / cost) * 100
    return f"{have}; {least} is the least any plan could use, so at most {share:.2g} % more could be saved"


def counted(number: int) -> str:
    """Say how many boards."""
    return "1 board" if number == 1 else f"{number} boards"


def plain(value: Fraction, *, up: bool = True) -> str:
    """Write a number with two decimals at most; one that is no whole hundredth is rounded up, or down."""
    hundredths = -((-value * 100) // 1) if up else (value * 100) // 1
    return f"{int(hundredths) / 100:.2f}".rstrip("0").rstrip(".")


def money(value: Fraction, *, up: bool = True) -> str:
    """Write an amount with two decimals."""
    hundredths = -((-value * 100) // 1) if up else (value * 100) // 1
    return f"{int(hundredths) / 100:.2f}"
