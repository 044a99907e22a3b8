"""Slips that several readings share: found on calm ground, silent on honest ground and once confirmed."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis.strategies import floats, lists

from fencegrade.ground.doubt import doubts
from fencegrade.ground.readings import Levels, Reading, merge
from fencegrade.ground.shared_slips import (
    AROUND,
    FLOOR,
    SharedSlip,
    _enclosing,
    _from_slip,
    _next_to,
    _out_of_line,
    _usual_of_others,
    shared_problems,
    shared_slips,
)
from fencegrade.job.survey import Mark
from fencegrade.units import UnitSystem
from fencegrade.units.words import Words

DROPS = (30.0, 30.75, 31.0, 32.0, 33.0, 33.25, 33.0, 32.0, 31.75, 31.25)
PLACES = {
    "pair": (4, 5),
    "half": (5, 6, 7, 8, 9),
    "first stake": (0,),
    "last stake": (9,),
    "three": (3, 4, 5),
}


def levels(drops: list[float], system: UnitSystem = UnitSystem.IMPERIAL, confirmed: int = -1) -> Levels:
    rows = [
        Reading(
            line=k + 2,
            station=48.0 * k,
            elevation=-d,
            raw=d,
            marks=frozenset({Mark.CONFIRMED} if k == confirmed else ()),
        )
        for k, d in enumerate(drops)
    ]
    found, problems = merge(rows, "lane.csv", Words.of_readings(system))
    assert found is not None, problems
    return found


@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize("where", PLACES)
def test_a_foot_off_is_found_wherever_it_is_shared(where: str, sign: int) -> None:
    drops = [d + 12 * sign * (k in PLACES[where]) for k, d in enumerate(DROPS)]
    (slip,) = shared_slips(levels(drops), UnitSystem.IMPERIAL)
    wanted = PLACES[where]
    if where == "half":  # which half is right cannot be told: the shorter one is named
        assert {slip.first, slip.last} <= {0, 4, 5, 9}
    else:
        assert (slip.first, slip.last) == (wanted[0], wanted[-1])
        assert slip.off == pytest.approx(-12 * sign, abs=1.5)


def test_a_metric_slip_of_200_mm_in_one_drop_is_doubted() -> None:
    """One drop of ten is 200 mm too deep: a single reading, so the doubt of single readings has it."""
    metric = [round(d * 25.4) / 25.4 for d in DROPS]
    metric[4] += 200 / 25.4
    (doubt,) = doubts(levels(metric, UnitSystem.METRIC), UnitSystem.METRIC)
    assert doubt.looks_like == "a slip of 200 mm"
    assert doubt.line == 6


@pytest.mark.parametrize("place", range(1, 10))
def test_it_is_doubted_beside_a_crest_too(place: int) -> None:
    """Ground that bends by two inches at a reading: left out, the slip makes all far less strange."""
    drops = [20.0, 21.0, 22.0, 23.0, 24.0, 22.5, 20.0, 19.0, 18.5, 19.0, 20.0, 21.5]
    drops[place] += 200 / 25.4
    (doubt,) = doubts(levels(drops, UnitSystem.METRIC), UnitSystem.METRIC)
    assert (doubt.spot, doubt.looks_like) == (place, "a slip of 200 mm")


ROUGH = [20.0, 21.0, 22.0, 23.0, 24.0, 22.5, 20.0, 19.0, 18.5, 19.0, 20.0, 21.5]


@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize("at", range(1, 12))
def test_a_rough_survey_a_foot_off_from_a_stake_on_is_doubted(at: int, sign: int) -> None:
    """At its crest and its steepest too, where the step itself is some inches more or less than a foot."""
    ground = levels([d + 12 * sign * (k >= at) for k, d in enumerate(ROUGH)])
    assert shared_slips(ground, UnitSystem.IMPERIAL) or doubts(ground, UnitSystem.IMPERIAL)


def test_two_neighbours_off_are_named_and_no_others() -> None:
    """The way back to the others is no foot by itself where the ground turns; one of 18 is missed."""
    cases = [(at, sign) for at in range(1, 10) for sign in (1, -1)]
    named = []
    for at, sign in cases:
        off = levels([d + 12 * sign * (k in (at, at + 1)) for k, d in enumerate(ROUGH)])
        named += [(s.first - at, s.last - at) for s in shared_slips(off, UnitSystem.IMPERIAL)]
    assert named == [(0, 1)] * (len(cases) - 1)


def test_honest_ground_is_not_doubted() -> None:
    """A wandering ground, and a bank 20 in high over two readings; 200 of each."""
    rng = np.random.default_rng(3)
    for _ in range(200):
        wander = 40 + np.cumsum(rng.normal(0, 1.0, 14)) + rng.normal(0, 3 / 16, 14)
        bank = wander + np.concatenate([np.zeros(6), [5.0, 11.0], np.full(6, 16.0)])
        for drops in (wander, bank):
            assert shared_slips(levels(list(np.round(drops * 8) / 8)), UnitSystem.IMPERIAL) == ()


def test_a_confirmed_reading_silences_the_doubt() -> None:
    drops = [d + 12 * (k in (4, 5)) for k, d in enumerate(DROPS)]
    assert shared_slips(levels(drops, confirmed=4), UnitSystem.IMPERIAL) == ()


def test_the_words_name_lines_stations_and_the_remedy() -> None:
    ground = levels([d + 12 * (k in (4, 5)) for k, d in enumerate(DROPS)])
    say = Words.of_readings(UnitSystem.IMPERIAL)
    (told,) = shared_problems(shared_slips(ground, UnitSystem.IMPERIAL), ground, "lane.csv", say)
    assert told.place == "lane.csv lines 6 and 7"
    assert told.found.startswith("the readings from 16' 0\" to 20' 0\" lie ")
    assert "lower than the others lead on to" in told.found
    assert "write confirmed in a note of theirs" in told.remedy


@given(off=lists(floats(-40, 40), min_size=5, max_size=40))
def test_the_usual_of_the_others_is_the_median_without_each(off: list[float]) -> None:
    """One sorting against leaving out each step in turn."""
    found = _usual_of_others(np.array(off))
    wanted = [max(FLOOR, 1.4826 * float(np.median(np.abs(np.delete(off, k))))) for k in range(len(off))]
    assert found == pytest.approx(wanted)


@given(off=lists(floats(-40, 40), min_size=5, max_size=30))
def test_a_step_is_held_against_the_median_of_those_around_it(off: list[float]) -> None:
    """All at once against one after another, to the ends of the row."""
    count = len(off)
    around = [np.delete(off[max(0, k - AROUND) : k + AROUND + 1], min(k, AROUND)) for k in range(count)]
    found = _out_of_line(np.arange(count + 1.0), np.cumsum([0.0, *off]))
    assert found == pytest.approx(
        [x - float(np.median(a)) for x, a in zip(off, around, strict=True)], abs=1e-9
    )


@pytest.mark.parametrize(
    ("off", "hits", "pair"),
    [
        # there and back: both hits, of opposite sense, up to three steps apart
        ([0, 12, -12, 0, 0], [1, 2], (1, 2)),
        ([0, 12, 0, 0, -12], [1, 4], (1, 4)),
        ([12, 0, 0, 0, -12], [0, 4], None),
        ([0, 12, 12, 0, 0], [1, 2], None),
        ([0, 12, -12, 12, -12], [1, 2, 3], None),
        ([0, 0, 0, 0, 0], [], None),
        # one hit: the way back is more than half of it, the largest such, within three steps
        ([0, 12, 0, -7, 0], [1], (1, 3)),
        ([0, 12, 0, -6, 0], [1], None),
        ([0, 12, -7, -8, 0], [1], (1, 3)),
        ([0, -12, 7, 0, 0], [1], (1, 2)),
        ([-7, 12, 0, 0, 0], [1], (0, 1)),
        ([-8, 0, 0, 12, 0, 0], [3], (0, 3)),
        ([-8, 0, 0, 0, 12, 0], [4], None),
        ([0, 12, 0, 0, 0, -8], [1], None),
    ],
)
def test_two_steps_enclose_what_is_off(
    off: list[float], hits: list[int], pair: tuple[int, int] | None
) -> None:
    assert _enclosing(np.array(off, dtype=float), hits) == pair


def test_steps_next_to_a_step_and_the_nearest_slip() -> None:
    assert _next_to(np.array([1.0, 2.0, 4.0, 10.0])).tolist() == [2, 2.5, 6, 4]
    assert _from_slip(np.array([-13.0, 3.0, 20.0]), np.array([12.0, 24.0])).tolist() == [1, 9, 4]


@pytest.mark.parametrize(
    ("slip", "told"),
    [
        (SharedSlip(first=2, last=2, off=11.0), "lane.csv line 4: the reading at 8' 0\" lies 11 in higher"),
        (
            SharedSlip(first=2, last=3, off=-1.5),
            "lane.csv lines 4 and 5: the readings from 8' 0\" to 12' 0\" lie 1-1/2 in lower",
        ),
    ],
)
def test_a_shared_slip_in_words(slip: SharedSlip, told: str) -> None:
    say = Words.of_readings(UnitSystem.IMPERIAL)
    (found,) = shared_problems((slip,), levels(list(DROPS)), "lane.csv", say)
    assert str(found) == (
        f"{told} than the others lead on to, which looks like a slip shared by them or a string that moved; "
        "read one of them again; if they are right, write confirmed in a note of theirs, or before and after "
        "where a wall or kerb stands"
    )
