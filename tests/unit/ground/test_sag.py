"""How far a string hangs, and what is told of it."""

from typing import Any

import numpy as np
import pytest
from written import written

from fencegrade.ground.sag import COMMON_LINE, COMMON_PULL, Hang, SharedSag, hang_of, parabola_sag
from fencegrade.job.records import StringLine

A, B, C = (StringLine(id=name) for name in "ABC")


def test_sag_by_weight_and_pull_lowers_mid_span_only(under_string: Any, ground_of: Any) -> None:
    string = written(StringLine, weight="1.4 g/m", pull="10 lbf")
    ground = ground_of(under_string([(0, 20), (25, 20), (50, 20)]), string=(string,))
    sag = parabola_sag(COMMON_LINE, 600, 10)
    assert ground.elevations == pytest.approx([-20, -20 - sag, -20], abs=1e-5)
    assert ground.strings[0].sag == pytest.approx(sag, rel=1e-4)
    (left,) = ground.profile.spread.sags
    assert left.doubt == pytest.approx(0.2 * sag, rel=1e-4)
    assert not [p for p in ground.notes if "not corrected for sag" in p.found]


def test_uncorrected_sag_is_told_with_its_size_and_kept_in_the_band(
    under_string: Any, ground_of: Any
) -> None:
    """1.4 g/m at 45 N: 0.35 in at 50 ft, 1.40 in at 100 ft (own arithmetic)."""
    for span, words in ((50, "3/8 in"), (100, "1-7/16 in")):
        rows = [(x, 20.0) for x in np.linspace(0, span, 11)]
        ground = ground_of(under_string(rows))
        (told,) = [p for p in ground.notes if "not corrected for sag" in p.found]
        assert words in told.found
        guess = parabola_sag(COMMON_LINE, span * 12, COMMON_PULL)
        middle, end = ground.profile.spread.at([span * 6.0, 0.0], sag=True).scale
        assert middle > guess > end
        assert ground.profile.spread.at(span * 6.0).scale < guess
        levelled = ground_of(under_string(rows), tops_levelled=True)
        assert levelled.profile.spread.at(span * 6.0).scale == middle
        (told,) = [p for p in levelled.notes if "not corrected for sag" in p.found]
        assert "too short by it" in told.found
    short = ground_of(under_string([(0, 20), (8, 20), (16, 20)]))
    assert not [p for p in short.notes if "not corrected" in p.found]


def test_a_line_level_left_hanging(under_string: Any, ground_of: Any, mistakes_of: Any) -> None:
    """15 g at mid-span of 50 ft and 10 lbf: 12 mm more, half of it at a quarter of the span (own
    arithmetic)."""
    rows = [(0, 20), (12.5, 20), (25, 20), (50, 20)]
    bare = written(StringLine, weight="1.4 g/m", pull="10 lbf")
    hung = written(StringLine, weight="1.4 g/m", pull="10 lbf", line_level="15 g")
    one, other = (ground_of(under_string(rows), string=(s,)) for s in (bare, hung))
    more = 25.4 * (one.elevations - other.elevations)
    assert more == pytest.approx([0, 6.3, 12.6, 0], abs=0.05)
    assert any("line level" in p.found and "1/2 in" in p.found for p in other.notes)
    (found,) = mistakes_of(under_string(rows), string=(written(StringLine, line_level="15 g"),))
    assert found.place == "job.toml run 1, string 1, line_level"


def test_how_a_string_hangs_by_what_is_known_of_it() -> None:
    assert hang_of(None, None, None, None, 600.0) == Hang()
    assert hang_of(0.001, None, None, 0.03, 600.0) == Hang(), "no pull, no sag: nothing is known"
    assert hang_of(0.001, 10.0, None, None, 600.0) == Hang(load=0.0001)
    assert hang_of(None, 10.0, None, 0.05, 600.0) == Hang(level=0.005)
    # a pull of 5 along a slope of 3 in 4 is 4 level
    assert hang_of(0.002, 5.0, None, 0.04, 600.0, 0.75) == Hang(load=0.0005, level=0.01)
    assert hang_of(None, 10.0, 0.5, None, 600.0) == Hang(measured=0.5, known=True)
    # half of 600 in of a line of 0.001 weighs 0.3, a level of 0.1 a third of that: it has a quarter
    assert hang_of(0.001, None, 2.0, 0.1, 600.0) == Hang(measured=1.5, level=4 * 0.5 / 600, known=True)


@pytest.mark.parametrize(
    ("x", "deviation"),
    [(50.0, 0), (100.0, 0), (125.0, 0.75), (150.0, 1.0), (175.0, 0.75), (200.0, 0), (300.0, 0)],
)
def test_a_doubt_common_to_a_string_is_a_parabola(x: float, deviation: float) -> None:
    assert SharedSag(start=100.0, end=200.0, doubt=1.0).shape(np.array([x])).tolist() == [deviation]
