"""The error band: sizes, shapes, how local it is, repeats, faces, sag."""

import numpy as np
import pytest

from fencegrade.ground.fit import GroundProfile, fit_ground, ground_profile
from fencegrade.ground.profile import ground_line
from fencegrade.ground.sag import SharedSag

RNG = np.random.default_rng(11)
X = np.arange(20) * 48.0
Z = np.round(8 * np.cumsum(RNG.normal(0, 1.2, 20))) / 8
PROFILE = fit_ground(X, Z)
SLOTS = np.linspace(3, X[-1] - 3, 60)
MIDDLES = (X[1:] + X[:-1]) / 2


def scales(profile: GroundProfile, x: np.ndarray | float) -> np.ndarray:
    return profile.spread.at(x).scale


def test_a_reading_is_as_sure_as_its_error_and_the_middle_of_a_gap_is_not() -> None:
    at = PROFILE.spread.at(X)
    assert at.scale == pytest.approx(np.full(20, 0.1875))
    assert at.freedom == pytest.approx(np.full(20, 200.0))
    between = PROFILE.spread.at(MIDDLES)
    assert between.scale.min() > 1.3 * 0.1875
    assert between.freedom.max() < 8


def test_two_readings_have_the_usual_roughness() -> None:
    """2 in at 8 ft: 0.36 x 2 in x 1.1 half way, and half the variance of one reading (own arithmetic)."""
    for z in ([0, 0], [0, 40]):
        spread = fit_ground([0, 96], z).spread
        assert spread.roughness == pytest.approx([2.0])
        assert float(spread.at(48).scale) == pytest.approx(np.hypot(0.792, 0.1875 / np.sqrt(2)))


def test_shapes_follow_the_question() -> None:
    low, high = PROFILE.band(100.0)
    assert low.shape == high.shape == ()
    assert PROFILE.band(SLOTS.reshape(10, 6))[0].shape == (10, 6)
    assert (scales(PROFILE, SLOTS[::-1]) == scales(PROFILE, SLOTS)[::-1]).all()
    assert PROFILE.quantile(SLOTS[:, None], [0.1, 0.5, 0.9]).shape == (60, 3)
    assert PROFILE.quantile(SLOTS, 0.5) == pytest.approx(PROFILE.elevation(SLOTS))


@pytest.mark.parametrize("level", [0.0, 1.0, 95.0])
def test_a_level_is_a_chance(level: float) -> None:
    for call in (PROFILE.band, PROFILE.quantile):
        with pytest.raises(ValueError, match="level"):
            call(SLOTS, level)


def test_rougher_ground_and_wider_spacing_are_less_sure() -> None:
    inner = np.linspace(100, 700, 40)
    mean = scales(PROFILE, inner).mean()
    assert scales(fit_ground(X, Z / 6), inner).mean() < 0.7 * mean
    assert scales(fit_ground(X[::3], Z[::3]), inner).mean() > 1.3 * mean


def test_readings_on_the_line_sharpen_their_own_gap_alone() -> None:
    """Every 8 ft on quiet ground, then a gate's two posts on the straight line."""
    x = np.arange(13) * 96.0
    z = np.array([40, 38.5, 36, 34.5, 35, 37, 38, 36.5, 33, 31, 30.5, 32, 33])
    gate = np.array([243.0, 285.0])
    more = fit_ground(np.insert(x, 3, gate), np.insert(z, 3, [35.25, 34.5]))
    plain = fit_ground(x, z)
    far = np.concatenate([np.linspace(0, 96, 20), np.linspace(384, 1152, 80)])
    assert scales(more, far) / scales(plain, far) == pytest.approx(np.ones(100), abs=0.1)
    assert scales(more, 264.0) < 0.7 * scales(plain, 264.0)


def test_a_root_fully_read_raises_doubt_near_itself_only() -> None:
    """A root 3 in high between 22 and 26 ft, read a foot apart on ground of 1 in up and down."""
    x = np.array([*range(0, 24, 4), 22, 23, 24, 25, 26, *range(28, 64, 4)]) * 12.0
    usual = np.where(np.arange(len(x)) % 2, 1.0, 0.0)
    usual[6:11] = usual[6]
    root = np.interp(x, [264, 276, 300, 312], [0, 3, 3, 0])
    middles = (x[1:] + x[:-1]) / 2
    ratio = scales(fit_ground(x, usual + root), middles) / scales(fit_ground(x, usual), middles)
    near = np.abs(middles - 288) < 60
    assert ratio[~near].max() < 1.45
    assert ratio[near].max() > 2.2


def test_a_slipped_reading_raises_its_two_gaps() -> None:
    slipped = Z.copy()
    slipped[10] += 12
    ratio = scales(fit_ground(X, slipped), MIDDLES) / scales(PROFILE, MIDDLES)
    assert ratio[[9, 10]].min() > 4.5
    assert np.delete(ratio, [8, 9, 10, 11]).max() < 2.5


def test_repeats_make_a_reading_surer() -> None:
    line = ground_line(X, Z)
    once, often = (ground_profile(line, 0.5, (), n) for n in (1.0, 4.0))
    assert scales(often, X) == pytest.approx(scales(once, X) / 2)


def test_faces_split_what_is_known() -> None:
    x = np.concatenate([X[:10], [X[9]], X[10:]])
    z = np.concatenate([Z[:10], [Z[9] - 30], Z[10:] - 30])
    inner = SLOTS[(np.abs(SLOTS - X[9]) > 150)]
    ratio = scales(fit_ground(x, z), inner) / scales(PROFILE, inner)
    assert ratio == pytest.approx(np.ones(len(inner)), abs=0.15)
    unfaced = fit_ground(X, np.concatenate([Z[:10], Z[10:] - 30]))
    assert scales(unfaced, MIDDLES[9]) > 3 * scales(fit_ground(x, z), MIDDLES[9])


def test_sag_is_one_parabola_common_to_the_span_and_only_where_asked_for() -> None:
    sag = SharedSag(start=0.0, end=912.0, doubt=1.5)
    profile = ground_profile(PROFILE.line, sags=(sag,))
    plain = scales(PROFILE, SLOTS)
    assert (scales(profile, SLOTS) == plain).all()
    assert (profile.draws(SLOTS, 5) == PROFILE.draws(SLOTS, 5)).all()
    with_ = profile.spread.at(SLOTS, sag=True).scale
    assert with_**2 - plain**2 == pytest.approx(sag.shape(SLOTS) ** 2)
    error = profile.spread.draws(SLOTS, 800, sag=True) - PROFILE.draws(SLOTS, 800)
    shape = sag.shape(SLOTS)
    assert error / shape == pytest.approx((error[:, 30] / shape[30])[:, None] * np.ones(60))


def test_draws_are_the_same_each_time_and_move_together_within_a_gap() -> None:
    x = np.array([470.0, 476.0, 700.0])
    error = PROFILE.draws(x, 4000, seed=2) - PROFILE.elevation(x)
    together = np.asarray(np.corrcoef(error.T))
    assert together[0, 1] > 0.8
    assert abs(together[0, 2]) < 0.1
    assert (PROFILE.draws(x, 4000, seed=2) - PROFILE.elevation(x) == error).all()
    assert (PROFILE.draws(x, 4000, seed=3) - PROFILE.elevation(x) != error).any()
