"""What is said of readings under strings: each sentence whole, and at its threshold."""

from typing import Any

import pytest
from written import written

from fencegrade.ground.readings import merge
from fencegrade.ground.reduction import Reduction
from fencegrade.ground.sag_told import uncorrected
from fencegrade.ground.strings import reduce
from fencegrade.job.records import StringLine
from fencegrade.units import UnitSystem
from fencegrade.units.words import Words

TWO = [(0, 24, "A"), (4, 24.5, "A"), (8, 20, "A"), (8, 40, "B"), (16, 30, "B"), (20, 31, "B")]
A, B = StringLine(id="A"), StringLine(id="B")
MEASURE = (
    "to know it, carry the height of both ends to mid-span with a water level or a laser, measure how far "
    "the string hangs under it, and write it as sag; or give weight and pull"
)
GRANTED = (
    "Taken for granted: the tops are marked from a string pulled the same way; then sag bends the line of "
    "the tops and cancels in every length. If they are levelled otherwise, say tops_levelled = true"
)
LINE = "a common mason's line (1.4 g/m) pulled with 10 lbf (45 N) hangs"
SHORT = "Boards there come out too short by it"
AGAIN = "read the shared stakes again from both strings, or check the known elevation"


def line(name: str | None = None, **keys: Any) -> StringLine:
    return written(StringLine, id=name, **keys)


@pytest.fixture(name="told")
def _told(under_string: Any, a_run: Any) -> Any:
    def reduced(rows: list[tuple[Any, ...]], **keys: Any) -> tuple[Reduction | None, list[str]]:
        say = Words(system=UnitSystem.IMPERIAL, mark=0.125)
        found, told = reduce(a_run(**keys), under_string(rows), say, "job.toml run 1", lambda at: at)
        return found, [f"{p.severity}, {p}" for p in told]

    return reduced


