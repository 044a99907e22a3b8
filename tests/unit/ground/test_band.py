"""The error band: sizes, shapes, how local it is, repeats, faces, sag."""

import numpy as np
import pytest
from scipy import stats
from scipy.interpolate import PchipInterpolator

from fencegrade.ground.advice import FROM_CHART
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


def test_the_law_number_by_number() -> None:
    """Every reading in turn, by the formulas of the module's functions with their constants written out."""
    x = np.array([0, 48, 96, 192, 192, 240, 300, 396.0])
    z = np.array([0, 3, -2, 5, -20, -18, -22, -21.0])
    spread = fit_ground(x, z, reading_error=0.25, breaks=[96.0]).spread
    curve = PchipInterpolator(x[:4], z[:4])
    h, e = np.diff(x) / 96, 0.25**2
    inner = {k: 0.2 if x[k] == 96 else 1.0 for k in (1, 2, 5, 6)}  # a reading at a break counts less

    def trusted(k: int, run: float) -> tuple[float, float]:
        left, right = h[k - 1], h[k]
        a, b = right / (left + right), left / (left + right)
        departure = abs(z[k] - a * z[k - 1] - b * z[k + 1]) * inner[k]
        g, error = left * right / (left + right), e * (1 + a * a + b * b)
        return g / (g + error / run**2), departure / np.sqrt(g + error / run**2)

    run = 2.0
    for _ in range(2):
        pairs = [trusted(k, run) for k in inner]
        run = (2 * 2 + sum(v * r for v, r in pairs)) / (2 + sum(v for v, _ in pairs))
    trust = {k: trusted(k, run) for k in inner}
    none = (0.0, 0.0)
    rough = []
    for k in range(len(h)):
        (v, r), (w, q) = trust.get(k, none), trust.get(k + 1, none)
        drawn = (2.5 * run + v * r + w * q) / (2.5 + v + w)
        rough.append(drawn * (drawn / 2) ** -0.1)
    assert spread.roughness == pytest.approx(rough)
    outer = np.array([1.1, 1, 1.1, 0, 1.1, 1, 1.1])  # the first and the last gap of a piece
    assert spread.middle == pytest.approx(0.36 * np.array(rough) * np.sqrt(h) * outer)
    t = 1 / 4
    bare = spread.middle[2] ** 2 * (4 * t * (1 - t)) ** 1.5
    read = (
        e * ((1 - t) ** 2 + t**2) + 2 * 1.515625**2
    )  # so far the curve from -2 to 5 in leaves its chord there
    here = spread.at(96 + 96 * t)
    assert float(here.scale) == pytest.approx(np.sqrt(bare + read))
    assert float(here.freedom) == pytest.approx(3 * ((bare + read) / bare) ** 2)
    halved = spread.halved(96 + 96 * t)
    left = np.interp(t, [0, 0.5], curve([96, 144])) - curve(96 + 96 * t)
    assert float(halved.scale) == pytest.approx(np.sqrt(spread.middle[2] ** 2 / 2 + e / 2 + 2 * left**2))
    far = spread.halved(192 - 96 * t)  # nearer to the reading that is none at a break
    assert float(far.scale) == pytest.approx(np.sqrt(spread.middle[2] ** 2 / 2 + e / 2))
    assert float(spread.at(96.0).freedom) == 200
    wide = 0.36 * max(rough[1], rough[2]) * np.sqrt(6 / 96)
    over = curve([93, 99]) - np.interp([93, 99], x[1:4], z[1:4])
    tilt = np.hypot(wide, np.sqrt(2) * (over[1] - over[0]))
    assert spread.tilt(np.array([93.0]), np.array([99.0])) == pytest.approx([tilt])


FALL, SIDE = 15.75, 31.5  # inches: 400 mm over 800 mm


@pytest.mark.parametrize("upward", [1, -1])
def test_straight_sides_between_named_corners_lie_in_the_band(upward: int) -> None:
    """A ditch and a bank, both corners of each side read and nothing between: with level ground at both ends
    the curve leaves a straight side by sqrt(3)/18 of its fall (own derivation)."""
    x = np.array([0, 40, 80, 80 + SIDE, 160, 200, 200 + SIDE, 270, 310])
    z = upward * FALL * np.array([0, 0, 0, -1, -1, -1, 0, 0, 0])
    profile = fit_ground(x, z, breaks=[80, 80 + SIDE, 200, 200 + SIDE])
    at = np.linspace(80, 80 + SIDE, 97)
    truth = np.interp(at, x, z)
    off = np.abs(truth - profile.elevation(at))
    assert off.max() == pytest.approx(FALL * np.sqrt(3) / 18, rel=1e-3)
    low, high = profile.band(at, 0.8)
    assert ((low < truth) & (truth < high))[1:-1].all()
    assert (profile.draws(at, 400).std(axis=0)[1:-1] > 1.2 * off[1:-1]).all()
    edge = at[76 if upward > 0 else 20]  # where a straight side stands highest over the curve
    foot = profile.highest(edge - 1, edge + 1) + 2.0
    assert float(profile.chance_outside(edge - 1, edge + 1, foot, 1.0, np.inf)) > FROM_CHART


def test_the_chance_of_a_board_number_by_number() -> None:
    """A square board over ground that is straight across it: three tilts, each limit with its sixteenth."""
    spread = fit_ground([0, 96, 192, 288], [0, 0, 0, 0], reading_error=0.25).spread
    t, dof = float(spread.at(120.0).scale), float(spread.at(120.0).freedom)
    tilt = float(spread.tilt(np.array([117.0]), np.array([123.0]))[0])
    wanted = 0.0
    for size, weight in ((-1.73, 1 / 6), (0.0, 2 / 3), (1.73, 1 / 6)):
        half = abs(size) * tilt / 2
        wanted += weight * stats.t.sf((2 - 1 + 1 / 16 - half) / t, dof)
        wanted += weight * stats.t.sf((3.5 - 2 + 1 / 16 - half) / t, dof)
    found = spread.chance_outside([117.0], [123.0], [2.0], [1.0], [3.5])
    assert found == pytest.approx([wanted], abs=2e-9)
    along = spread.chance_outside([117.0], [123.0], [2.0], [1.0], [3.5], [0.1])
    assert along != pytest.approx(found, rel=0.01)
    turned = spread.chance_outside([117.0], [123.0], [2.6], [1.0], [3.5], [-0.1])
    assert along == pytest.approx(turned, abs=2e-9)
    assert spread.chance_outside([117.0], [123.0], [0.0], [5.0], [-5.0]).tolist() == [1.0]
    with pytest.raises(ValueError, match="between 0 and 1"):
        spread.at(120.0).half_width(1.0)
    with pytest.raises(ValueError, match="between 0 and 1"):
        spread.at(120.0).half_width(0.0)
