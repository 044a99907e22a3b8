"""Set-ups of the string: chained, closed, sagging."""

from typing import Any

import numpy as np
import pytest
from written import written

from fencegrade.job.records import StringLine
from fencegrade.problems import Severity

A, B, C = (StringLine(id=name) for name in "ABC")
TWO = [(0, 24, "A"), (4, 24.5, "A"), (8, 20, "A"), (8, 40, "B"), (16, 30, "B"), (20, 31, "B")]


def rural(known: float | None) -> list[tuple[Any, ...]]:
    """800 ft: 16 level strings of 50 ft, read each 10 ft to 1/4 in (a worked example of our own)."""
    heights = [16, 10, -27, -32, -34, -68, -80, -80, -107, -128, -128, -147, -177, -176, -188, -225]
    rows: list[tuple[Any, ...]] = []
    for k, z in enumerate(heights):
        for x in range(50 * k, 50 * k + 51, 10):
            ground = -0.30 * x + 14 * np.sin(2 * np.pi * x / 160)
            rows.append((x, round(4 * (z - ground)) / 4, f"S{k:02d}", None, None))
    rows[-1] = (*rows[-1][:4], known)
    return rows


SIXTEEN = tuple(written(StringLine, id=f"S{k:02d}", height="16 in" if k == 0 else None) for k in range(16))


def test_two_strings_tied_at_a_stake(under_string: Any, ground_of: Any) -> None:
    ground = ground_of(under_string(TWO), string=(A, B))
    assert ground.elevations == pytest.approx([-24, -24.5, -20, -10, -11])
    assert [s.start_height for s in ground.strings] == [0, 20]
    assert [t.apart for t in ground.reduction.ties] == [0.0]
    assert ground.reduction.residuals == ()


def test_first_readings_of_the_rural_run(under_string: Any) -> None:
    rows = rural(None)
    assert [r[1] for r in rows[:6]] == [16, 13.75, 12, 12, 14, 18]
    assert [r[1] for r in rows[6:12]] == [12, 18, 25.75, 34, 42.25, 50]


def test_sixteen_strings_carry_minus_240(under_string: Any, ground_of: Any) -> None:
    ground = ground_of(under_string(rural(None)), string=SIXTEEN)
    assert ground.elevations[-1] == pytest.approx(-240.0, abs=1e-9)
    assert len(ground.reduction.ties) == 15
    assert ground.reduction.residuals == ()


def test_rural_run_refused_at_a_misclosure_of_an_inch_and_a_half(under_string: Any, mistakes_of: Any) -> None:
    (found,) = mistakes_of(under_string(rural(-238.5)), string=SIXTEEN)
    assert found.place == "north.csv line 97"
    assert "-1-1/2 in" in found.found
    assert "more than 1 in" in found.found


def test_rural_run_accepted_and_spread_a_sixteenth_a_string(under_string: Any, ground_of: Any) -> None:
    bare = ground_of(under_string(rural(None)), string=SIXTEEN)
    ground = ground_of(under_string(rural(-239.25)), string=SIXTEEN)
    (closure,) = ground.reduction.closures
    assert closure.misclosure == pytest.approx(-0.75)
    assert (closure.allowed, closure.setups) == (1.0, 16)
    shift = ground.elevations - bare.elevations
    at = np.searchsorted(bare.stations, 600.0 * np.arange(17))
    assert shift[at] == pytest.approx(0.75 * np.arange(17) / 16, abs=1e-9)
    assert ground.elevations[-1] == pytest.approx(-239.25)
    for chord, k in zip(ground.strings, range(16), strict=True):
        reading = ground.profile.elevation(chord.start + 120)
        raw = next(r[1] for r in rural(None) if r[0] == 50 * k + 10)
        assert chord.elevation(chord.start + 120) - raw == pytest.approx(reading, abs=1e-9)


def test_the_runs_own_limit_is_used(under_string: Any, ground_of: Any, mistakes_of: Any) -> None:
    assert (
        ground_of(under_string(rural(-238.5)), string=SIXTEEN, most_misclosure="2 in")
        .reduction.closures[0]
        .accepted
    )
    assert mistakes_of(under_string(rural(-239.25)), string=SIXTEEN, most_misclosure="1/2 in")


def test_a_known_first_row_is_the_datum(under_string: Any, ground_of: Any) -> None:
    rows = [(0, 24, "A", None, 100.0), *TWO[1:]]
    ground = ground_of(under_string(rows), string=(A, B))
    assert ground.elevations == pytest.approx([100, 99.5, 104, 114, 113])
    assert ground.reduction.closures == ()


