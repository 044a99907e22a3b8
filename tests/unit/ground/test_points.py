"""Points projected on a run."""

from collections.abc import Sequence
from typing import Any

import numpy as np
import pytest

from fencegrade.ground.points import project, spots
from fencegrade.ground.survey import ground_from_survey
from fencegrade.job.survey import PointReading, PointSurvey
from fencegrade.problems import Severity
from fencegrade.units import UnitSystem

ENDS = {"from_xy": ("0 ft", "0 ft"), "to_xy": ("30 ft", "40 ft")}


def points(rows: Sequence[tuple[float, float, float]]) -> PointSurvey:
    return PointSurvey(
        source="plan.csv",
        rows=tuple(PointReading(line=i + 2, x=12 * x, y=12 * y, z=z) for i, (x, y, z) in enumerate(rows)),
    )


def solve(run: Any, rows: Sequence[tuple[float, float, float]]) -> tuple[Any, list[Any]]:
    ground, problems = ground_from_survey(run, points(rows), UnitSystem.IMPERIAL, 0.125)
    return ground, [p for p in problems if p.severity is Severity.MISTAKE]


def test_stations_and_offsets(a_run: Any) -> None:
    ground, wrong = solve(a_run(**ENDS), [(0, 0, 5), (6 - 0.8, 8 + 0.6, 7), (30, 40, 9)])
    assert not wrong
    assert ground.stations == pytest.approx([0, 120, 600])
    assert ground.elevations == pytest.approx([5, 7, 9])
    assert [r.offset for r in ground.reduction.readings] == pytest.approx([0, 12, 0])
    assert ground.reduction.farthest.line == 3


def test_projection_is_a_turn_of_the_axes() -> None:
    rng = np.random.default_rng(3)
    xy = rng.normal(size=(20, 2))
    along, off = project(xy, (1.0, 2.0), (4.0, -2.0))
    turn = np.array([[0.6, -0.8], [0.8, 0.6]])
    assert np.stack([along, off], axis=1) == pytest.approx((xy - [1.0, 2.0]) @ turn.T)
    assert np.hypot(along, off) == pytest.approx(np.hypot(*(xy - [1.0, 2.0]).T))


def test_points_come_in_any_order(a_run: Any) -> None:
    ground, _ = solve(a_run(**ENDS), [(30, 40, 9), (0, 0, 5), (15, 20, 7)])
    assert ground.elevations == pytest.approx([5, 7, 9])


def test_a_far_point_is_refused(a_run: Any) -> None:
    ground, (found,) = solve(a_run(**ENDS), [(0, 0, 5), (3, 14, 7), (30, 40, 9)])
    assert ground is None
    assert found.place == "plan.csv line 3"
    assert "72 in left" in found.found
    ground, wrong = solve(a_run(**ENDS, most_offset="7 ft"), [(0, 0, 5), (3, 14, 7), (30, 40, 9)])
    assert ground is not None
    assert not wrong


def test_points_of_two_lines_are_seen(a_run: Any) -> None:
    first = [(3.0 * k, 4.0 * k, 1.0) for k in range(8)]
    second = [(21 + 4.0 * k, 28 - 3.0 * k, 1.0) for k in range(1, 7)]
    _, (found,) = solve(a_run(**ENDS), first + second)
    assert "another line" in found.found
    assert found.place == "plan.csv lines 10 and 15"


def test_many_far_points_are_not_all_listed(a_run: Any) -> None:
    rng = np.random.default_rng(0)
    rows = [(float(x), float(y), 0.0) for x, y in rng.uniform(0, 40, (30, 2))]
    _, wrong = solve(a_run(**ENDS), [(0, 0, 0), *rows, (30, 40, 0)])
    assert 4 <= len(wrong) <= 6


def test_ends_of_the_run(a_run: Any) -> None:
    rows = [(0.0, 0.0, 5.0), (15.0, 20.0, 7.0), (30.0, 40.0, 9.0)]
    ground, problems = ground_from_survey(a_run(), points(rows), UnitSystem.IMPERIAL, 0.125)
    assert ground is not None
    assert ground.stations == pytest.approx([0, 300, 600])
    assert any("first point" in p.found for p in problems)
    _, (found,) = solve(a_run(from_xy=("0 ft", "0 ft")), rows)
    assert found.place == "job.toml run 1, to_xy"
    _, (found,) = solve(a_run(from_xy=("1 ft", "1 ft"), to_xy=("1 ft", "1 ft")), rows)
    assert "one and the same" in found.found


def test_a_point_taken_twice_is_one_spot(a_run: Any) -> None:
    ground, _ = solve(a_run(**ENDS), [(0, 0, 5), (15, 20, 7), (15.003, 20.004, 7.2), (30, 40, 9)])
    assert len(ground.stations) == 3
    assert ground.elevations[1] == pytest.approx(7.1)


def test_a_run_between_its_first_and_last_point_is_surveyed_whole(a_run: Any) -> None:
    """sqrt(37^2 + 41^2) ft is no round number; the run may say as much of it as it likes."""
    rows = [(0, 0, 5), (18.5, 20.5, 7), (37, 41, 9)]
    end = f"{12 * np.hypot(37, 41):.6f} in"
    ground, wrong = solve(a_run(start="0 ft", end=end), rows)
    assert not wrong
    assert ground.end == pytest.approx(12 * np.hypot(37, 41), abs=1e-5)
    assert ground.profile.end == ground.end


