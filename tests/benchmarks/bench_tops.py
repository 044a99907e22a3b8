"""How long the five tops take and how it grows, in processor time: pytest <this file> -m benchmark -s."""

from collections.abc import Callable, Sequence
from time import process_time
from typing import Any

import numpy as np
import pytest
from top_wishes import stepped_slots

from fencegrade.fence.slots import fill_stretch
from fencegrade.fence.stock_steps import board_cost
from fencegrade.fence.tops.asked import TopLimits, TopWish
from fencegrade.fence.tops.contour import choose as choose_contour
from fencegrade.fence.tops.level import choose as choose_level
from fencegrade.fence.tops.racked import choose as choose_racked
from fencegrade.fence.tops.sloped import choose as choose_sloped
from fencegrade.fence.tops.stepped import choose as choose_stepped
from fencegrade.fence.tops.string_heights import string_heights
from fencegrade.ground.profile import ground_line
from fencegrade.job.choices import BottomCut, Fit
from fencegrade.job.records import Stock
from fencegrade.units import UnitSystem

pytestmark = pytest.mark.benchmark

STOCK = [Stock(length=float(length), price=price) for length, price in ((72, 3.6), (96, 6.1), (120, 9.0))]


def wishes(pickets: int, limits: TopLimits | None = None, spread: float = 4.0) -> list[TopWish]:
    """A run of so many pickets, read every 4 ft on a random walk, posts every 8 ft; the second stepped."""
    length = pickets * 5.75 - 0.25
    stations = np.append(np.arange(0, length - 10, 48.0), length)
    rises = np.random.default_rng(1).normal(0, spread, len(stations))
    line = ground_line(stations, np.cumsum(rises))
    posts = np.append(np.arange(0, length - 10, 96.0), length)
    rows = fill_stretch(0, length, 5.5, 0.25, Fit.EVEN_GAPS), stepped_slots(posts, 5.5, 0.25)
    return [
        TopWish(
            name="paddock lane",
            line=line,
            slots=slots,
            start=0.0,
            end=length,
            least_height=70.0,
            cost=board_cost(
                line,
                slots,
                np.full(len(slots), 2.0),
                np.full(len(slots), 3.0),
                STOCK,
                BottomCut.SQUARE,
                0.125,
            ),
            mark=0.125,
            units=UnitSystem.IMPERIAL,
            posts=posts,
            limits=limits or TopLimits(),
        )
        for slots in rows
    ]


def timed(work: Callable[..., Any], *arguments: Any) -> tuple[float, Any]:
    start = process_time()
    result = work(*arguments)
    return process_time() - start, result


def table(name: str, sizes: Sequence[int], seconds: Sequence[float]) -> None:
    print(f"\n{name}")
    for k, (size, took) in enumerate(zip(sizes, seconds, strict=True)):
        power = ""
        if k and seconds[k - 1] > 0:
            power = f"  grows as n^{np.log(took / seconds[k - 1]) / np.log(size / sizes[k - 1]):.2f}"
        print(f"  {size:>7}  {took * 1000:10.1f} ms{power}")


TOPS = {
    "level": (choose_level, 0),
    "sloped": (choose_sloped, 0),
    "stepped": (choose_stepped, 1),
    "racked": (choose_racked, 0),
    "contour": (choose_contour, 0),
}


def test_five_tops() -> None:
    """Aim: all five for 10,000 pickets under 5 s."""
    sizes = [209, 1000, 3000, 10_000]
    both = [wishes(n) for n in sizes]
    timed(choose_racked, both[0][0])
    total = np.zeros(len(sizes))
    for name, (choose, which) in TOPS.items():
        seconds = [timed(choose, pair[which])[0] for pair in both]
        total += seconds
        table(f"{name} top, pickets", sizes, seconds)
    table("all five tops, pickets", sizes, list(total))


def test_small_job() -> None:
    """A 100 ft job, best of ten, scipy already loaded."""
    pair = wishes(209, spread=1.5)
    for name, (choose, which) in TOPS.items():
        took = min(timed(choose, pair[which])[0] for _ in range(10))
        print(f"\n  {name:8} {took * 1000:6.1f} ms", end="")


@pytest.mark.parametrize("equal", [False, True])
def test_stepped_bays(equal: bool) -> None:
    """Aim: 1,000 bays under 3 s; equal steps try every size of step and are shown for fewer."""
    bays = [50, 100, 200] if equal else [100, 300, 1000, 3000]
    limits = TopLimits(most_step=24.0, equal_steps=equal)
    seconds = [timed(choose_stepped, wishes(int(b * 16.7), limits)[1])[0] for b in bays]
    table(f"stepped top, {'equal' if equal else 'free'} steps, bays", bays, seconds)


def test_string_heights() -> None:
    """Aim: n log n in the pickets."""
    sizes = [1000, 10_000, 100_000]
    seconds = []
    for n in sizes:
        wish = wishes(n, spread=0.05)[0]
        took, heights = timed(string_heights, wish.line, wish.slots, choose_level(wish).top, wish.cost)
        seconds.append(took)
        print(f"\n  {n} pickets: {len(heights)} heights", end="")
    table("string heights, pickets", sizes, seconds)
