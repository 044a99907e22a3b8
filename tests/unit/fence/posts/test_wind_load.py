"""What the wind does to each post, by hand, and what is said of it, whole."""

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from written import written

from fencegrade.fence.bays.bays import Bays, lay_bays
from fencegrade.fence.posts.wind_load import load_words, wind_load
from fencegrade.job.site import Site
from fencegrade.units import UnitSystem
from fencegrade.units.words import Words

POROUS = "air through gaps between pickets is not counted"
FIGURE = "ASCE 7-10 figure 29.4-1, ASCE 7-16 figure 29.3-1, s/h = 1"
UNCHECKED = "(not checked against the document)"
RESTATED = "(seen in a source that restates the document)"


def bays_of(make: SimpleNamespace, count: int) -> Bays:
    length = 96.0 * count
    bays, _ = lay_bays(make.run(), make.posts(), make.rails("10 ft"), make.ground(length), 0.0, length)
    assert bays is not None
    return bays


def said(make: SimpleNamespace, count: int, words: Words | None = None, **keys: Any) -> list[str]:
    bays, heights = bays_of(make, count), np.full(count + 1, 72.0)
    site = written(Site, **keys)
    return load_words(site, wind_load(site, bays, heights), bays, heights, words or make.say)


def speed(of: str, exposure: str, q: str, units: str, kz: str, cf: str) -> str:
    return (
        f"wind {of}, exposure {exposure}: q = {q} Kz Kzt Kd Ke V^2 in {units} (ASCE 7-16 equation 26.10-1 "
        f"{RESTATED}), Kz {kz} (ASCE 7-16 table 26.10-1, 0 to 15 ft {UNCHECKED}), Kzt 1 for no hill or "
        f"escarpment that speeds the wind up, Kd 0.85 (ASCE 7-16 table 26.6-1, solid freestanding walls "
        f"{UNCHECKED}), Ke 1 for sea level; the pressure is q G Cf, G 0.85 (ASCE 7-16 section 26.11, rigid "
        f"{RESTATED}), Cf {cf} ({FIGURE} {UNCHECKED}), times 0.6 (ASCE 7-16 section 2.4, wind in "
        f"allowable-stress combinations {UNCHECKED})"
    )


def ends(which: str, most: str) -> str:
    return (
        f"case C of that figure, the ends of a run, governs {which}: Cf up to {most} by the distance from "
        f"the nearer end in heights, in which the factor 0.8 (ASCE 7-16 figure 29.3-1: 1.8 - s/h, s/h = 1 "
        f"{UNCHECKED}) is counted, averaged over what a post carries; nothing is taken off for corners"
    )


@pytest.mark.parametrize(
    ("count", "cf", "told"),
    [
        (1, "1.433", "cases A and B of that figure govern every post, case C (ends of a run) none"),
        (2, "1.383", ends("posts 1-3", "1.99")),
        (4, "1.347", ends("posts 1-2, 4-5, cases A and B post 3", "2.53")),
        (8, "1.300", ends("posts 1-3, 7-9, cases A and B posts 4-6", "3.04")),
    ],
)
def test_a_speed_is_told_with_all_that_makes_it_a_pressure(
    make: SimpleNamespace, count: int, cf: str, told: str
) -> None:
    by_speed = speed("115 mph", "C", "0.00256", "psf, mph", "0.85", cf)
    assert said(make, count, wind_speed="115 mph") == [by_speed, told, POROUS]


def test_in_metric_words_and_another_exposure(make: SimpleNamespace) -> None:
    metric = Words(system=UnitSystem.METRIC, mark=1 / 25.4)
    # 0.00256 psf/mph^2 = 0.00256 x 47.880259 / 0.44704^2 = 0.613 Pa/(m/s)^2
    by_speed = speed("45.0 m/s", "B", "0.613", "Pa, m/s", "0.57", "1.433")
    assert said(make, 1, metric, wind_speed="45 m/s", exposure="B")[0] == by_speed


@pytest.mark.parametrize("system", UnitSystem)
def test_a_pressure_given_is_told_as_given(make: SimpleNamespace, system: UnitSystem) -> None:
    given = {UnitSystem.IMPERIAL: "12 psf", UnitSystem.METRIC: "0.575 kPa"}[system]
    told = (
        f"pressure of {given} on the fence as given, no factor applied, at the ends of the run too: ends "
        f"take more wind (case C of {FIGURE}), so the pressure given has to count them"
    )
    words = Words(system=system, mark=1 / 8)
    assert said(make, 2, words, wind_pressure="12 psf") == [told, POROUS]


def test_no_wind_at_all(make: SimpleNamespace) -> None:
    assert said(make, 2) == ["no wind is given", POROUS]
    load = wind_load(Site(), bays_of(make, 2), np.full(3, 72.0))
    assert (load.pressure, load.taken.tolist(), load.force.tolist()) == (0.0, [0.0] * 3, [0.0] * 3)


def test_two_bays_by_hand(make: SimpleNamespace) -> None:
    """16 ft by 6 ft, B/s = 2.667: two thirds of the way between the columns for 2 and for 3."""
    load = wind_load(written(Site, wind_speed="100 mph"), bays_of(make, 2), np.full(3, 72.0))
    q = 0.00256 * 0.85 * 0.85 * 100**2
    first, second = (0.8 * (a + (b - a) * 2 / 3) for a, b in ((2.25, 2.60), (1.50, 1.70)))
    assert load.velocity_pressure == pytest.approx(q)
    # the end posts carry 0 to 4 ft, all of it in the first zone; the middle one 4 to 12 ft: 2 ft of the
    # first zone, 6 of the second
    assert load.coefficient[[0, 2]] == pytest.approx([first, first])
    assert load.coefficient[1] == pytest.approx((2 * first + 6 * second) / 8)
    assert load.taken == pytest.approx(0.6 * q * 0.85 * load.coefficient)
    assert load.force == pytest.approx(load.taken * np.array([24, 48, 24]))
    assert load.ends.tolist() == [True] * 3


@pytest.mark.parametrize(("height", "governed"), [(96.0, True), (96.25, False)])
def test_end_zones_from_twice_as_long_as_high(make: SimpleNamespace, height: float, governed: bool) -> None:
    load = wind_load(written(Site, wind_speed="100 mph"), bays_of(make, 2), np.full(3, height))
    assert load.ends.any() == governed
    assert [load.case(k) for k in (0, 2)] == ["C" if governed else "A and B"] * 2


def test_a_pressure_given_has_no_case(make: SimpleNamespace) -> None:
    load = wind_load(written(Site, wind_pressure="12 psf"), bays_of(make, 2), np.full(3, 72.0))
    assert [load.case(k) for k in range(3)] == ["as given"] * 3
    assert load.velocity_pressure is None
    assert load.force.tolist() == [288.0, 576.0, 288.0]
