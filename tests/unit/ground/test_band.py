"""The error band: shape, sizes, chances, draws, long surveys."""

import numpy as np
import pytest
from scipy import stats

from fencegrade.ground.band import GroundBand
from fencegrade.ground.fit import GroundProfile, fit_ground
from fencegrade.ground.sag import SharedSag

RNG = np.random.default_rng(11)
X = np.arange(20) * 48.0
Z = np.round(8 * np.cumsum(RNG.normal(0, 1.2, 20))) / 8
PROFILE = fit_ground(X, Z)
SLOTS = np.linspace(3, X[-1] - 3, 60)


def test_narrow_at_readings_wide_between() -> None:
    middle = PROFILE.spread.deviation((X[1:] + X[:-1]) / 2)
    at = PROFILE.spread.deviation(X)
    assert np.median(at) < 0.1875 * 1.3
    assert middle.min() > 2 * np.median(at)


def test_the_band_is_a_student_t_about_the_line() -> None:
    line, deviation = PROFILE.elevation(SLOTS), PROFILE.spread.deviation(SLOTS)
    nu = PROFILE.spread.at(SLOTS).freedom
    scale = deviation * np.sqrt((nu - 2) / nu)
    for level in (0.5, 0.8, 0.95):
        low, high = PROFILE.band(SLOTS, level)
        half = stats.t.ppf(0.5 + level / 2, nu) * scale
        assert high - line == pytest.approx(half)
        assert line - low == pytest.approx(half)
    assert PROFILE.spread.chance_off(SLOTS, 0.5) == pytest.approx(2 * stats.t.sf(0.5 / scale, nu))


def test_reading_errors_are_gaussian_and_rough_ground_has_long_tails() -> None:
    spread = PROFILE.spread.at([X[10], (X[10] + X[11]) / 2])
    assert spread.freedom[0] > 8
    assert 5 <= spread.freedom[1] < 7
    calm = fit_ground(X, np.zeros(20), 0.5).spread.at(SLOTS)
    assert calm.freedom.min() > 8


def test_shapes_follow_the_question() -> None:
    low, high = PROFILE.band(100.0)
    assert low.shape == high.shape == ()
    assert PROFILE.band(SLOTS.reshape(10, 6))[0].shape == (10, 6)
    assert PROFILE.spread.deviation(SLOTS[::-1]) == pytest.approx(PROFILE.spread.deviation(SLOTS)[::-1])


@pytest.mark.parametrize("level", [0.0, 1.0, 95.0])
def test_a_level_is_a_chance(level: float) -> None:
    with pytest.raises(ValueError, match="level"):
        PROFILE.band(SLOTS, level)


def test_two_and_three_readings_have_a_band() -> None:
    for n in (2, 3):
        low, high = fit_ground(X[:n], Z[:n]).band([10.0, 24.0])
        assert np.isfinite(low).all()
        assert (high > low).all()


def test_rougher_ground_and_wider_spacing_are_less_sure() -> None:
    smooth = fit_ground(X, Z / 6)
    wide = fit_ground(X[::3], Z[::3])
    inner = np.linspace(100, 700, 40)
    mean = PROFILE.spread.deviation(inner).mean()
    assert smooth.spread.deviation(inner).mean() < 0.6 * mean
    assert wide.spread.deviation(inner).mean() > 1.3 * mean


def test_a_local_surprise_widens_the_band_around_it_only() -> None:
    calm = np.zeros(40)
    calm[::2] = 0.25
    bumpy = calm.copy()
    bumpy[10] = 8.0
    x = np.arange(40) * 48.0
    at = fit_ground(x, bumpy).spread.deviation([10.5 * 48, 33.5 * 48])
    assert at[0] > 3 * at[1]


def test_draws_agree_with_the_deviation_and_move_together() -> None:
    draws = PROFILE.spread.draws(SLOTS, 1500, seed=2)
    assert draws.shape == (1500, 60)
    error = draws - PROFILE.elevation(SLOTS)
    ratio = error.std(axis=0) / PROFILE.spread.deviation(SLOTS)
    assert np.median(ratio) == pytest.approx(1.0, abs=0.08)
    near, far = np.corrcoef(error[:, 26], error[:, 27])[0, 1], np.corrcoef(error[:, 26], error[:, 52])[0, 1]
    assert near > 0.6
    assert abs(far) < 0.25
    assert (PROFILE.spread.draws(SLOTS, 5, seed=2) == PROFILE.spread.draws(SLOTS, 5, seed=2)).all()


def test_sag_is_one_parabola_common_to_the_span() -> None:
    sag = SharedSag(start=0.0, end=912.0, doubt=1.5)
    profile = GroundProfile(
        line=PROFILE.line, reading_error=0.1875, breaks=np.zeros(0), count=np.ones(20), sags=(sag,)
    )
    with_, without = profile.spread.deviation(SLOTS), PROFILE.spread.deviation(SLOTS)
    assert with_**2 - without**2 == pytest.approx(sag.shape(SLOTS) ** 2)
    assert profile.spread.deviation(SLOTS, sag=False) == pytest.approx(without)
    error = profile.spread.draws(SLOTS, 800) - PROFILE.spread.draws(SLOTS, 800)
    shape = sag.shape(SLOTS)
    assert error / shape == pytest.approx((error[:, 30] / shape[30])[:, None] * np.ones(60))


def test_repeats_make_a_reading_surer() -> None:
    once, often = (
        GroundBand(
            line=PROFILE.line, count=np.full(20, n), noise=0.5**2, at_break=np.zeros(20, dtype=bool)
        ).deviation(X)
        for n in (1.0, 4.0)
    )
    assert (often < once).all()
    assert np.median(often / once) < 0.75


def test_faces_split_what_is_known() -> None:
    x = np.concatenate([X[:10], [X[9]], X[10:]])
    z = np.concatenate([Z[:10], [Z[9] - 30], Z[10:] - 30])
    faced = fit_ground(x, z)
    inner = SLOTS[(np.abs(SLOTS - X[9]) > 150)]
    ratio = faced.spread.deviation(inner) / PROFILE.spread.deviation(inner)
    assert ratio.min() > 0.6
    assert ratio.max() < 1.7
    unfaced = fit_ground(X, np.concatenate([Z[:10], Z[10:] - 30]))
    assert faced.spread.deviation(inner).mean() < 0.6 * unfaced.spread.deviation(inner).mean()


def test_a_long_survey_is_seen_through_windows() -> None:
    """Windows and the whole differ little, and the windows leave no seam."""
    rng = np.random.default_rng(4)
    x = np.arange(160) * 48.0
    z = np.cumsum(rng.normal(0, 1.2, 160))
    long, whole = fit_ground(x, z), fit_ground(x[20:72], z[20:72])
    inside = (x[30:60] + x[31:61]) / 2
    ratio = long.spread.deviation(inside) / whole.spread.deviation(inside)
    assert np.median(ratio) == pytest.approx(1.0, abs=0.15)
    assert ratio.min() > 0.5
    assert ratio.max() < 2.0
    draws = long.spread.draws(np.linspace(0, x[-1], 300), 3)
    assert np.isfinite(draws).all()
