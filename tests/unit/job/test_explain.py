"""What a builder reads where a value of the job file has the wrong type, sign, unit or name."""

import dataclasses
import datetime
import math
import tomllib
from typing import Any

import pytest
from pydantic import TypeAdapter, ValidationError
from small_job import JOB, filled
from written import written

from fencegrade.job.explain import MOST_LISTED, explain_errors, key_place
from fencegrade.job.fields import FROM_FILE, shown_value
from fencegrade.job.records import Gate, JobFile

FILE = TypeAdapter(JobFile)


def sound_tree() -> dict[str, Any]:
    return filled(tomllib.loads(JOB))


def explained(tree: dict[str, Any]) -> list[str]:
    with pytest.raises(ValidationError) as caught:
        FILE.validate_python(tree, context=FROM_FILE)
    return [str(p) for p in explain_errors(caught.value, "job.toml")]


def with_value(path: tuple[str | int, ...], value: Any) -> dict[str, Any]:
    tree: Any = sound_tree()
    at = tree
    for part in path[:-1]:
        at = at[part]
    at[path[-1]] = value
    whole: dict[str, Any] = tree
    return whole


def test_the_tree_these_tests_break_is_sound() -> None:
    assert FILE.validate_python(sound_tree(), context=FROM_FILE).job.title == "Herb garden"


NO_UNIT = 'has no unit; write it as text with its unit, such as "5-1/2 in" or "140 mm"'
ORDINARY = "write it as a table with its keys"
PAIR = 'write one x and one y, such as ["12 ft", "30 ft"]'


