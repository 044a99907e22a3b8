"""What is done in parts, or thinned, on very long runs agrees with the whole where both can be had."""

from pathlib import Path

import numpy as np
import pytest

from fencegrade.fence import enough_stock
from fencegrade.fence.tops import contour
from fencegrade.fence.tops.asked import Proof, TopWish
from fencegrade.fence.tops.table import TopStyle
from fencegrade.planning.layout import lay_out, read_and_survey
from fencegrade.planning.tops import top_wish


def wish_on(folder: Path, style: TopStyle, faces: bool = False, level_from: int = 41) -> TopWish:
    """A run of 160 ft on wandering ground, level from so many readings on, with a kerb in it where asked."""
    random = np.random.default_rng(7)
    x = np.arange(0, 161, 4)
    z = np.cumsum(random.normal(0, 3, len(x)) * (np.arange(len(x)) < level_from))
    rows = [f"{a},{b:.3f}," for a, b in zip(x, z, strict=True)]
    if faces:
        rows[20:21] = [f"{x[20]},{z[20]:.3f},before", f"{x[20]},{z[20] - 9:.3f},after"]
    (folder / "long.csv").write_text("station [ft],elevation [in],side\n" + "\n".join(rows) + "\n")
    job, grounds, _ = read_and_survey(folder / "long.csv")
    layouts, _ = lay_out(job, grounds, [style])
    return top_wish(job, layouts[0])


@pytest.mark.parametrize("faces", [False, True])
@pytest.mark.parametrize("most", [240, 280])
def test_a_contour_smoothed_in_parts(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, most: int, faces: bool
) -> None:
    """The largest bend is as small as in the whole; the sum of bends, which comes second, is near it."""
    wish = wish_on(tmp_path, TopStyle.CONTOUR, faces)
    whole = contour.choose(wish)
    assert len(whole.top.stations) > most + 50
    monkeypatch.setattr(contour, "MOST_AT_ONCE", most)
    parts = contour.choose(wish)
    assert (whole.proof, parts.proof) == (Proof.BEND, Proof.NONE)
    assert np.array_equal(parts.top.stations, whole.top.stations)
    assert parts.least_height >= wish.least_height - 1e-6
    assert parts.top.largest_bend <= whole.top.largest_bend * 1.02 + 1e-9
    assert np.abs(parts.top.bends).sum() <= np.abs(whole.top.bends).sum() * 1.25
    assert parts.cost == pytest.approx(whole.cost, rel=1e-3)


def test_a_long_contour_has_few_corners_where_the_ground_is_straight(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The line is as smooth, as low and asks as few boards as one with a corner over every picket."""
    wish = wish_on(tmp_path, TopStyle.CONTOUR, level_from=10)
    monkeypatch.setattr(contour, "MOST_AT_ONCE", 120)
    monkeypatch.setattr(contour, "_AHEAD", 30)
    few = contour.choose(wish)
    monkeypatch.setattr(contour, "_BLOCK", 1)
    every = contour.choose(wish)
    assert (few.proof, every.proof) == (Proof.NONE, Proof.NONE)
    assert len(few.top.stations) < len(every.top.stations) * 0.4
    assert few.least_height >= wish.least_height - 1e-6
    assert few.top.largest_bend <= every.top.largest_bend * 1.02 + 1e-9
    np.testing.assert_allclose(few.top.at(every.top.stations), every.top.elevations, rtol=0, atol=0.2)
    assert np.abs(few.top.bends).sum() <= np.abs(every.top.bends).sum() * 1.02
    assert few.cost == every.cost


def test_pickets_between_far_readings_are_thinned(monkeypatch: pytest.MonkeyPatch) -> None:
    x = np.linspace(1.0, 999.0, 4_000)
    at = enough_stock._stations(x, np.array([0.0, 30.0, 500.0, 1000.0]))
    assert np.isin(at, x).all()
    assert at[0] == x[0]
    assert at[-1] == x[-1]
    counts = np.bincount(np.searchsorted([30.0, 500.0], at))
    assert counts.max() <= enough_stock.MOST_BETWEEN + 1
    assert counts[0] == np.count_nonzero(x < 30.0)
