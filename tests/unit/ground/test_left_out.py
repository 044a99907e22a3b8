"""Stretches in which stakes seem left out: found, told, and no board in them sure."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from fencegrade.ground.advice import UNREAD, advise, imagined, unread_under
from fencegrade.ground.left_out import Hole, holes, some_stations
from fencegrade.ground.report import ground_report
from fencegrade.ground.survey import RunGround
from fencegrade.job.records import Gate
from fencegrade.units import UnitSystem
from fencegrade.units.words import Words

FLAT = [*range(0, 24, 4), *range(36, 52, 4)]
"""Feet: every 4 ft, none between 20 ft and 36 ft."""


def widest(stations: list[float], breaks: list[float] | None = None) -> tuple[float, float] | None:
    found = holes(stations, breaks or [])
    return (found[0].start, found[0].end) if found else None


def test_a_stake_that_seems_left_out_is_found() -> None:
    """Among steps of 48 in one of 84 in or less is none; four stations are too few to tell."""
    even = [0.0, 48.0, 96.0, 144.0, 192.0]
    assert widest(even) is None
    assert widest([*even, 276.0]) is None
    assert widest([276.1, *even, 48.0]) == (192.0, 276.1)
    assert widest([0.0, 48.0, 96.0, 192.0]) is None
    at_a_ditch = [12.0 * x for x in (0, 4, 8, 10, 11, 12, 13, 14, 18, 22)]
    assert widest(at_a_ditch) is None
    assert widest([*at_a_ditch, 12 * 29.5]) == (12 * 22.0, 12 * 29.5)
    close = [12.0 * x for x in (0, 4, *(5 + k / 2 for k in range(9)), 12, 16)]
    assert widest(close) is not None
    assert widest(close, close[2:11]) is None, "marked as breaks, they are no steps"


def test_what_is_missing_stands_evenly_and_no_wider_apart_than_usual() -> None:
    hole = Hole(start=240.0, end=432.0, usual=48.0)
    assert (hole.missing, hole.reach) == ([288.0, 336.0, 384.0], 24.0)
    assert Hole(start=0.0, end=193.0, usual=48.0).missing == pytest.approx([38.6, 77.2, 115.8, 154.4])
    assert Hole(start=0.0, end=125.0, usual=71.0).missing == [62.5]
    words = Words.of_readings(UnitSystem.IMPERIAL)
    assert some_stations([12.0, 24.0], words) == "1' 0\" and 2' 0\""
    assert some_stations([12.0 * x for x in range(1, 9)], words).endswith("5' 0\", 6' 0\" and 2 more")


def with_note(survey: Any, station: float, note: str) -> Any:
    rows = (replace(r, note=note) if r.station == 12 * station else r for r in survey.rows)
    return replace(survey, rows=tuple(rows))


def holes_of(ground: RunGround) -> list[tuple[float, float]]:
    return [(h.start / 12, h.end / 12) for h in ground.left_out]


def test_a_hole_is_told_with_what_to_read_until_it_is_confirmed(under_string: Any, ground_of: Any) -> None:
    survey = under_string([(x, 12) for x in FLAT])
    ground = ground_of(survey)
    assert [str(p) for p in ground.notes if "no reading" in p.found] == [
        "north.csv lines 7 and 8: no reading between 20' 0\" and 36' 0\"; the others usually stand 4' 0\" "
        "apart; read the ground at 24' 0\", 28' 0\" and 32' 0\": boards there are marked in place until "
        "then. If the ground is even there, write confirmed in the notes of both readings"
    ]
    assert holes_of(ground_of(survey, start=240.0)) == [(20, 36)]
    # by hand: stakes at 24, 28 and 32 ft, each unread from 2 ft before it to 2 ft after
    boards, gate = "boards there are marked", "the gate at {} hangs by it, and is not to be made"
    for station, width, waits in (
        (264.0, 144.0, [gate.format("22' 0\"")]),
        (265.0, 143.0, [boards, gate.format("22' 1\"")]),
        (216.0, 48.0, [boards]),
        (408.0, 36.0, [boards]),
    ):
        told = " ".join(map(str, ground_of(survey, gate=(Gate(station=station, width=width),)).notes))
        assert [words in told for words in (boards, *waits)] == [boards in waits, *[True] * len(waits)]
        assert ("hangs by it" in told) == (waits != [boards])
    either = with_note(survey, 20, "confirmed"), with_note(survey, 36, "break, confirmed")
    assert [holes_of(ground_of(one)) for one in either] == [[(20, 36)]] * 2
    for sure in (
        ground_of(with_note(either[0], 36, "break, confirmed")),
        ground_of(survey, confirmed=True),
        ground_of(survey, end=240.0),
        ground_of(survey, start=432.0),
        ground_of(under_string([(x, 12) for x in (*range(0, 24, 4), 30, 40)])),
    ):
        assert holes_of(sure) == []
        assert not [p for p in sure.notes if "no reading" in p.found]
    further = ground_of(under_string([(x, 12) for x in (*range(0, 24, 4), 30, 40.1)]))
    assert holes_of(further) == [(30, 40.1)]


def test_stakes_left_out_beside_what_looks_like_a_slip_are_read_first(
    under_string: Any, ground_of: Any
) -> None:
    """They may explain the step, as in a ditch; a reading confirmed for the one does not answer for them."""

    def told(drops: list[float], note: str = "") -> list[str]:
        survey = under_string(list(zip([*range(0, 32, 4), *range(40, 80, 4)], drops, strict=True)))
        ground = ground_of(with_note(survey, 40, note))
        doubted = [p for p in ground.notes if "slip" in p.found or "no reading" in p.found]
        return [f"{p.place.removeprefix('north.csv lines ')}: {p.remedy[:32]}" for p in doubted]

    hole = "9 and 10: read the ground at 32' 0\" and 36"
    ditch: list[float] = [18, 18, 18, 18, 19, 21, 27, 36, 46, 40, 32, 25, 22, 22, 22, 22, 22, 23]
    assert told(ditch) == ["10 and 11: read the ground at 32' 0\" and 36", hole]
    assert told(ditch, "confirmed") == [hole]
    elsewhere = [12.0] * 8 + [12 + 12.0 * (k in (4, 5)) for k in range(10)]
    assert told(elsewhere) == ["14 and 15: read one of them again; if they ", hole]


def test_no_board_in_a_hole_is_sure_and_the_readings_are_not_enough(
    under_string: Any, ground_of: Any
) -> None:
    """Boards nearer to a reading than half a usual step are as sure as elsewhere, even where ground under a
    board was measured in place."""
    ground = ground_of(under_string([(x, 12) for x in FLAT]))
    boards = imagined(ground.profile, 0.0, 576.0)
    bare = advise(ground.profile, boards)
    advice = advise(ground.profile, boards, left_out=ground.left_out)
    inside = (boards.right > 264) & (boards.left < 408)
    assert (bare.chance < UNREAD).all()
    assert (bare.enough, bare.little_left) == (True, True)
    assert (advice.chance[inside] == UNREAD).all()
    assert (advice.chance[~inside] == bare.chance[~inside]).all()
    assert (advice.enough, advice.little_left) == (False, False)
    report = ground_report(ground, UnitSystem.IMPERIAL, 0.125, boards)
    assert (report.from_chart == ~inside).all()
    assert not [p for p in report.problems if "enough" in p.found or "hardly help" in p.found]
    line = np.union1d(ground.profile.line.stations, [288.0, 340.0, 360.0])
    known = ground_of(under_string([(x / 12, 12) for x in line])).profile
    assert unread_under(boards, known, (), ground.left_out).tolist() == [False] * 96
    some = ground_of(under_string([(x, 12) for x in (*FLAT, 24)])).profile
    unread = unread_under(boards, some, (), ground.left_out)
    assert unread.tolist() == ((boards.right > 312) & (boards.left < 408)).tolist()


def test_a_hole_is_no_advice_besides(under_string: Any, ground_of: Any) -> None:
    """A swale that nobody read: the gap is the most doubtful, and told as a hole alone."""
    drops = [12, 13, 15, 17, 19, 22, 20, 17, 14, 12]
    ground = ground_of(under_string(list(zip(FLAT, drops, strict=True))))
    boards = imagined(ground.profile, 0.0, 576.0)
    gaps = [(s.start / 12, s.end / 12) for s in advise(ground.profile, boards).stretches]
    assert gaps[0] == (20, 36)
    told = advise(ground.profile, boards, left_out=ground.left_out).stretches
    assert [(s.start / 12, s.end / 12) for s in told] == gaps[1:]
