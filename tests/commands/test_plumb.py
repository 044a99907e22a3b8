"""`fencegrade plumb` as it is typed."""

import json
from collections.abc import Callable

import pytest
from leaning import leaning

from .conftest import Run

Plumb = Callable[..., tuple[int, str, str]]
RISE = leaning("3/8 in")


@pytest.fixture
def plumb(run: Run) -> Plumb:
    """The command, as a function of its arguments: exit status, standard output and standard error."""

    def plumbed(*arguments: str) -> tuple[int, str, str]:
        done = run("plumb", *arguments)
        return done.status, done.out, done.err

    return plumbed


def test_six_boards_a_sixteenth_each(plumb: Plumb) -> None:
    status, out, err = plumb(*RISE, "--boards", "6")
    assert (status, err) == (0, "")
    assert "next 6 boards 1/16 in wider at the top than at the bottom" in out
    assert "at least 3 boards" in out
    assert "none of them for fences: rough framing 3/32 in, remodelling 3/8 in" in out
    assert "  spacing = 1/4 in" in out


def test_the_whole_board_counts(plumb: Plumb) -> None:
    _, out, _ = plumb(*RISE[:-1], "end", "--height", "6 ft")
    assert "that is 9/16 in over the whole board of 6' 0\"" in out
    assert "next 5 boards" in out
    assert "wider at the bottom than at the top" in out


def test_a_direction_that_nothing_says_is_doubted_before_any_gap_is_told(plumb: Plumb) -> None:
    status, out, _ = plumb(*RISE[:4])
    assert status == 0
    said, doubt = out.splitlines()[:2]
    assert said.endswith("toward the start")
    assert doubt.startswith("  warning: toward: nothing says which end")
    _, out, _ = plumb(*RISE)
    assert "nothing says" not in out


def test_too_few_boards_are_said_first(plumb: Plumb) -> None:
    status, out, _ = plumb(*RISE, "--boards", "2")
    assert status == 0
    assert "CANNOT BE HIDDEN in 2 boards: 1/8 in of the lean is left after the last" in out
    assert "at least 3 boards" in out


def test_boards_that_touch_may_be_ripped(plumb: Plumb) -> None:
    _, out, _ = plumb(*RISE, "--boards", "6", "--spacing", "0 in")
    assert "stay shut at the bottom and open to 1/16 in at the top" in out
    assert "5-1/2 in at the" in out
    assert "5-7/16 in at the bottom" in out
    assert "ends 3/16 in further along" in out


def test_narrow_gaps_say_how_many_boards_would_do(plumb: Plumb) -> None:
    _, out, _ = plumb(*RISE, "--boards", "3", "--spacing", "1/32 in")
    assert "spread over 6 boards no board would move along" in out


@pytest.mark.parametrize(
    ("arguments", "unit"),
    [
        (leaning("9 mm"), "mm"),
        (leaning("0.9 cm", "1.2 m"), "mm"),
        (leaning("0.009 m", "1.2 m"), "mm"),
        (leaning('3/8"', "1.2 m"), "in"),
        ((*RISE, "--metric"), "mm"),
    ],
)
def test_the_answer_follows_the_units_of_the_lean(
    plumb: Plumb, arguments: tuple[str, ...], unit: str
) -> None:
    status, out, _ = plumb(*arguments, "--json")
    assert status == 0
    assert json.loads(out)["length_unit"] == unit


def test_json_is_the_answer_alone(plumb: Plumb) -> None:
    _, out, _ = plumb(*leaning("9 mm", "1.2 m"), "--boards", "4", "--json")
    answer = json.loads(out)
    assert answer["format"] == "fencegrade-plumb/1"
    assert answer["taper"] == 2.25
    assert answer["hidden"] is True
    assert answer["least_boards"] == 3
    assert [p["number"] for p in answer["pickets"]] == [1, 2, 3, 4]
    assert sum(p["gap_top"] - p["gap_bottom"] for p in answer["pickets"]) == pytest.approx(9.0, abs=1e-3)
    assert answer["assumed"]["limit"] == "3 mm"
    assert answer["problems"] == []


def test_a_warning_goes_with_the_answer(plumb: Plumb) -> None:
    status, out, _ = plumb(*leaning("1/8 in", "1 ft", "end"), "--height", "6 ft", "--json")
    assert status == 0
    (problem,) = json.loads(out)["problems"]
    assert problem["severity"] == "warning"
    assert "6.0 times" in problem["message"]


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (
            leaning("8 in"),
            "--lean: the lean is 8 in over a board of 4' 0\", more than a board's width",
        ),
        (leaning("3/8"), "--lean: 3/8 has no unit"),
        (leaning("3/8 in", "4", "end"), "--over: 4 has no unit"),
        (leaning("tall"), "--lean: tall cannot be read"),
        (
            leaning("-3/8 in"),
            "--lean: -3/8 in is not more than zero",
        ),
        ((*RISE, "--spacing", "-1 in"), "--spacing: -1 in is below zero"),
        ((*RISE, "--boards", "0"), "--boards: 0 boards cannot be"),
        ((*RISE, "--limit", "1e-9 in"), "more than 1000 boards"),
        (
            (*leaning("1e9 in", "1 in", "end"), "--height", "1e9 in"),
            "more than a board's width",
        ),
    ],
)
def test_mistakes_end_with_status_1(plumb: Plumb, arguments: tuple[str, ...], words: str) -> None:
    status, out, err = plumb(*arguments)
    assert (status, out) == (1, "")
    assert words in err
    assert "Traceback" not in err


def test_every_mistake_is_listed(plumb: Plumb) -> None:
    _, _, err = plumb(*leaning("-1 in", toward="end"), "--boards", "0", "--limit", "0 in")
    assert [line.split(":")[0] for line in err.splitlines()] == ["--lean", "--limit", "--boards"]


def test_every_mistake_is_listed_with_a_job_as_well(plumb: Plumb) -> None:
    told = ("--lean", "3 furlongs", "--height", "4 ft", "--boards", "-2", "--after", "400")
    _, _, err = plumb("--job", "sample_runs/herb_garden", *told)
    assert [line.split(":")[0] for line in err.splitlines()] == [
        *("--height", "--lean", "--boards", "--over", "--after")
    ]


@pytest.mark.parametrize(
    "arguments", [("--lean", "3/8 in"), (*RISE, "--toward", "left"), (*RISE, "--boards", "few")]
)
def test_wrong_usage_ends_with_status_2(plumb: Plumb, arguments: tuple[str, ...]) -> None:
    status, out, _ = plumb(*arguments)
    assert (status, out) == (2, "")