def test_points_of_one_spot_share_its_station() -> None:
    at = spots(np.array([0.1, 0.0, 50.3, 50.0, 50.2, 99.8, 100.0]))
    assert at == pytest.approx([0, 0, 50.0 + 0.3, 50, 50, 100, 100])


@pytest.mark.parametrize(
    ("stations", "found"),
    [
        ([0.0, 0.25, 10.0], [0, 0, 10]),
        ([0.0, 0.26, 10.0], [0, 0.26, 10]),
        # by the first of a spot, not from point to point; at the far end by the last
        ([0.0, 0.2, 0.4, 10.0], [0, 0, 0.4, 10]),
        ([10.0, 9.8, 0.0], [10, 10, 0]),
        ([9.7, 9.8, 9.9, 0.0, 10.0], [9.7, 9.7, 9.7, 0, 10]),
        ([3.0000001, 3.0], [3, 3]),
    ],
)
def test_points_near_each_other_are_one_spot(stations: list[float], found: list[float]) -> None:
    assert spots(np.array(stations)).tolist() == pytest.approx(found)


FAR = "more than 24 in; check its x and y and the run's from_xy and to_xy, or set most_offset"


@pytest.mark.parametrize(
    ("off", "told"),
    [
        ([0.0, 2.0, -2.0], []),
        (
            [0.0, 2.01, -3.0],
            [
                "line 4: the point at 2' 0\" lies 24-1/8 in left",
                "line 5: the point at 3' 0\" lies 36 in right",
            ],
        ),
        ([0.0, 2.001, 0.0], ["line 4: the point at 2' 0\" lies just over 24 in left"]),
    ],
)
def test_points_off_to_either_side_are_told(a_run: Any, off: list[float], told: list[str]) -> None:
    run = a_run(from_xy=("0 ft", "0 ft"), to_xy=("10 ft", "0 ft"))
    _, wrong = solve(run, [(0, 0, 5), *((k + 1.0, y, 5) for k, y in enumerate(off)), (10, 0, 5)])
    assert [str(p) for p in wrong] == [f"plan.csv {t} of the run, {FAR}" for t in told]


def test_six_scattered_points_are_told_five_by_five(a_run: Any) -> None:
    run = a_run(from_xy=("0 ft", "0 ft"), to_xy=("10 ft", "0 ft"))
    rows = [(0, 0, 5), *((k + 1.0, 30.0 * (-1) ** k, 5) for k in range(6)), (10, 0, 5)]
    _, wrong = solve(run, rows)
    assert [p.place for p in wrong] == [f"plan.csv line {k}" for k in range(3, 8)] + ["plan.csv"]
    assert wrong[-1].found == "1 more point as far off"
    assert len(solve(run, rows[:-2] + rows[-1:])[1]) == 5


def test_points_along_another_line_are_another_run(a_run: Any) -> None:
    run = a_run(from_xy=("0 ft", "0 ft"), to_xy=("10 ft", "0 ft"))
    corner = [(10.0, float(y), 5.0) for y in (4, 8, 12)]
    (found,) = solve(run, [(0, 0, 5), (5, 0, 5), (10, 0, 5), *corner])[1]
    assert str(found) == (
        "plan.csv lines 5 and 7: 3 of 6 points, from line 5 to line 7, lie along another line; make each "
        "straight line a run with its own survey, from_xy and to_xy"
    )
    assert len(solve(run, [(0, 0, 5), (5, 0, 5), (10, 0, 5), *corner[:2]])[1]) == 2


@pytest.mark.parametrize(
    ("keys", "rows", "told"),
    [
        (
            {"from_xy": ("0 ft", "0 ft")},
            [(0, 0, 5), (9, 0, 5)],
            "job.toml run 1, to_xy: to_xy is missing; a point survey needs both or neither",
        ),
        (
            {"to_xy": ("9 ft", "0 ft")},
            [(0, 0, 5), (9, 0, 5)],
            "job.toml run 1, from_xy: from_xy is missing; a point survey needs both or neither",
        ),
        (
            {"from_xy": ("0 ft", "0 ft"), "to_xy": ("0 ft", "11 in")},
            [(0, 0, 5), (9, 0, 5)],
            None,
        ),
        (
            {"from_xy": ("0 ft", "0 ft"), "to_xy": ("0 ft", "7/8 in")},
            [(0, 0, 5), (9, 0, 5)],
            "job.toml run 1, to_xy: the run's two points are one and the same; give from_xy and to_xy, two "
            "points along the fence",
        ),
        (
            {},
            [(0, 0, 5), (9, 0, 5), (0, 0, 5)],
            "job.toml run 1, to_xy: the first and the last point are the same; give from_xy and to_xy, two "
            "points along the fence",
        ),
    ],
)
def test_the_two_ends_of_a_run_by_points(
    a_run: Any, keys: dict[str, Any], rows: list[tuple[float, float, float]], told: str | None
) -> None:
    wrong = [str(p) for p in solve(a_run(**keys), rows)[1]]
    assert (wrong == [told]) if told else all("to_xy is" not in w and "same" not in w for w in wrong)


def test_without_ends_the_run_is_from_the_first_point_to_the_last(a_run: Any) -> None:
    ground, _ = solve(a_run(), [(0, 0, 5), (5, 0, 7), (10, 0, 9)])
    assert ground.stations.tolist() == [0, 60, 120]
    assert [str(p) for p in ground.notes if "first point" in p.found] == [
        "plan.csv: the run is taken from the first point of the survey to its last; give from_xy and to_xy "
        "if it runs elsewhere"
    ]