@pytest.mark.parametrize(
    ("rows", "keys", "said"),
    [
        (
            [(0, 24), (4, -0.5), (8, 0)],
            {},
            [
                "mistake, north.csv line 3: the drop at 4' 0\" is -1/2 in: ground above a tight string; "
                "check the sign; where the ground does reach the string, raise the string and read again",
                "warning, north.csv line 4: the string touches the ground at 8' 0\", so it is bent there; "
                "raise the string and read that set-up again, or check that 0 was meant",
            ],
        ),
        (
            [*TWO[:3], (12, 40, "B"), (16, 30, "B")],
            {"string": (A, B)},
            [
                "mistake, north.csv line 5: string B shares no station with the strings before it, so its "
                "height is unknown; read one stake from both strings, such as the one at 8' 0\", or give "
                "string B its height in the job file"
            ],
        ),
        (
            [(0, 24, "A"), (4, 24, "D"), (8, 24, "A")],
            {"string": (A, B)},
            [
                "mistake, job.toml run 1, string: the readings from north.csv line 3 on name string 'D', "
                'which is not declared (declared: A, B); add a [[run.string]] with id = "D", or correct the '
                "string column",
                "mistake, job.toml run 1, string 2: string 'B' has no reading in north.csv; take it out, or "
                "check the string column",
            ],
        ),
        (
            [(0, 24, "A"), (4, 24, "D"), (8, 24, "A")],
            {},
            [
                f"mistake, job.toml run 1, string: the readings from north.csv line {row} on name string "
                f"'{name}', which is not declared (declared: none); add a [[run.string]] with id = "
                f'"{name}", or correct the string column'
                for row, name in ((2, "A"), (3, "D"))
            ],
        ),
        *(
            (
                [(0, 24, "A"), (4, 24), (8, 24, last)],
                {"string": strings},
                [
                    "mistake, north.csv line 3: the row does not say which string it was read from; fill in "
                    "its string column"
                ],
            )
            for last, strings in (("B", (A, B)), ("A", (A,)))
        ),
        ([(0, 24), (4, 24), (8, 24)], {"string": (A,)}, []),
        (
            [(0, 24), (4, 24), (8, 24)],
            {"string": (line(weight=8.001 / 96, pull=1.0),)},
            [
                "mistake, job.toml run 1, string 1, pull: a line of that weight, so pulled, hangs lower than "
                "the 8' 0\" between its ends; check its weight, its pull and where its ends are",
            ],
        ),
        (
            [(0, 24, "A"), (8, 24, "A")],
            {"string": (line("A", line_level="20 g"),)},
            [
                "mistake, job.toml run 1, string 1, line_level: what a line level left hanging does to the "
                "string depends on the pull, which is not given; give weight and pull, or the sag measured "
                "at mid-span with the level on; or take the level off and read again"
            ],
        ),
        (
            [(0, 24, "A"), (8, 24, "A")],
            {"string": (line("A", line_level="20 g", weight="1.4 g/m", pull="45 N"),)},
            [
                'note, north side, 0" to 8\' 0": the line level left hanging pulls the string down 1/8 in '
                "more in the middle; this is corrected; take it off before reading next time"
            ],
        ),
        *(
            (
                [(0, 24, "A"), (8, 24, "A")],
                {"string": (line("A", start=start, end=end),)},
                [
                    f"mistake, north.csv line {row}: the reading at {at} lies beyond its string, which hangs "
                    f"from {hangs}; correct the station, or the string's start and end in the job file"
                ],
            )
            for start, end, row, at, hangs in (
                ("0 ft", "95 in", 3, "8' 0\"", '0" to 7\' 11"'),
                ("1 in", "96 in", 2, '0"', '1" to 8\' 0"'),
            )
        ),
        ([(0, 24, "A"), (8, 24, "A")], {"string": (line("A", start="0 ft", end="8 ft"),)}, []),
        (
            [(0, 24, "B"), (8, 24, "B"), (8, 24, "A"), (12, 24, "A"), (20, 24, "A")],
            {"string": (line("A", start="0 ft", end="12 ft"), line("B", start="12 ft", end="20 ft"))},
            [
                "mistake, north.csv lines 2 and 6: 3 readings lie beyond the strings they were read from, "
                "and none would if all were counted from the other end; if they were read from there, count "
                "the stations from the run's start (20' 0\" less each); else correct them, or the strings' "
                "start and end in the job file"
            ],
        ),
        (
            [(0, 24, "B"), (9, 24, "B"), (7, 24, "A"), (20, 24, "A")],
            {"string": (line("A", start="0 ft", end="12 ft"), line("B", start="12 ft", end="20 ft"))},
            [
                f"mistake, north.csv line {row}: the reading at {at} lies beyond its string, which hangs "
                f"from {hangs}; correct the station, or the string's start and end in the job file"
                for row, at, hangs in (
                    (5, "20' 0\"", '0" to 12\' 0"'),
                    (2, '0"', "12' 0\" to 20' 0\""),
                    (3, "9' 0\"", "12' 0\" to 20' 0\""),
                )
            ],
        ),
    ],
)
def test_readings_that_cannot_be(
    told: Any, rows: list[tuple[Any, ...]], keys: dict[str, Any], said: list[str]
) -> None:
    reduction, found = told(rows, **keys)
    assert found == said
    assert (reduction is None) == any(t.startswith("mistake") for t in said)


@pytest.mark.parametrize(
    ("height", "apart"), [("20.25 in", None), ("20.375 in", "3/8"), ("19.625 in", "3/8")]
)
def test_strings_that_disagree_on_a_stake(told: Any, height: str, apart: str | None) -> None:
    """String B at 20 in would agree with string A at 0."""
    _, found = told(TWO, string=(line("A", height="0 in"), line("B", height=height)))
    said = (
        f"warning, north side, 8' 0\": strings A and B disagree by {apart} in on this stake; 1/4 in is "
        "common practice; read the stake again from both strings; one of them may have moved or slackened"
    )
    assert found == [said] * (apart is not None)


