"""Where to measure next, when to stop, and which boards the chart holds for."""

from typing import Any

import numpy as np
import pytest

from fencegrade.ground.advice import advice_problems, advise, board_deviation, weigh_boards
from fencegrade.ground.fit import fit_ground
from fencegrade.ground.report import ground_report
from fencegrade.ground.wording import Say
from fencegrade.problems import Severity
from fencegrade.units import UnitSystem

SAY = Say(system=UnitSystem.IMPERIAL, tape=0.125)
X = np.arange(13) * 96.0
ROUGH = np.array([0, 3, -2, 5, 4, 12, 2, 3, -4, 0, 3, 1, 2.0])
FLAT = np.array([0, 0.125, 0, 0, 0.125, 0, 0, 0, -0.125, 0, 0, 0.125, 0])


def slots(end: float, width: float = 5.5) -> tuple[np.ndarray, np.ndarray]:
    left = np.arange(0, end - width + 1e-9, width)
    return left, left + width


def test_rough_ground_asks_for_breaks_first_then_names_stretches() -> None:
    advice = advise(fit_ground(X, ROUGH), 0, X[-1], slots(X[-1]))
    assert advice.read_breaks
    assert not advice.enough
    assert 2 <= len(advice.stretches) <= 3
    assert advice.stretches[0].gain >= advice.stretches[-1].gain >= 0.5
    words = [str(p) for p in advice_problems(advice, "north side", SAY)]
    assert "at every crest" in words[0]
    assert any("one reading near" in w for w in words)


def test_calm_ground_is_enough() -> None:
    advice = advise(fit_ground(X, FLAT, 1 / 16), 0, X[-1], slots(X[-1]), tolerance=1.0)
    assert advice.enough
    (told,) = advice_problems(advice, "north side", SAY)
    assert told.severity is Severity.NOTE
    assert "enough" in told.found


def test_calm_ground_is_not_enough_where_a_purchase_hangs_on_it() -> None:
    profile = fit_ground(X, FLAT, 1 / 16)
    left, right = slots(X[-1])
    close = advise(profile, 0, X[-1], (left, right), 1.0, margins=np.full(len(left), 0.05))
    clear = advise(profile, 0, X[-1], (left, right), 1.0, margins=np.full(len(left), 6.0))
    assert not close.enough
    assert clear.enough
    assert close.boards.chance_longer.max() > 0.05
    assert clear.boards.chance_longer.max() < 0.01


def test_surveys_with_readings_at_breaks_are_not_asked_for_them() -> None:
    x = np.insert(X, 6, 500.0)
    z = np.insert(ROUGH, 6, 14.0)
    advice = advise(fit_ground(x, z), 0, X[-1], slots(X[-1]))
    assert not advice.read_breaks
    assert advice.stretches


def test_boards_near_a_reading_may_be_cut_from_the_chart() -> None:
    profile = fit_ground(X, ROUGH)
    boards = weigh_boards(profile, *slots(X[-1]), 0.5)
    middle = (boards.left + boards.right) / 2
    distance = np.abs(middle[:, None] - X[None, :]).min(axis=1)
    assert boards.chance_off[distance < 2].mean() < 0.25 * boards.chance_off[distance > 40].mean()
    assert boards.from_chart[distance < 2].mean() >= 0.5
    assert not boards.from_chart[distance > 40].any()
    assert boards.chance_off[distance > 40].min() > 0.4
    sure = weigh_boards(profile, *slots(X[-1]), 0.5, sure=0.5)
    assert sure.from_chart.sum() > boards.from_chart.sum()


def test_a_board_is_as_sure_as_the_ground_at_its_highest_spot() -> None:
    profile = fit_ground(X, ROUGH)
    left, right = slots(X[-1])
    left, right = np.append(left, 190.0), np.append(right, 195.5)
    fine = left[:, None] + (right - left)[:, None] * np.linspace(0, 1, 201)
    highest = fine[np.arange(len(left)), profile.elevation(fine).argmax(axis=1)]
    expected = profile.spread.deviation(highest)
    assert board_deviation(profile, left, right) == pytest.approx(expected, rel=0.02)


