"""Readings that stand out, the slip they look like, and quiet where the ground is only rough."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from fencegrade.ground.doubt import AROUND, doubts, median_around, slips
from fencegrade.units import UnitSystem

GENTLE = [24, 24.5, 26.25, 27, 27.5, 28.25, 27.75, 29, 30.5, 31, 31.75, 33]


def found(ground_of: Any, survey: Any, system: UnitSystem = UnitSystem.IMPERIAL) -> Any:
    return doubts(ground_of(survey, system).levels, system)


@pytest.mark.parametrize("at", [1, 4, 7, 10])
@pytest.mark.parametrize(
    ("slip", "looks"),
    [
        (lambda d: d + 12, "a slipped foot"),
        (lambda d: d - 12, "a slipped foot"),
        (lambda d: d / 12, "feet written where inches were meant, or the other way round"),
        (lambda d: 10 * (d % 10 // 1) + d // 10 + d % 1, "two digits swapped"),
    ],
)
def test_a_slip_is_named_with_the_figure_that_fits(
    under_string: Any, ground_of: Any, at: int, slip: Any, looks: str
) -> None:
    drops = list(GENTLE)
    drops[at] = slip(drops[at])
    (doubt,) = found(ground_of, under_string(zip(range(0, 48, 4), drops, strict=True)))
    assert doubt.line == at + 2
    assert doubt.looks_like.startswith(looks)
    assert doubt.would_fit == pytest.approx(GENTLE[at], abs=1e-9)
    assert (doubt.departure > 0) == (drops[at] < GENTLE[at])


def test_tenths_of_a_foot_read_as_inches() -> None:
    """10.8 ft read as 10 ft 8 in is 1.6 in wrong."""
    fits = [v for name, v in slips(128.0, UnitSystem.IMPERIAL) if name.startswith("tenths")]
    assert fits == pytest.approx([129.6])


def test_every_slip_of_a_drop_of_112_inches() -> None:
    """Worked by hand; 112 in is 9 ft 4 in, and swapping its two ones changes nothing."""
    found = [(name.split()[0], round(v, 6)) for name, v in slips(112.0, UnitSystem.IMPERIAL)]
    assert found == [
        ("a", 100),
        ("a", 124),
        ("tenths", 112.8),
        ("feet", 1344),
        ("feet", 9.333333),
        ("inches", 284.48),
        ("inches", 44.094488),
        ("two", 121),
    ]


def test_every_slip_of_a_drop_of_1123_millimetres() -> None:
    found = [(name.split()[0], round(v * 25.4, 6)) for name, v in slips(1123.5 / 25.4, UnitSystem.METRIC)]
    assert found == [
        ("a", 1023.5),
        ("a", 1223.5),
        ("a", 923.5),
        ("a", 1323.5),
        ("a", 123.5),
        ("a", 2123.5),
        ("centimetres", 11235),
        ("centimetres", 112.35),
        ("inches", 2853.69),
        ("inches", 442.322835),
        ("two", 1213.5),
        ("two", 1132.5),
    ]


@pytest.mark.parametrize("written", [2.54, 1 / 2.54])
def test_the_other_side_of_the_tape(under_string: Any, ground_of: Any, written: float) -> None:
    """Centimetres noted as inches, or inches as centimetres."""
    drops = list(GENTLE)
    drops[6] *= written
    (doubt,) = found(ground_of, under_string(zip(range(0, 48, 4), drops, strict=True)))
    assert doubt.looks_like == "inches and centimetres mixed up"
    assert doubt.would_fit == pytest.approx(GENTLE[6])


@pytest.mark.parametrize(("beside", "looks"), [(60, "a slip of one metre"), (250, "")])
def test_a_large_slip_may_miss_the_line_by_more_than_a_small_one(
    under_string: Any, ground_of: Any, beside: float, looks: str
) -> None:
    """Drops of 1500 mm with one of 1500 + `beside`, read a metre too long: 15 % of it may be missed by."""
    drops = np.array([1500.0, 1512, 1504, 1510, 1500, 1500 + beside + 1000, 1500, 1508, 1502, 1510, 1504])
    survey = under_string(zip(np.arange(11) * 1.2 / 0.3048, drops / 25.4, strict=True))
    (doubt,) = found(ground_of, survey, UnitSystem.METRIC)
    assert doubt.looks_like == looks
    assert doubt.would_fit * 25.4 == pytest.approx(1500 + beside if looks else 1500)


def test_metric_slips(under_string: Any, ground_of: Any) -> None:
    drops = [d / 25.4 for d in (610, 622, 667, 686, 799, 718, 705, 737, 775)]
    survey = under_string(zip(np.arange(9) * 1.2 / 0.3048, drops, strict=True))
    (doubt,) = found(ground_of, survey, UnitSystem.METRIC)
    assert doubt.looks_like == "a slip of 100 mm"
    assert doubt.would_fit * 25.4 == pytest.approx(699)


def test_a_doubt_is_a_warning_and_drops_nothing(under_string: Any, ground_of: Any) -> None:
    drops = [*GENTLE[:5], GENTLE[5] + 12, *GENTLE[6:]]
    ground = ground_of(under_string(zip(range(0, 48, 4), drops, strict=True)))
    assert ground.elevations[5] == -drops[5]
    (told,) = [p for p in ground.notes if "neighbours" in p.found]
    assert told.place == "north.csv line 7"
    assert "slipped foot" in told.found
    assert "28-1/4 in would fit" in told.remedy


def test_elevations_are_doubted_too(heights: Any, ground_of: Any) -> None:
    z = [3, 4, 5, 5.5, 18, 7, 8, 8.5, 9]
    (doubt,) = found(ground_of, heights(zip(range(0, 36, 4), z, strict=True)))
    assert doubt.looks_like == "a slipped foot"
    assert doubt.would_fit == pytest.approx(6)


def test_real_shapes_are_not_doubted(under_string: Any, ground_of: Any) -> None:
    """A swale, a bank, a kerb read on both sides, a root with close readings."""
    shapes = {
        "swale": [
            (4 * i, d) for i, d in enumerate([24, 24.5, 26, 29, 34, 40, 43, 41, 35, 29.5, 26, 24.5, 24])
        ],
        "bank": [(4 * i, d) for i, d in enumerate([24, 24, 25, 30, 48, 60, 62, 62, 63, 62])],
        "kerb": [
            (x, d)
            for x, d in zip([0, 4, 8, 11, 11.5, 16, 20, 24], [30, 30, 31, 31, 36, 36, 37, 36], strict=True)
        ],
        "root": list(
            zip(
                [0, 4, 8, 10, 11, 12, 13, 14, 16, 20, 24],
                [20, 20, 20, 20, 17.5, 13, 16.5, 20, 20, 20, 20],
                strict=True,
            )
        ),
    }
    for name, rows in shapes.items():
        assert not found(ground_of, under_string(rows)), name


def test_few_false_alarms_on_rough_ground(under_string: Any, ground_of: Any) -> None:
    """Fractal ground, 30 mm over a metre: under one reading in two hundred is doubted."""
    rng = np.random.default_rng(5)
    doubted = total = 0
    for _ in range(40):
        steps = rng.normal(0, 30 / 25.4 * 1.2**0.6, 25)
        ground = np.round(4 * (np.cumsum(steps - steps.mean()) + 60)) / 4
        survey = under_string(zip(np.arange(25) * 4, ground - ground.min() + 12, strict=True))
        doubted += len(found(ground_of, survey))
        total += 25
    assert doubted <= total / 200


@pytest.mark.parametrize("count", [5, 6, 10, 11, 12, 40])
def test_the_usual_departure_is_the_middle_of_those_around_without_the_nearest(count: int) -> None:
    values = np.random.default_rng(count).exponential(2.0, count)
    for i, middle in enumerate(median_around(values, AROUND, 1)):
        assert middle == np.median([v for j, v in enumerate(values) if 2 <= abs(j - i) <= AROUND])


def test_a_slip_in_a_long_survey_is_found_wherever_it_stands(under_string: Any, ground_of: Any) -> None:
    drops = 60 + np.cumsum(np.random.default_rng(3).normal(0, 0.3, 450))
    slips_at = [3, 225, 445]
    drops[slips_at] += 12
    doubts_found = found(ground_of, under_string(zip(range(0, 1800, 4), drops, strict=True)))
    assert [d.spot for d in doubts_found] == slips_at


def with_notes(survey: Any, notes: dict[int, str]) -> Any:
    """The same survey with notes of readings by their place in it."""
    rows = (replace(row, note=notes.get(k, "")) for k, row in enumerate(survey.rows))
    return replace(survey, rows=tuple(rows))


DITCH = {0: 40.0, 4: 40, 8: 40, 11: 56, 15: 56, 19: 56, 22: 40, 26: 40, 30: 40}
CORNERS = dict.fromkeys((2, 3, 5, 6), "break")


@pytest.mark.parametrize("depth", [12.0, 16.0, 100 / 25.4, 200 / 25.4])
@pytest.mark.parametrize("upward", [False, True])
@pytest.mark.parametrize("system", UnitSystem)
def test_corners_named_as_breaks_are_no_slips(
    under_string: Any, ground_of: Any, depth: float, upward: bool, system: UnitSystem
) -> None:
    """A ditch or a bank with straight sides, its four corners read and named, by the depth of every slip."""
    drops = {x: 40 + (d - 40) / 16 * depth * (-1 if upward else 1) for x, d in DITCH.items()}
    ground = ground_of(with_notes(under_string(drops.items()), CORNERS), system)
    assert ground.slips == ()
    assert ground_of(under_string(drops.items()), system).slips != () or depth < 8


def test_a_ditch_with_one_reading_at_its_bottom_is_no_slip(under_string: Any, ground_of: Any) -> None:
    drops = [40.0, 40.5, 40, 52, 40, 40, 40.5, 40]
    survey = under_string(zip(range(0, 32, 4), drops, strict=True))
    assert [d.line for d in found(ground_of, survey)] == [5]
    assert found(ground_of, with_notes(survey, dict.fromkeys((2, 3, 4), "break"))) == ()


def test_an_end_beside_a_break_is_no_slip(under_string: Any, ground_of: Any) -> None:
    """From the top of a bank level ground goes on: its foot, the first or the last reading, lies off that."""
    for drops in ([36.0, *[24.0] * 6], [*[24.0] * 6, 36.0]):
        survey = under_string(zip(range(0, 28, 4), drops, strict=True))
        assert len(found(ground_of, survey)) == 1
        assert found(ground_of, with_notes(survey, {1: "break", 5: "break"})) == ()


@pytest.mark.parametrize("slip", [12.0, -12.0])
def test_a_slip_at_a_break_stands_off_what_leads_up_to_it(
    under_string: Any, ground_of: Any, slip: float
) -> None:
    """A crest, flat before it and falling evenly beyond; then its reading a foot off."""
    drops = [24.0, 24, 24, 24, 24, 27, 30, 33, 36, 39]
    survey = under_string(zip(range(0, 40, 4), drops, strict=True))
    assert found(ground_of, with_notes(survey, {4: "break"})) == ()
    drops[4] += slip
    survey = under_string(zip(range(0, 40, 4), drops, strict=True))
    (doubt,) = found(ground_of, with_notes(survey, {4: "break"}))
    assert (doubt.line, doubt.looks_like) == (6, "a slipped foot")
    assert doubt.would_fit == 24
