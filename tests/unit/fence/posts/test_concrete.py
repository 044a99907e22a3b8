import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from fencegrade.fence.posts.concrete import concrete_for, hole_volume


def _line(depths: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Depths of line posts."""
    return depths, np.zeros(len(depths), dtype=bool)


def test_a_long_run_of_holes_wants_delivery(make: SimpleNamespace) -> None:
    """102 holes of 10 in by 30 in: 129.1 cubic feet with a tenth more, 216 bags of 80 lb, 17,280 lb."""
    concrete = concrete_for(*_line(np.full(102, 30.0)), make.posts())
    assert concrete.ordered == pytest.approx(129.1, abs=0.05)
    assert concrete.yards == pytest.approx(4.78, abs=0.005)
    assert concrete.bags_in_all == 216
    assert concrete.weight == pytest.approx(17_280)
    assert concrete.delivered
    assert concrete.heavy
    assert not concrete_for(*_line(np.full(1, 30.0)), make.posts(bag="40 lb")).heavy
    assert (concrete.bags == 2).all()


def test_a_few_holes_are_bags(make: SimpleNamespace) -> None:
    concrete = concrete_for(*_line(np.array([24.0, 30.0])), make.posts(gravel="6 in"))
    assert not concrete.delivered
    assert concrete.gravel == pytest.approx(2 * np.pi / 4 * 100 * 6 / 1728)
    assert concrete.bags.tolist() == [2, 2]


def test_thicker_posts_take_less_concrete(make: SimpleNamespace) -> None:
    assert hole_volume(12, 36, 5.5, 5.5) < hole_volume(12, 36, 3.5, 5.5) < hole_volume(12, 36, 3.5, 3.5)
    thick = concrete_for(*_line(np.array([30.0])), make.posts(thickness="5-1/2 in"))
    assert thick.net < concrete_for(*_line(np.array([30.0])), make.posts()).net


def test_a_hole_narrower_than_the_post(make: SimpleNamespace) -> None:
    with pytest.raises(ValueError, match=r"^the hole has less section than the post$"):
        concrete_for(*_line(np.array([30.0])), make.posts(hole_diameter="3 in"))


def test_bags_gravel_and_water_by_hand(make: SimpleNamespace) -> None:
    """Holes of just two bags and of just three, a quarter more to buy; a gate's hole is wider."""
    posts = make.posts(
        hole_diameter="10 in",
        gate_hole_diameter="16 in",
        gate_width="5-1/2 in",
        concrete_extra=1.2,
        gravel="6 in",
    )
    line, gate = math.pi / 4 * 100 - 3.5**2, math.pi / 4 * 256 - 5.5**2
    depths = np.array([1.2 * 1728 / line, 1.8 * 1728 / gate])
    concrete = concrete_for(depths, np.array([False, True]), posts)
    assert concrete.net == pytest.approx(3.0)
    assert concrete.bags.tolist() == [2, 3]
    assert concrete.bags_in_all == 6
    assert concrete.weight == 480
    assert concrete.water == pytest.approx(4.5), "three quarts a bag"
    assert concrete.gravel == pytest.approx(math.pi / 4 * (100 + 256) * 6 / 1728)
    assert concrete.gravel_bags == 2, "0.97 cubic feet; a bag holds half of one"


@pytest.mark.parametrize(("bag", "heavy"), [("51 lb", False), ("52 lb", True)])
def test_a_bag_over_51_lb_is_a_lift_for_two(make: SimpleNamespace, bag: str, heavy: bool) -> None:
    assert concrete_for(*_line(np.array([30.0])), make.posts(bag=bag)).heavy == heavy


def test_gravel_that_just_fills_its_bags_takes_no_more(make: SimpleNamespace) -> None:
    gravel = 1728 / (math.pi / 4 * 100)  # inches of it that are one cubic foot
    concrete = concrete_for(*_line(np.array([30.0])), replace(make.posts(), gravel=gravel))
    assert concrete.gravel_bags == 2
