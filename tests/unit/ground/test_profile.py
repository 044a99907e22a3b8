"""The ground line: exact extremes, faces, refusals."""

from collections.abc import Callable

import numpy as np
import pytest

from fencegrade.ground.fit import fit_ground
from fencegrade.ground.profile import ground_line

FACED = ground_line([0, 48, 96, 96, 144, 192, 240, 288], [0, 4, 3, -20, -22, -18, -25, -24])


def test_elevations_at_readings_and_faces() -> None:
    assert FACED.elevation([0, 48, 96, 144, 288]) == pytest.approx([0, 4, -20, -22, -24])
    assert FACED.elevation([96.0, 48.0], before=True) == pytest.approx([3, 4])
    assert list(FACED.faces) == [96]
    assert (FACED.start, FACED.end) == (0, 288)


def test_lists_tuples_and_arrays_of_any_numbers_make_the_same_line() -> None:
    whole = np.array([0, 48, 96])
    made = (
        ground_line([0, 48, 96], (0, 4, 3)),
        ground_line(whole, np.array([0, 4, 3], dtype=np.float32)),
        fit_ground(whole * 1.0, [0, 4.0, 3], breaks=whole[1:2]).line,
    )
    assert {(*line.stations, *line.elevations) for line in made} == {(0, 48, 96, 0, 4, 3)}


def test_stretches_take_their_own_side_of_a_face() -> None:
    under = FACED.under([50.0, 96.0, 90.0, 96.0], [96.0, 100.0, 100.0, 96.0])
    assert under.right[0] == 3
    assert under.left[1] == -20
    assert under.highest == pytest.approx([*FACED.elevation([50.0, 96.0, 90.0]), -20])
    assert under.lowest == pytest.approx([3, *FACED.elevation([100.0, 100.0]), -20])
    assert under.right[3] == -20


def test_order_and_shape_of_stretches_do_not_matter() -> None:
    rng = np.random.default_rng(1)
    a = rng.uniform(0, 280, 400)
    b = np.minimum(a + rng.uniform(0, 60, 400), 288)
    order = np.argsort(a)
    mixed, sorted_ = FACED.extremes(a, b), FACED.extremes(a[order], b[order])
    for one, two in zip(mixed, sorted_, strict=True):
        assert (one[order] == two).all()
    square = FACED.highest(a.reshape(20, 20), b.reshape(20, 20))
    assert (square.ravel() == mixed[0]).all()
    assert FACED.highest(10.0, 20.0).shape == ()


def test_many_stretches_in_order_that_end_at_readings_and_faces() -> None:
    """The quick count of readings under ascending stretches, against one stretch at a time."""
    edges = np.arange(0, 289, 12.0)
    a, b = edges[:-1], edges[1:]
    together = FACED.under(a, b)
    for k in range(len(a)):
        alone = FACED.under(a[k], b[k])
        assert (together.highest[k], together.lowest[k]) == (alone.highest, alone.lowest)
    assert together.lowest[7] == 3
    assert together.highest[8] == -20


def test_three_readings_are_joined_straight() -> None:
    line = ground_line([0, 48, 96], [0, 10, 0])
    assert line.elevation([12, 24, 84]) == pytest.approx([2.5, 5, 2.5])


def test_nothing_is_extrapolated() -> None:
    calls: tuple[Callable[[], object], ...] = (
        lambda: FACED.elevation(-0.1),
        lambda: FACED.highest(200, 289),
        lambda: FACED.lowest(50, 40),
    )
    for call in calls:
        with pytest.raises(ValueError, match="within the readings"):
            call()
    with pytest.raises(ValueError, match="within the readings"):
        fit_ground([0, 48, 96], [0, 1, 2]).band([97.0])
    with pytest.raises(ValueError, match="within the readings"):
        FACED.elevation(float("nan"))


@pytest.mark.parametrize(
    ("x", "z", "words"),
    [
        ([0], [1], "two readings"),
        ([0, 1], [1, 2, 3], "two readings"),
        ([0, 2, 1], [1, 2, 3], "ascend"),
        ([0, 1, 1, 1, 2], [1, 2, 3, 4, 5], "ascend"),
        ([0, 0, 1], [1, 2, 3], "both sides"),
        ([0, 1, 1], [1, 2, 3], "both sides"),
        ([0, float("nan")], [1, 2], "finite"),
    ],
)
def test_unfit_readings_are_refused(x: list[float], z: list[float], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        fit_ground(x, z)