def test_offsets_are_least_squares_and_disagreement_is_named(under_string: Any, ground_of: Any) -> None:
    rows = [(0, 20, "A"), (4, 20, "A"), (8, 20, "A"), (4, 30, "B"), (8, 30.4, "B"), (12, 30, "B")]
    ground = ground_of(under_string(rows), string=(A, B))
    assert ground.strings[1].start_height == pytest.approx(10.2)
    assert [t.apart for t in ground.reduction.ties] == pytest.approx([0.2, 0.2])
    assert ground.elevations == pytest.approx([-20, -19.9, -20.1, -19.8])
    agreed = ground_of(under_string([*rows[:4], (8, 30, "B"), rows[5]]), string=(A, B)).reduction
    assert [t.apart for t in agreed.residuals] == [0.0, 0.0]
    far = [*rows[:4], (8, 30.8, "B"), rows[5]]
    notes = ground_of(under_string(far), string=(A, B)).notes
    assert sum("disagree by 3/8 in" in p.found for p in notes) == 2


def test_a_stake_read_from_three_strings_weighs_each_reading_once(under_string: Any, ground_of: Any) -> None:
    """As by least squares over all readings, each spot's height unknown too; from either end the same."""
    rows: list[tuple[float, float, str]] = [(0, 20, "A"), (8, 20, "A"), (12, 22, "A")]
    rows += [(8, 30, "B"), (12, 33, "B"), (20, 31, "B"), (12, 40, "C"), (20, 38.5, "C"), (28, 35, "C")]
    stations, names = sorted({x for x, *_ in rows}), "BC"
    model = np.zeros((len(rows), len(stations) + len(names)))
    for row, (x, _, name) in zip(model, rows, strict=True):
        row[stations.index(x)] = 1.0
        if name in names:
            row[len(stations) + names.index(name)] = -1.0
    found = np.linalg.lstsq(model, np.array([-float(drop) for _, drop, _ in rows]), rcond=None)[0]
    ground = ground_of(under_string(rows), string=(A, B, C))
    assert [s.start_height for s in ground.strings] == pytest.approx([0.0, *found[-2:]], abs=1e-8)
    assert ground.elevations == pytest.approx(found[:-2], abs=1e-8)
    back = ground_of(
        under_string([(28 - x, drop, name) for x, drop, name in reversed(rows)]), string=(A, B, C)
    )
    assert back.elevations - back.elevations[-1] == pytest.approx(
        (ground.elevations - ground.elevations[0])[::-1], abs=1e-8
    )


def test_strings_with_heights_check_each_other(under_string: Any, ground_of: Any) -> None:
    given = (written(StringLine, id="A", height="0 in"), written(StringLine, id="B", height="21 in"))
    ground = ground_of(under_string(TWO), string=given)
    assert ground.reduction.residuals == ground.reduction.ties
    assert ground.reduction.ties[0].apart == pytest.approx(1.0)
    assert ground.elevations[2] == pytest.approx(-19.5)
    assert any("disagree by 1 in" in p.found for p in ground.notes)


def test_a_string_on_its_own_says_which_stake_to_read(under_string: Any, mistakes_of: Any) -> None:
    rows = [*TWO[:3], (12, 40, "B"), (16, 30, "B")]
    (found,) = mistakes_of(under_string(rows), string=(A, B))
    assert found.place == "north.csv line 5"
    assert "8' 0\"" in found.remedy


def test_three_strings_reached_through_the_middle_one(under_string: Any, ground_of: Any) -> None:
    rows = [(0, 20, "A"), (8, 22, "A"), (8, 32, "B"), (16, 30, "B"), (16, 5, "C"), (24, 6, "C")]
    given = (A, B, written(StringLine, id="C", height="100 in"))
    assert ground_of(under_string(rows), string=given).elevations == pytest.approx([97 - 2 + 0, 93, 95, 94])


def test_unknown_and_empty_strings(under_string: Any, mistakes_of: Any) -> None:
    rows = [(0, 24, "A"), (4, 24, "D"), (8, 24, "A")]
    found = mistakes_of(under_string(rows), string=(A, B))
    assert {p.place for p in found} == {"job.toml run 1, string", "job.toml run 1, string 2"}
    found = mistakes_of(under_string([(0, 24, "A"), (4, 24), (8, 24, "B")]), string=(A, B))
    assert found[0].place == "north.csv line 3"


def test_a_reading_beyond_its_string(under_string: Any, mistakes_of: Any) -> None:
    string = written(StringLine, id="A", start="0 ft", end="6 ft")
    (found,) = mistakes_of(under_string([(0, 24, "A"), (8, 24, "A")]), string=(string,))
    assert found.place == "north.csv line 3"


def test_a_falling_string(under_string: Any, ground_of: Any) -> None:
    string = written(StringLine, start="0 ft", end="50 ft", height="10 in", fall="5 in")
    ground = ground_of(under_string([(0, 20), (25, 20), (50, 20)]), string=(string,))
    assert ground.elevations == pytest.approx([-10, -12.5, -15])


def test_problems_are_no_mistakes_where_ground_is_given(under_string: Any, ground_of: Any) -> None:
    assert all(p.severity is not Severity.MISTAKE for p in ground_of(under_string(TWO), string=(A, B)).notes)
