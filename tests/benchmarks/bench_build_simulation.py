"""Builds fences board by board with boards that differ and hands that err, resumed and not.

Figures: pytest <this file> -m benchmark -s. The module also serves the ordinary suite, with few builds.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pytest

from fencegrade.fence.pickets.relay import Relay, Rest, lay_again
from fencegrade.fence.slots import Slots, fill_stretch
from fencegrade.job.choices import Fit
from fencegrade.planning.row import FEW_UP

LENGTH, WIDTH, SPACING, LIMIT = 1152.0, 5.5, 0.25, 0.125
MARK = 0.125
BAY = 96.0
READING = 1 / 32
"""Standard deviation of a station read off the tape (in)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Hands:
    """How boards and hands err (in): mean of widths off the plan, spread of widths, error of one gap."""

    off: float
    spread: float
    laying: float


def build(hands: Hands, seed: int, stops: Callable[[float], bool], marked: bool = False) -> float:
    """How far (in) past the post the last board ends.

    `stops(station)`: whether the builder measures and lays the rest again once a board has passed that
    station; `marked`: boards are set to edges taped from the start of the run, as the sheet says, instead of
    a spacer's width from the one before.
    """
    rng = np.random.default_rng(seed)
    plan = fill_stretch(0.0, LENGTH, WIDTH, SPACING, Fit.EVEN_GAPS)
    gap = float(plan.left[1] - plan.right[0])
    lefts, gaps = plan.left.tolist(), [0.0] + [gap] * (len(plan) - 1)
    edge = start = spaces = 0.0
    since, width = 0, WIDTH
    while gaps:
        left, space = lefts.pop(0), gaps.pop(0)
        slip = rng.normal(0, hands.laying) if space else 0.0
        at = max(edge, (left if marked else edge + space) + slip)
        since, spaces = since + 1, spaces + at - edge if marked else spaces + space
        edge = at + WIDTH + hands.off + rng.normal(0, hands.spread)
        if gaps and stops(edge):
            read = min(round((edge + rng.normal(0, READING)) * 16) / 16, LENGTH)
            width = width + (read - start - spaces - since * width) / since if since >= FEW_UP else width
            relay = again(read, width, space)
            lefts, gaps = relay.slots.left.tolist(), relay.gaps.tolist()
            start, since, spaces = read, 0, 0.0
    return edge - LENGTH


def again(at: float, width: float, gap: float) -> Relay:
    """What is left from `at`, laid again."""
    none = Slots(left=np.empty(0), right=np.empty(0))
    return lay_again(
        Rest(
            at=at,
            end=LENGTH,
            width=width,
            gap=gap,
            limit=LIMIT,
            fit=Fit.EVEN_GAPS,
            planned=none,
            shift=1.0,
        )
    )[0]


def at_bays(last: float = 0.0) -> Callable[[float], bool]:
    """Stops once a board has passed a post, and once more `last` inches before the end, if not zero."""
    marks = [*np.arange(BAY, LENGTH, BAY), *([LENGTH - last] if last else [])]

    def stops(station: float) -> bool:
        passed = [m for m in marks if m <= station]
        for m in passed:
            marks.remove(m)
        return bool(passed)

    return stops


def never(station: float) -> bool:
    """A builder who trusts the spacer."""
    return False


def ends(
    hands: Hands, builds: int, make: Callable[[], Callable[[float], bool]], marked: bool = False
) -> np.ndarray:
    """How far past the post each of several builds ends (in)."""
    return np.array([build(hands, seed, make(), marked) for seed in range(builds)])


CASES = {
    "sorted boards, 0.02 in wide of the plan": Hands(off=0.02, spread=0.02, laying=0.01),
    "one bundle, 0.03 in wide of the plan": Hands(off=0.03, spread=0.03, laying=1 / 64),
    "mixed bundles, 0.05 in narrow of the plan": Hands(off=-0.05, spread=0.06, laying=1 / 32),
}


@pytest.mark.benchmark
@pytest.mark.parametrize("name", CASES)
def test_where_builds_end(name: str) -> None:
    hands, builds = CASES[name], 400
    rows = {
        "spacer, never measured": ends(hands, builds, lambda: never),
        "spacer, laid again at every post": ends(hands, builds, at_bays),
        "the same, and 30 in before the end": ends(hands, builds, lambda: at_bays(30.0)),
        "edges taped, laid again at every post": ends(hands, builds, at_bays, marked=True),
        "edges taped, never laid again": ends(hands, builds, lambda: never, marked=True),
    }
    print(f"\n{name}: {LENGTH / 12:.0f} ft, {builds} builds, past the post in inches")
    for how, off in rows.items():
        within = float((np.abs(off) <= MARK).mean())
        print(f"  {how:38} mean {off.mean():+6.2f}  sd {off.std():5.2f}  within 1/8 in {within:5.0%}")
    never_off, bays, near, taped, _ = (np.abs(off) for off in rows.values())
    assert np.median(bays) < np.median(never_off) / 5
    assert np.median(near) < np.median(bays)
    assert (taped <= MARK).mean() > (bays <= MARK).mean()