@pytest.mark.parametrize(
    ("known", "own", "said"),
    [
        # two strings carry -11 in; 1/4 in times the root of two is 0.354 in
        (-10.65, None, None),
        (
            -10.64,
            None,
            "-10-5/8 in: a misclosure of just over -3/8 in, more than 3/8 in (1/4 in times the square root "
            "of 2 set-ups, common practice)",
        ),
        (
            -11.5,
            None,
            "-11-1/2 in: a misclosure of 1/2 in, more than 3/8 in (1/4 in times the square root of 2 "
            "set-ups, common practice)",
        ),
        (-10.75, 0.25, None),
        (-10.5, 0.25, "-10-1/2 in: a misclosure of -1/2 in, more than 1/4 in (the run's own limit)"),
    ],
)
def test_a_chain_that_does_not_close(told: Any, known: float, own: float | None, said: str | None) -> None:
    rows = [*TWO[:5], (20, 31, "B", None, known)]
    reduction, found = told(rows, string=(line("A", height="0 in"), B), most_misclosure=own)
    if said is None:
        assert found == []
        # what is missing is spread: half of it at the shared stake, all of it at the end
        missing = known + 11
        assert [r.elevation for r in reduction.readings] == pytest.approx(
            [-24, -24.5 + missing / 4, -20 + missing / 2, -20 + missing / 2, -10 + missing * 5 / 6, known]
        )
        return
    carried = "mistake, north.csv line 7: the strings carry -11 in to 20' 0\", the known elevation is "
    assert found == [f"{carried}{said}; {AGAIN}"]


@pytest.mark.parametrize(
    ("rows", "keys", "said"),
    [
        # 1.4 g/m pulled with 10 lbf hangs w L^2 / 8 F low: 0.677 in over 70 ft
        (
            [(0, 24), (70, 24)],
            {},
            'note, north side, 0" to 70\' 0": the string is not corrected for sag; '
            f"{LINE} 11/16 in low in the middle of this span. {GRANTED}; {MEASURE}",
        ),
        (
            [(0, 24), (70, 24)],
            {"tops_levelled": True},
            'warning, north side, 0" to 70\' 0": the string is not corrected for sag; '
            f"{LINE} 11/16 in low in the middle of this span. {SHORT}; {MEASURE}",
        ),
        (
            [(0, 24, "A"), (60, 24, "A"), (60, 24, "B"), (130, 30, "B")],
            {"string": (A, B)},
            "note, north side: 2 strings are not corrected for sag; "
            f"{LINE} 11/16 in low in the middle of the longest span (string B). {GRANTED}; {MEASURE}",
        ),
        (
            [(0, 24, "A"), (60, 24, "A"), (60, 24, "B"), (70, 30, "B")],
            {"string": (A, B)},
            'note, north side, 0" to 60\' 0": string A is not corrected for sag; '
            f"{LINE} 1/2 in low in the middle of this span. {GRANTED}; {MEASURE}",
        ),
        ([(0, 24), (70, 24)], {"string": (line(sag="0.25 in"),)}, None),
        # over a mark of 1/8 in from 30 ft on
        ([(0, 24), (29, 24)], {}, None),
        (
            [(0, 24), (30, 24)],
            {},
            'note, north side, 0" to 30\' 0": the string is not corrected for sag; '
            f"{LINE} 1/8 in low in the middle of this span. {GRANTED}; {MEASURE}",
        ),
    ],
)
def test_strings_whose_sag_nobody_gave(
    told: Any, a_run: Any, rows: list[tuple[Any, ...]], keys: dict[str, Any], said: str | None
) -> None:
    reduction, _ = told(rows, **keys)
    say = Words(system=UnitSystem.IMPERIAL, mark=0.125)
    levels, _ = merge(reduction.readings, "north.csv", say)
    assert levels is not None
    found = [f"{p.severity}, {p}" for p in uncorrected(levels, a_run(**keys), reduction.strings, say)]
    assert found == ([] if said is None else [said])
