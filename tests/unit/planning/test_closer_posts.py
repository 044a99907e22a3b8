"""A shorter rail that nearly reaches: what is told is what the plan then costs."""

import math
from collections.abc import Callable
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
from written import written

from fencegrade.job.read import Job
from fencegrade.job.records import Posts, Stock
from fencegrade.planning.buying import buying_list
from fencegrade.planning.closer_posts import (
    _dearest_post,
    _one_board_each,
    _rails_cost,
    _spacing,
    _to_set,
    _ways,
)
from fencegrade.planning.plan import plan_fence
from fencegrade.units.words import Words

WriteJob = Callable[..., Job]

LEVEL = "station [ft],elevation [in]\n0,0\n12,0\n24,0\n39.6666666667,0\n"
POSTS = '[[posts.stock]]\nlength = "8 ft"\nprice = 14.6\n'
LONG = '[[rails.stock]]\nlength = "10 ft"\nprice = 9.10\n'


def rails(longer: str) -> str:
    return f'[posts]\n{POSTS}[rails]\n[[rails.stock]]\nlength = "8 ft"\nprice = 6.90\n{longer}'


def test_end_bays_a_little_narrower_let_the_short_rail_reach(write_job: WriteJob) -> None:
    """39 ft 8 in in five bays: even ones of 95.2 in want end rails of 96.95; 94-1/4 at the ends does."""
    plan = plan_fence(write_job(rails(LONG), lane=LEVEL))
    (told,) = [p for p in plan.problems if p.place == "posts and rails"]
    assert "rails of 8 ft reach in every bay" in told.found
    assert "with the same posts" in told.found
    other = plan_fence(write_job(rails(""), lane=LEVEL))
    spared = (buying_list(plan).cost or 0.0) - (buying_list(other).cost or 0.0)
    assert f"{spared:.2f} less" in told.found
    assert spared > 5


def test_a_post_more_is_taken_off_what_shorter_rails_spare(write_job: WriteJob) -> None:
    """Bays of 10 ft at most: four rails of 10 ft a row for 30, or five of 8 ft for 6.90 and a post more."""

    def keys(longer: str) -> str:
        return rails(longer).replace(POSTS, f'spacing = "10 ft"\nbag_price = 6.0\n{POSTS}')

    plan = plan_fence(write_job(keys(LONG.replace("9.10", "30.0")), lane=LEVEL))
    other = plan_fence(write_job(keys(""), lane=LEVEL))
    assert len(other.runs[0].posts) == len(plan.runs[0].posts) + 1
    spared = (buying_list(plan).cost or 0.0) - (buying_list(other).cost or 0.0)
    (told,) = [p for p in plan.problems if p.place == "posts and rails"]
    assert told.found.endswith(" less or better with 1 more post")
    least = float(told.found.split(": ")[1].split()[0])
    assert spared - 3 * 6 < least <= spared, "but for the bags that the dearest hole takes more"


def test_nothing_is_told_where_the_short_rail_reaches_or_has_no_price(write_job: WriteJob) -> None:
    for keys in (rails(""), rails(LONG).replace("price = 9.10", "").replace("price = 6.90", "")):
        assert not [p for p in plan_fence(write_job(keys, lane=LEVEL)).problems if "rails of 8 ft" in p.found]


def bays(slope: float, extra: float, rails: list[float], standing: tuple[bool, ...] = ()) -> Any:
    """As much of a layout as is read of its bays."""
    return SimpleNamespace(
        bays=SimpleNamespace(
            slope=np.array([0.0, slope]),
            extra=np.array([0.0, extra]),
            taken=np.array(rails),
            standing=np.array(standing, dtype=bool),
        )
    )


def test_the_spacing_at_which_a_rail_reaches_by_hand() -> None:
    """A rail of 100 in along 3 in 4 is 80 level, less the 1-3/4 in it covers past the posts; one 4 in high
    takes
    3 in more of its board."""
    runs: Any = [SimpleNamespace(layout=bays(-0.75, 1.0, [])), SimpleNamespace(layout=bays(0.5, 1.75, []))]
    job: Any = SimpleNamespace(tape=0.125, rails=SimpleNamespace(height=4.0))
    assert _spacing(job, runs, Stock(length=103.0)) == 78.25
    assert _spacing(job, runs, Stock(length=103.1)) == 78.25
    assert _spacing(job, runs, Stock(length=103.25)) == 78.375


def test_every_rail_but_the_longest_may_be_made_to_reach(write_job: WriteJob) -> None:
    lengths = "".join(f'[[rails.stock]]\nlength = "{feet} ft"\n' for feet in (6, 8, 10, 12))
    job, runs = write_job(f"[rails]\n{lengths}"), [SimpleNamespace(layout=bays(0.0, 0.0, []))]
    ways = list(_ways(job, runs, job.rails.stock, Words.of(job.job)))  # type: ignore[arg-type]  # its bays alone
    assert [w.told for w in ways if "every bay" in w.told] == [
        f"with some bays a little narrower rails of {feet} ft reach in every bay" for feet in (6, 8, 10)
    ]
    assert [len(w.job.rails.stock) for w in ways if "every bay" in w.told] == [1, 2, 3]


def test_posts_to_set_and_rails_by_the_board() -> None:
    layouts: Any = [bays(0, 0, [90.0, 96.0], (True, False)), bays(0, 0, [100.0], (False, False, False))]
    assert _to_set(layouts) == 4
    rows: Any = [SimpleNamespace(rails=SimpleNamespace(row=np.array(r))) for r in ([0, 1, 2], [0, 1])]
    stock = [Stock(length=96.0, price=5.0), Stock(length=120.0, price=8.0), Stock(length=144.0, price=7.0)]
    # three rows of two bays at 5, two rows of one bay at 7, the longer being cheaper
    assert _rails_cost(layouts, rows, stock) == 3 * 2 * 5 + 2 * 7
    assert _rails_cost(layouts, rows, stock[:1]) is None
    made: Any = [
        SimpleNamespace(
            rail_pieces=SimpleNamespace(length=np.array([94.0, 95.1, 50.0]), ends=np.array([2.0, 1.0, 0.0])),
            rails_coming=np.array([True, True, False]),
        )
    ]
    assert _one_board_each(made, stock) == 5 + 7
    assert _one_board_each(made, stock[:1]) == math.inf


def test_the_dearest_post_and_its_concrete() -> None:
    """Half of 10 ft in the ground: 60 in of a 10 in hole, a tenth more, in bags of 80 lb."""
    stock = (Stock(length=96.0, price=14.0), Stock(length=120.0, price=12.0))
    keys = {
        "width": "3-1/2 in",
        "spacing": "8 ft",
        "height": "-2 in",
        "hole_diameter": "10 in",
        "least_depth": "0 in",
    }
    posts = written(Posts, **keys, concrete_extra=1.1, stock=[{"length": "8 ft"}])
    volume = (math.pi / 4 * 100 - 3.5**2) * 60 / 1728 * 1.1
    for bag, cost in ((5.0, 14 + 5 * math.ceil(volume / 0.6)), (None, 14)):
        job: Any = SimpleNamespace(posts=replace(posts, stock=stock, bag_price=bag))
        assert _dearest_post(job) == cost
