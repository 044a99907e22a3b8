"""Laws of the ground: datum, reversal, splitting, scale, order."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from fencegrade.ground.fit import fit_ground
from fencegrade.ground.levelbook import level_page
from fencegrade.ground.survey import RunGround, ground_from_survey
from fencegrade.job.records import Run, StringLine
from fencegrade.job.survey import LevelBook, LevelRow, StringReading, StringSurvey
from fencegrade.units import UnitSystem
from fencegrade.units.arrays import Floats
from fencegrade.units.words import Words

SAY = Words(system=UnitSystem.IMPERIAL, mark=0.125)


@st.composite
def readings(draw: st.DrawFn, least: int = 2, most: int = 14) -> tuple[np.ndarray, np.ndarray]:
    n = draw(st.integers(least, most))
    steps = draw(st.lists(st.integers(4, 480), min_size=n - 1, max_size=n - 1))
    z = draw(st.lists(st.integers(-480, 480), min_size=n, max_size=n))
    return np.concatenate([[0], np.cumsum(steps)]) / 4.0, np.array(z) / 8.0


def string_ground(
    x: np.ndarray, drops: np.ndarray, strings: tuple[StringLine, ...], names: list[str]
) -> RunGround:
    rows = tuple(
        StringReading(line=i + 2, station=float(s), drop=float(d), string=n)
        for i, (s, d, n) in enumerate(zip(x, drops, names, strict=True))
    )
    run = Run(name="north side", survey="north.csv", string=strings)
    ground, problems = ground_from_survey(
        run, StringSurvey(source="north.csv", rows=rows), UnitSystem.IMPERIAL, 0.125
    )
    assert ground is not None, [str(p) for p in problems]
    return ground


@given(readings(), st.integers(-8000, 8000))
def test_moving_the_datum_moves_the_ground_and_changes_nothing_else(
    data: tuple[Floats, Floats], shift: int
) -> None:
    x, z = data
    at = np.linspace(x[0], x[-1], 40)
    here, there = fit_ground(x, z), fit_ground(x, z + shift / 8)
    assert there.elevation(at) - shift / 8 == pytest.approx(here.elevation(at), abs=1e-8)
    assert there.spread.at(at).scale == pytest.approx(here.spread.at(at).scale, rel=1e-6)


@example((np.arange(5.0), np.array([0, 0, 0, 0, 15.75])))
@given(readings())
def test_reversing_the_run_mirrors_the_ground(data: tuple[Floats, Floats]) -> None:
    x, z = data
    at = np.linspace(x[0], x[-1], 40)
    one, other = fit_ground(x, z), fit_ground(x[-1] - x[::-1], z[::-1])
    mirrored = np.clip(x[-1] - at, 0, x[-1])
    assert other.elevation(mirrored) == pytest.approx(one.elevation(at), abs=1e-8)
    assert other.spread.at(mirrored).scale == pytest.approx(one.spread.at(at).scale, rel=1e-6)
    left, right = at[:-1], at[1:]
    foot = one.highest(left, right) + 2
    chance = one.chance_outside(left, right, foot, 1, 3)
    assert other.chance_outside(mirrored[1:], mirrored[:-1], foot, 1, 3) == pytest.approx(chance, abs=1e-6)
    high, low = one.extremes(at[:-1], at[1:])
    high_m, low_m = other.extremes(mirrored[1:], mirrored[:-1])
    assert high_m == pytest.approx(high, abs=1e-8)
    assert low_m == pytest.approx(low, abs=1e-8)


@given(readings(least=4), st.data())
def test_splitting_a_span_at_a_reading_changes_nothing(
    data: tuple[Floats, Floats], pick: st.DataObject
) -> None:
    x, z = data
    drops = 100.0 - z
    k = pick.draw(st.integers(1, len(x) - 2))
    whole = string_ground(x, drops, (StringLine(id="A"),), ["A"] * len(x))
    names = ["A"] * (k + 1) + ["B"] * (len(x) - k)
    moved = np.concatenate([drops[: k + 1], drops[k:] + 17.0])
    split = string_ground(
        np.concatenate([x[: k + 1], x[k:]]), moved, (StringLine(id="A"), StringLine(id="B")), names
    )
    assert split.elevations == pytest.approx(whole.elevations, abs=1e-9)
    assert split.strings[1].start_height == pytest.approx(17.0, abs=1e-9)


@given(readings())
def test_the_line_stays_between_neighbouring_readings(data: tuple[Floats, Floats]) -> None:
    x, z = data
    profile = fit_ground(x, z)
    for a, b, low, high in zip(
        x[:-1], x[1:], np.minimum(z[:-1], z[1:]), np.maximum(z[:-1], z[1:]), strict=True
    ):
        curve = profile.elevation(np.linspace(a, b, 30))
        assert curve.max() <= high + 1e-9
        assert curve.min() >= low - 1e-9


@given(readings(), st.floats(0, 1), st.floats(0, 1), st.floats(0, 1))
def test_a_stretch_reaches_as_far_as_its_parts(
    data: tuple[Floats, Floats], p: float, q: float, r: float
) -> None:
    x, z = data
    a, m, b = np.sort([p, q, r]) * (x[-1] - x[0]) + x[0]
    profile = fit_ground(x, z)
    high, low = profile.extremes([a, a, m], [b, m, b])
    assert high[0] == pytest.approx(max(high[1], high[2]), abs=1e-9)
    assert low[0] == pytest.approx(min(low[1], low[2]), abs=1e-9)
    assert low[0] <= high[0]


@given(readings(least=3))
def test_wider_levels_hold_narrower_ones(data: tuple[Floats, Floats]) -> None:
    x, z = data
    at = np.linspace(x[0], x[-1], 20)
    profile = fit_ground(x, z)
    bands = [profile.band(at, level) for level in (0.5, 0.8, 0.95)]
    for (low, high), (low_w, high_w) in pairwise(bands):
        assert (low_w < low).all()
        assert (high < high_w).all()


@given(readings(least=5), st.data())
def test_a_reading_on_the_line_changes_nothing_far_away(
    data: tuple[Floats, Floats], pick: st.DataObject
) -> None:
    """It sharpens its own gap; all others follow the run's mean roughness alone, by one amount.

    Readings without an error are worth 1 each beside the run's 2.5, and the power .9 is undone.
    """
    x, z = data
    k = pick.draw(st.integers(1, len(x) - 3))
    new = (x[k] + x[k + 1]) / 2
    line = fit_ground(x, z)
    more = fit_ground(np.insert(x, k + 1, new), np.insert(z, k + 1, float(line.elevation(new))))
    assert (more.spread.middle[k : k + 2] < line.spread.middle[k]).all()
    line, more = (fit_ground(p.line.stations, p.line.elevations, 1e-9) for p in (line, more))
    far = [(line.spread.roughness[i], more.spread.roughness[i], 2.5 + min(i + 1, 2)) for i in range(k - 1)]
    rises = [w * ((q / 2**0.1) ** (1 / 0.9) - (r / 2**0.1) ** (1 / 0.9)) for r, q, w in far]
    assert rises == pytest.approx(rises[:1] * len(rises), rel=1e-6, abs=1e-6)


@given(readings(least=3), st.floats(0.1, 0.9))
def test_a_board_with_more_room_stands_outside_less(data: tuple[Floats, Floats], share: float) -> None:
    x, z = data
    profile = fit_ground(x, z)
    left = np.linspace(x[0], x[-1] - 1, 20)
    foot = profile.highest(left, left + 1) + 2
    narrow, wide = (
        profile.chance_outside(left, left + 1, foot, 2 - room, 2 + room) for room in (share, 2 * share)
    )
    assert (wide <= narrow + 1e-12).all()
    assert (narrow <= 1).all()


@given(st.lists(st.tuples(st.integers(-800, 800), st.integers(-800, 800)), min_size=1, max_size=8))
def test_sums_of_sights_are_the_rise_of_a_page(sights: list[tuple[int, int]]) -> None:
    backs, fores = [b / 8 for b, _ in sights], [f / 8 for _, f in sights]
    rows = [LevelRow(line=2, station=None, backsight=backs[0], known=1000.0)]
    for i, fore in enumerate(fores):
        back = backs[i + 1] if i + 1 < len(backs) else None
        rows.append(LevelRow(line=i + 3, station=None, foresight=fore, backsight=back))
    page, problems = level_page(LevelBook(source="book.csv", rows=tuple(rows)), SAY)
    assert page is not None, problems
    assert page.checks
    assert page.rows[-1].elevation == pytest.approx(1000 + sum(backs) - sum(fores), abs=1e-9)