@pytest.mark.parametrize(
    ("path", "value", "expected"),
    [
        (("pickets", "width"), 5.5, f"[pickets] width: 5.5 {NO_UNIT}"),
        (
            ("pickets", "width"),
            "5.10",
            "[pickets] width: 5.10 has no unit; "
            "write 5' 10\", 5.10 ft, 5.10 in or 5.10 m, whichever was read",
        ),
        (
            ("pickets", "width"),
            "0 in",
            '[pickets] width: "0 in" is not more than zero; check the number and its sign',
        ),
        (
            ("pickets", "clearance"),
            "-1/2 in",
            '[pickets] clearance: "-1/2 in" is below zero; check the sign',
        ),
        (
            ("pickets", "width"),
            "nan in",
            "[pickets] width: nan in is not a finite number; write it as in 5' 3-1/2\", 63-1/2 in or 1613 mm",
        ),
        (
            ("pickets", "width"),
            "1e9 ft",
            "[pickets] width: 1e9 ft is larger than 1,000,000,000 in; check the number and its unit",
        ),
        (
            ("pickets", "width"),
            "",
            "[pickets] width: the length is empty; write it as in 5' 3-1/2\", 63-1/2 in or 1613 mm",
        ),
        (
            ("pickets", "width"),
            True,
            '[pickets] width: true is not a text with its unit; write one, such as "5-1/2 in" or "140 mm"',
        ),
        (
            ("pickets", "width"),
            {"in": 5},
            '[pickets] width: a table is not a text with its unit; write one, such as "5-1/2 in" or "140 mm"',
        ),
        (
            ("run", 0, "start"),
            datetime.date(2024, 5, 1),
            'run 1, start: 2024-05-01 is not a text with its unit; write one, such as "5-1/2 in" or "140 mm"',
        ),
        (
            ("run", 0, "string"),
            [{"pull": "10 ft"}],
            "run 1, string 1, pull: 10 ft has no unit known for a force; write it as in 10 lbf or 45 N",
        ),
        (
            ("pickets", "stock", 0, "price"),
            -4,
            "[pickets] stock 1, price: a price of -4 cannot be; write what one costs, zero or more",
        ),
        (
            ("pickets", "stock", 0, "price"),
            float("nan"),
            "[pickets] stock 1, price: a price of nan cannot be; write what one costs, zero or more",
        ),
        (
            ("pickets", "stock", 0, "price"),
            1e12,
            "[pickets] stock 1, price: a price of 1e+12 is beyond 1,000,000,000; check the decimal point",
        ),
        (
            ("pickets", "stock", 0, "price"),
            "4.10",
            '[pickets] stock 1, price: "4.10" is not a plain number; write the price alone, such as 4.10',
        ),
        (
            ("pickets", "stock", 0, "on_hand"),
            2.5,
            "[pickets] stock 1, on_hand: 2.5 is not a count; write a whole number, zero or more",
        ),
        (
            ("pickets", "stock", 0, "on_hand"),
            10**8,
            "[pickets] stock 1, on_hand: 100000000 is more than 10000000; check the number",
        ),
        (
            ("pickets", "stock"),
            "6 ft",
            '[pickets] stock: "6 ft" stands where a list belongs; '
            "write it as [[pickets.stock]], in double brackets",
        ),
        (
            ("pickets", "stock"),
            {"length": "6 ft"},
            "[pickets] stock: a table stands where a list belongs; "
            "write it as [[pickets.stock]], in double brackets",
        ),
        (
            ("pickets", "stock"),
            ["6 ft"],
            f'[pickets] stock 1: "6 ft" stands where a table belongs; {ORDINARY}',
        ),
        (("pickets",), [1], f"[pickets]: a list stands where a table belongs; {ORDINARY}"),
        (("top",), "level", f'[top]: "level" stands where a table belongs; {ORDINARY}'),
        (
            ("run",),
            {"name": "x"},
            "[run]: a table stands where a list belongs; write it as [[run]], in double brackets",
        ),
        (("run", 0), 3, f"run 1: 3 stands where a table belongs; {ORDINARY}"),
        (
            ("run", 0, "gate"),
            {"station": "3 ft", "width": "4 ft"},
            "run 1, gate: a table stands where a list belongs; write it as [[run.gate]], in double brackets",
        ),
        (
            ("run", 0, "gate"),
            [{"station": "3 ft"}],
            "run 1, gate 1, width: is missing; add width (clear width of the opening)",
        ),
        (
            ("run", 0, "from_xy"),
            "3 ft",
            f'run 1, from_xy: "3 ft" stands where a list belongs; {PAIR}',
        ),
        (("run", 0, "from_xy"), ["3 ft"], f"run 1, from_xy 2: is missing; {PAIR}"),
        (("run", 0, "from_xy"), ["3 ft"] * 3, f"run 1, from_xy: a list of 3 is too long; {PAIR}"),
        (("job", "title"), 3, "[job] title: 3 is not a text; write words in quotes"),
        (
            ("job", "title"),
            "x" * 201,
            "[job] title: is 201 characters long; keep it under 200",
        ),
        (
            ("job", "units"),
            "metrc",
            '[job] units: "metrc" is not one of the choices; write "imperial" or "metric"',
        ),
        (
            ("top", "measured"),
            True,
            '[top] measured: true is not one of the choices; write "every point", "average" or "lower side"',
        ),
        (
            ("run", 0, "read_at_breaks"),
            "perhaps",
            'run 1, read_at_breaks: "perhaps" is neither true nor false; write true or false, without quotes',
        ),
        (
            ("soil", "loose_factor"),
            0.8,
            "[soil] loose_factor: 0.8 is not between 1 and 3; check the number",
        ),
        (
            ("soil", "side_slope"),
            "3:1",
            '[soil] side_slope: "3:1" is not a plain number; write it without quotes and without a unit',
        ),
        (
            ("pickets", "widht"),
            "5 in",
            '[pickets] widht: is not a key that is known here; did you mean "width"?',
        ),
        (
            ("top", "min_height"),
            "3 ft",
            '[top] min_height: is not a key that is known here; did you mean "least_height"?',
        ),
        (
            ("pickets", "max_gap"),
            "3 in",
            '[pickets] max_gap: is not a key that is known here; did you mean "most_gap"?',
        ),
        (
            ("run", 0, "Name"),
            "x",
            'run 1, Name: is not a key that is known here; did you mean "name"?',
        ),
        (
            ("run", 0, "Paved"),
            [{"start": "2 ft", "end": "4 ft"}],
            'run 1, Paved: is not a key that is known here; write it as "keep_open" (no soil and no post '
            "there; with its height, the least open height under the pickets)",
        ),
        (
            ("run", 0, "corner"),
            "x",
            'run 1, corner: is not a key that is known here; write it as "join" (the name of the run at '
            "whose far end this one starts)",
        ),
        (
            ("pickets", "stock", 0, "pirce"),
            4,
            '[pickets] stock 1, pirce: is not a key that is known here; did you mean "price"?',
        ),
        (
            ("pickets", "stock", 0, "zzz"),
            4,
            "[pickets] stock 1, zzz: is not a key that is known here; "
            "known here: length, price, on_hand, limit",
        ),
        (
            ("run", 0, "pattern"),
            "shadowbox",
            "run 1, pattern: is not a key that is known here; pattern belongs under [pickets]; it holds for "
            "every run",
        ),
        *(
            (
                ("run", 0, "gate"),
                [{"station": "1 ft", "width": "3 ft", "swing_rise": ["1 in"] * count}],
                f"run 1, gate 1, swing_rise{more}; write a list of 3, in brackets",
            )
            for count, more in ((2, " 3: is missing"), (4, ": a list of 4 is too long"))
        ),
        (("title",), "x", "[title]: is not a key that is known here; title belongs under [job]"),
        (("gate",), [], "[gate]: is not a key that is known here; write it as [[run.gate]]"),
        (("picket",), {}, '[picket]: is not a key that is known here; did you mean "pickets"?'),
    ],
)
def test_words(path: tuple[str | int, ...], value: Any, expected: str) -> None:
    assert explained(with_value(path, value)) == [f"job.toml {expected}"]


