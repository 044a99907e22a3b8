"""How a chain of set-ups closes, and what a string does between its ends."""

import pytest
from msgspec import structs

from fencegrade.ground.readings import Reading
from fencegrade.ground.reduction import BookRow, Closure, LevelPage, StringChord, closing_on
from fencegrade.ground.sag import Hang
from fencegrade.units import parse_length


def closing(computed: float, known: float, allowed: float) -> Closure:
    return Closure(
        line=9, station=None, setups=2, computed=computed, known=known, allowed=allowed, rule="a rule"
    )


def test_a_misclosure_of_just_what_is_allowed_is_accepted() -> None:
    assert closing(10.5, 10.0, 0.5).accepted
    assert closing(9.5, 10.0, 0.5).accepted
    assert not closing(10.5625, 10.0, 0.5).accepted
    assert not closing(9.4375, 10.0, 0.5).accepted
    assert closing(9.5, 10.0, 0.5).misclosure == -0.5


def test_twelve_millimetres_are_twelve_millimetres_wherever_they_are_measured() -> None:
    """The difference of two decimals is seldom the decimal it should be."""
    for millimetres in range(300, 330):
        known, computed = parse_length(f"{millimetres} mm"), parse_length(f"{millimetres + 12} mm")
        assert closing(computed, known, parse_length("12 mm")).accepted


def test_what_is_allowed_grows_with_the_root_of_the_set_ups() -> None:
    reading, usual = Reading(line=9, station=0.0, elevation=0.0, raw=0.0), (0.25, "{setups} set-ups")
    closures = [closing_on(reading, 10.0, 10.5, n, None, usual) for n in (1, 4, 9)]
    assert [c.allowed for c in closures] == [0.25, 0.5, 0.75]
    assert [c.accepted for c in closures] == [False, True, True]
    own = closing_on(reading, 10.0, 10.5, 9, 0.4, usual)
    assert (own.allowed, own.rule, closures[1].rule) == (0.4, "the run's own limit", "4 set-ups")


@pytest.mark.parametrize(
    ("rise", "agrees"), [(20.0, True), (20.0000001, True), (20.125, False), (19.875, False)]
)
def test_backsights_less_foresights_are_rises_less_falls_and_the_rise(rise: float, agrees: bool) -> None:
    def page(steps: float, whole: float) -> LevelPage:
        rows = [
            BookRow(
                line=k + 2,
                station=None,
                backsight=90.0 if k == 0 else None,
                intermediate=None,
                foresight=70.0 if k == 2 else None,
                setup=1,
                elevation=z,
                adjusted=z,
            )
            for k, z in enumerate([100.0, 95.0, 100.0 + steps])
        ]
        return LevelPage(
            rows=tuple(rows), instrument=(190.0,), backsights=90.0, foresights=70.0, rise=whole, closures=()
        )

    assert page(20.0, rise).checks is agrees
    assert page(rise, 20.0).checks is agrees
    assert page(20.0, 20.0).steps == (None, -5.0, 25.0)
    assert page(20.0, 20.0).rises_and_falls == (25.0, 5.0)
    assert page(-4.5, -4.5).rises_and_falls == (0.5, 5.0)
    assert page(-5.5, -5.5).rises_and_falls == (0.0, 5.5)
    begun = page(20.0, 20.0)
    assert structs.replace(begun, rows=begun.rows[:2]).rises_and_falls == (0.0, 0.0), "no foresight yet"


def test_a_straight_string_runs_evenly_from_end_to_end() -> None:
    chord = StringChord(id="A", start=48.0, end=288.0, start_height=10.0, end_height=-2.0)
    assert (chord.span, chord.rise, chord.sag) == (240.0, -12.0, 0.0)
    assert chord.elevation([48.0, 108.0, 288.0]) == pytest.approx([10.0, 7.0, -2.0])


def test_a_string_hangs_below_its_chord() -> None:
    """A sag of 1-1/2 in at mid-span is 4 s u (1 - u) = 1-1/8 in a quarter of the way along."""
    chord = StringChord(
        id="A", start=48.0, end=288.0, start_height=10.0, end_height=-2.0, hang=Hang(measured=1.5)
    )
    assert chord.sag == 1.5
    assert chord.elevation([48.0, 108.0, 168.0, 288.0]) == pytest.approx([10.0, 5.875, 2.5, -2.0])
