"""The local height limit as each rule measures it."""

import numpy as np
import pytest
from scipy.integrate import quad

from fencegrade.fence.slots import Slots
from fencegrade.fence.tops.height_limit import check_heights, height_remarks, highest_allowed, mean_height
from fencegrade.fence.tops.line import TopLine
from fencegrade.fence.tops.table import TopStyle
from fencegrade.ground.profile import ground_line
from fencegrade.job.choices import HeightRule
from fencegrade.units import UnitSystem

LINE = ground_line([0, 24, 48, 72, 96], [0, -4, -10, -3, 0])
SLOTS = Slots(left=np.array([0.0, 45.25, 90.0]), right=np.array([6.0, 50.75, 96.0]))
TOP = TopLine(style=TopStyle.LEVEL, stations=np.array([0.0, 96.0]), elevations=np.array([75.0, 75.0]))
FACE = ground_line([0, 24, 48, 48, 72, 96], [0, 0, 0, -30, -30, -30])


def test_every_point_takes_the_lowest_ground_under_the_board() -> None:
    check = check_heights(LINE, SLOTS, TOP, 84.0, HeightRule.EVERY_POINT)
    assert check.tallest == pytest.approx(85.0)
    assert check.picket == 1
    assert check.station == pytest.approx(48.0)
    assert check.over.tolist() == [False, True, False]


def test_average_is_the_exact_mean_over_the_stretch() -> None:
    expected = quad(lambda x: 75 - float(LINE.elevation(x)), 0, 96, points=[24, 48, 72])[0] / 96
    assert mean_height(LINE, TOP, 0, 96) == pytest.approx(expected, rel=1e-9)
    check = check_heights(LINE, SLOTS, TOP, 84.0, HeightRule.AVERAGE)
    assert check.measured == pytest.approx([expected] * 3)
    assert not check.over.any()
    assert check_heights(LINE, SLOTS, TOP, 78.0, HeightRule.AVERAGE).over.all()


def test_average_of_a_part_that_begins_and_ends_between_readings() -> None:
    # ground 10 (3 t^2 - 2 t^3) with t = x / 100: from t = 0.2 to 0.6 it has the mean
    # 10 ((0.6^3 - 0.2^3) - (0.6^4 - 0.2^4) / 2) / 0.4 = 3.6
    wave = ground_line([-100, 0, 100, 200], [0, 0, 10, 10])
    level = TopLine(style=TopStyle.LEVEL, stations=np.array([0.0, 100]), elevations=np.array([75.0, 75]))
    assert mean_height(wave, level, 20, 60) == pytest.approx(75 - 3.6)
    slope = TopLine(style=TopStyle.SLOPED, stations=np.array([0.0, 100]), elevations=np.array([70.0, 80]))
    assert mean_height(wave, slope, 20, 60) == pytest.approx(74 - 3.6)
    for a, b in ((5, 91), (30, 31), (50, 70)):
        points = [x for x in (24, 48, 72) if a < x < b]
        whole = quad(lambda x: 75 - float(LINE.elevation(x)), a, b, points=points or None)[0]
        assert mean_height(LINE, TOP, a, b) == pytest.approx(whole / (b - a), rel=1e-9)


def test_mean_height_of_a_stepped_top() -> None:
    top = TopLine(
        style=TopStyle.STEPPED,
        stations=np.array([0.0, 48.0, 48.0, 96.0]),
        elevations=np.array([72.0, 72.0, 42.0, 42.0]),
    )
    assert mean_height(FACE, top, 0, 96) == pytest.approx(72.0)
    assert mean_height(FACE, top, 24, 96) == pytest.approx(72.0)


def test_lower_side_counts_beside_a_face_only() -> None:
    slots = Slots(left=np.array([30.0, 42.0, 48.0, 60.0]), right=np.array([36.0, 47.9, 54.0, 66.0]))
    check = check_heights(FACE, slots, TOP, 80.0, HeightRule.LOWER_SIDE)
    assert check.measured == pytest.approx([75, 105, 105, 105])
    own = check_heights(FACE, slots, TOP, 80.0, HeightRule.EVERY_POINT)
    assert own.measured == pytest.approx([75, 75, 105, 105])


def test_highest_allowed_is_where_the_check_begins_to_fail() -> None:
    for rule in (HeightRule.EVERY_POINT, HeightRule.LOWER_SIDE):
        limit = highest_allowed(LINE, SLOTS, 80.0, rule)
        assert 75.0 - limit + 80.0 == pytest.approx(check_heights(LINE, SLOTS, TOP, 80.0, rule).measured)
    assert np.isinf(highest_allowed(LINE, SLOTS, 80.0, HeightRule.AVERAGE)).all()
    assert np.isinf(highest_allowed(LINE, SLOTS, None, HeightRule.EVERY_POINT)).all()


def test_remark_names_the_tallest_and_where() -> None:
    check = check_heights(LINE, SLOTS, TOP, 84.0, HeightRule.EVERY_POINT)
    (problem,) = height_remarks(check, "paddock lane", UnitSystem.IMPERIAL, 0.125)
    assert problem.place == "paddock lane, picket 2"
    assert "7' 1\" at picket 2" in problem.found
    assert "4' 0\"" in problem.found
    fine = check_heights(LINE, SLOTS, TOP, 90.0, HeightRule.EVERY_POINT)
    assert height_remarks(fine, "paddock lane", UnitSystem.IMPERIAL, 0.125) == []


ASK = "ask the permit office how height is measured, lower the top, or choose another top"


@pytest.mark.parametrize(
    ("rule", "limit", "told"),
    [
        (
            HeightRule.AVERAGE,
            78.0,
            "lane, pickets 1-3: the top stands 6' 7-3/8\" above the ground on average, over the limit of 6' "
            '6"',
        ),
        (
            HeightRule.EVERY_POINT,
            84.0,
            "lane, picket 2: 1 of 3 pickets over the limit of 7' 0\" (every point): 7' 1\" at picket 2, over "
            "the ground at 4' 0\"",
        ),
        (HeightRule.EVERY_POINT, 85.0, None),
        (
            HeightRule.EVERY_POINT,
            74.0,
            "lane, pickets 1-3: 3 of 3 pickets over the limit of 6' 2\" (every point): 7' 1\" at picket 2, "
            "over the ground at 4' 0\"",
        ),
    ],
)
def test_what_is_said_of_each_rule(rule: HeightRule, limit: float, told: str | None) -> None:
    found = height_remarks(check_heights(LINE, SLOTS, TOP, limit, rule), "lane", UnitSystem.IMPERIAL, 0.125)
    assert [f"{p.severity}, {p}" for p in found] == [f"warning, {told}; {ASK}"] * bool(told)