@pytest.mark.parametrize(
    ("table", "key", "expected"),
    [
        ("job", "title", "[job] title: is missing; add title (name of the job, printed on every sheet)"),
        ("pickets", "stock", "[pickets] stock: is missing; add [[pickets.stock]] with its length"),
        (None, "job", "[job]: is missing; add [job] with its title and units"),
        (None, "run", "[run]: is missing; add [[run]] with its name and survey"),
    ],
)
def test_missing_keys_say_what_to_add(table: str | None, key: str, expected: str) -> None:
    tree = sound_tree()
    del (tree[table] if table else tree)[key]
    assert explained(tree) == [f"job.toml {expected}"]


WRONG: list[Any] = [
    3,
    2.5,
    "x",
    True,
    [],
    [[]],
    {},
    {"a": {"b": []}},
    datetime.date(2024, 5, 1),
    "\0\x1b[2J",
    "",
]


def places(tree: Any, path: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    found = [path] if path else []
    items = tree.items() if isinstance(tree, dict) else enumerate(tree) if isinstance(tree, list) else ()
    return found + [p for key, value in items for p in places(value, (*path, key))]


@pytest.mark.parametrize("value", WRONG, ids=repr)
def test_any_wrong_type_anywhere_gives_words(value: Any) -> None:
    for path in places(sound_tree()):
        try:
            FILE.validate_python(with_value(path, value), context=FROM_FILE)
        except ValidationError as error:
            for problem in explain_errors(error, "job.toml"):
                assert problem.place.startswith("job.toml ")
                assert problem.found
                assert problem.remedy
                assert str(problem).isprintable()
                assert "Traceback" not in problem.message
                assert len(str(problem)) < 400


def test_an_endless_list_of_mistakes_is_cut_short() -> None:
    assert len(explained(sound_tree() | {f"key {n}": n for n in range(MOST_LISTED)})) == MOST_LISTED
    tree = sound_tree() | {f"key {n}": n for n in range(MOST_LISTED + 7)}
    lines = explained(tree)
    assert len(lines) == MOST_LISTED + 1
    assert lines[-1] == "job.toml: 7 more mistakes are not listed; cure those above, then try again"


def test_keys_are_shown_without_control_characters() -> None:
    assert key_place("job.toml", ("run", 0, "a\x1b[2J")) == "job.toml run 1, a?[2J"
    assert len(key_place("job.toml", ("x" * 500,))) < 80
    assert key_place("job.toml", ()) == "job.toml"


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (True, "true"),
        ("a\nb", '"a?b"'),
        ({}, "a table"),
        ([1], "a list"),
        (2.5, "2.5"),
        ("x" * 99, '"' + "x" * 56 + "..."),
    ],
)
def test_values_are_shown_as_in_the_job_file(value: Any, text: str) -> None:
    assert shown_value(value) == text


def test_a_record_made_in_python_takes_inches() -> None:
    gate = written(Gate, station=5, width="1 ft")
    assert dataclasses.replace(gate, station=7.5) == written(Gate, station="7.5 in", width=12.0)
    with pytest.raises(ValidationError, match="not more than zero"):
        Gate(station=1.0, width=0.0)
    with pytest.raises(ValidationError, match="no unit"):
        Gate(station=math.nan, width=1.0)