def test_the_gain_is_about_what_a_reading_brings() -> None:
    """A real reading half way, on fractal ground, against the gain foretold: within a factor of two on
    average."""
    foretold, brought = [], []
    for seed in range(12):
        rng = np.random.default_rng(seed)
        fine = np.cumsum(rng.normal(0, 0.7, 97)) * np.sqrt(12 / 12)
        x_fine = np.arange(97) * 12.0
        x, z = x_fine[::8], fine[::8]
        profile = fit_ground(x, z)
        advice = advise(profile, 0, x[-1], slots(x[-1]), tolerance=0.5)
        best = advice.stretches[0]
        k = int(np.searchsorted(x_fine, (best.start + best.end) / 2))
        again = fit_ground(
            np.sort(np.append(x, x_fine[k])),
            np.interp(np.sort(np.append(x, x_fine[k])), x_fine, fine),
            breaks=None,
        )
        inside = (best.start <= advice.boards.left) & (advice.boards.right <= best.end)
        left, right = advice.boards.left[inside], advice.boards.right[inside]
        truth = np.maximum(np.interp(left, x_fine, fine), np.interp(right, x_fine, fine))
        off = [np.abs(p.highest(left, right) - truth) > 0.5 for p in (profile, again)]
        foretold.append(best.gain)
        brought.append(int(off[0].sum()) - int(off[1].sum()))
    assert 0.5 < np.mean(foretold) / np.mean(brought) < 2.0


def test_marked_roots_ask_for_readings_a_foot_apart() -> None:
    """A trunk at 12 ft with readings at 0, 8, 16, 24 ft: read 10 to 14 ft (a worked example of our own)."""
    advice = advise(fit_ground([0, 96, 192, 288], [-20] * 4), 0, 288, marked=((120.0, 168.0),))
    assert [x / 12 for x in advice.missing] == [10, 11, 12, 13, 14]
    told = next(advice_problems(advice, "north side", SAY))
    assert told.severity is Severity.WARNING
    assert "12' 0\"" in told.found
    x = np.array([0, 4, 8, 10, 11, 12, 13, 14, 16, 20, 24]) * 12.0
    read = advise(
        fit_ground(x, [-20, -20, -20, -20, -17.5, -13, -16.5, -20, -20, -20, -20]),
        0,
        288,
        marked=((120, 168),),
    )
    assert read.missing == ()


def test_a_root_missed_and_a_root_read(under_string: Any, ground_of: Any) -> None:
    """Level top at 52 in, clearance 2: lengths beside a root (worked by hand, ground straight between
    readings)."""
    x = [0, 4, 8, 10, 11, 12, 13, 14, 16, 20, 24]
    d = [20, 20, 20, 20, 17.5, 13, 16.5, 20, 20, 20, 20]
    gap = (288 - 50 * 5.5) / 49
    left = np.arange(50) * (5.5 + gap)
    read = ground_of(under_string(zip(x, d, strict=True))).profile
    lengths = 52 - read.highest(left, np.minimum(left + 5.5, 288.0)) - 2
    expected = [69.83, 68.63, 67.37, 65.21, 63.05, 63.04, 64.72, 66.40, 68.08, 69.77]
    assert lengths[20:30] == pytest.approx(expected, abs=0.02)
    assert np.delete(lengths, range(20, 30)) == pytest.approx(np.full(40, 70.0))
    coarse = ground_of(under_string([(0, 20), (8, 20), (16, 20), (24, 20)])).profile
    too_long = 52 - coarse.highest(left, np.minimum(left + 5.5, 288.0)) - 2 - lengths
    assert too_long.max() == pytest.approx(6.96, abs=0.02)


def test_report_gathers_everything(under_string: Any, ground_of: Any) -> None:
    rows = [(4 * i, 30 + z) for i, z in enumerate([0, 1, 0.5, 4, 2, 3, 9, 8, 3, 1, 0, 0.5, 1])]
    ground = ground_of(under_string(rows))
    report = ground_report(ground, UnitSystem.IMPERIAL, 0.125, tolerance=0.5)
    assert (report.readings, report.start, report.end) == (13, 0, 576)
    assert (report.spacing, report.widest) == (48, 48)
    assert (report.lowest, report.highest) == (-39, -30)
    assert report.steepest == pytest.approx(6 / 48)
    assert report.worst >= report.deviation > 0
    assert 0 < report.worst_at < 576
    assert report.sags[0].doubt > 0
    assert report.problems[: len(ground.notes)] == ground.notes
    assert len(report.problems) > len(ground.notes)
    assert len(report.advice.boards.left) == 96
