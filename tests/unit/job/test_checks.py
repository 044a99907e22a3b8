"""Mistakes that lie between two values of a job file."""

import tomllib

import pytest
from pydantic import TypeAdapter
from small_job import filled

from fencegrade.job.checks import check_job
from fencegrade.job.records import JobFile
from fencegrade.units import UnitSystem

ADAPTER = TypeAdapter(JobFile)
STOCK = '[[pickets.stock]]\nlength = "6 ft"\n'


def found(
    run: str = "", rest: str = STOCK, units: str = "imperial", job: str = "", numbers: tuple[int, ...] = ()
) -> list[str]:
    head = f'[job]\ntitle = "x"\nunits = "{units}"\n{job}\n[[run]]\nname = "lane"\nsurvey = "a.csv"'
    text = f"{head}\n{run}\n{rest}"
    file = ADAPTER.validate_python(filled(tomllib.loads(text), UnitSystem(units)))
    return [str(p) for p in check_job(file, "job.toml", numbers or range(len(file.run)))]


def test_a_sound_job_has_no_mistake() -> None:
    assert found() == []
    assert found(run='start = "1000000 ft"\nend = "1000020 ft"') == [], "far stations are no long run"
    assert found(units="metric", rest='[[pickets.stock]]\nlength = "1.8 m"\n') == []


@pytest.mark.parametrize(
    ("run", "expected"),
    [
        (
            'start = "30 ft"\nend = "20 ft"',
            "run 1, end: the run ends at 20' 0\", before its start at 30' 0\"; "
            "write stations that grow along the run",
        ),
        (
            'start = "0 ft"\nend = "2000000 ft"',
            "run 1, end: the run is longer than 200 miles; check the unit",
        ),
        (
            '[[run.no_post]]\nstart = "4 ft"\nend = "4 ft"',
            "run 1, no_post 1, end: the stretch ends at 4' 0\", not after its start at 4' 0\"; "
            "write the nearer station as start",
        ),
        (
            '[[run.clearance]]\nstart = "0 ft"\nend = "4 ft"\nheight = "1 in"\n'
            '[[run.clearance]]\nstart = "3 ft"\nend = "6 ft"\nheight = "0 in"',
            "run 1, clearance: two stretches overlap between 3' 0\" and 4' 0\"; "
            "let one end where the next begins",
        ),
        (
            'start = "2 ft"\n[[run.gate]]\nstation = "1 ft"\nwidth = "3 ft"',
            "run 1, gate 1, station: the gate begins at 1' 0\", before the run at 2' 0\"; "
            "move the gate into the run",
        ),
        (
            'end = "5 ft"\n[[run.gate]]\nstation = "4 ft"\nwidth = "3 ft"',
            "run 1, gate 1, width: the gate reaches 7' 0\", past the run's end at 5' 0\"; "
            "move the gate into the run or make it narrower",
        ),
        (
            '[[run.gate]]\nstation = "8 ft"\nwidth = "3 in"\n'
            '[[run.gate]]\nstation = "4 ft"\nwidth = "2.99 in"',
            "run 1, gate 2, width: an opening of 2.99 in takes no leaf; check the number and its unit",
        ),
        (
            '[[run.gate]]\nstation = "4 ft"\nwidth = "3 ft"\n[[run.gate]]\nstation = "2 ft"\nwidth = "25 in"',
            "run 1, gate: two gates overlap at 4' 0\"; move one gate or make it narrower",
        ),
        (
            '[[run.string]]\nweight = "1.4 g/m"',
            "run 1, string 1, weight: weight is given without pull; add pull, or take weight out",
        ),
        (
            '[[run.string]]\npull = "10 lbf"',
            "run 1, string 1, pull: pull is given without weight; add weight, or take pull out",
        ),
        (
            '[[run.string]]\npull = "10 lbf"\nweight = "1.4 g/m"\nsag = "1 in"',
            "run 1, string 1, sag: sag is given twice, as measured and by weight and pull; "
            "keep one of the two",
        ),
        (
            '[[run.string]]\nstart = "4 ft"\nend = "4 ft"',
            "run 1, string 1, end: the string ends before it starts; write stations that grow along the run",
        ),
        (
            '[[run.string]]\nid = "A"\n[[run.string]]\nid = "A"',
            'run 1, string: two strings have the id "A"; give each set-up its own id',
        ),
        (
            '[[run.string]]\nid = "A"\n[[run.string]]\n',
            'run 1, string 2, id: one of several strings has no id; name each set-up, such as id = "A"',
        ),
        (
            '[[run.keep_open]]\nstart = "0 ft"\nend = "4 ft"\nheight = "75 in"',
            "run 1, keep_open 1, height: 75 in stays open under a fence of 74 in: no picket is left; "
            "open less, or raise [top] least_height",
        ),
    ],
)
def test_runs(run: str, expected: str) -> None:
    assert found(run) == [f"job.toml {expected}"]


def test_ids_given_twice_are_told_in_the_order_of_the_alphabet() -> None:
    ids = ["fence", "shed", "oak", "barn", "walnut", "gable"]
    told = found("".join(f'[[run.string]]\nid = "{id_}"\n' for id_ in ids + ids))
    assert [t.split('"')[1] for t in told] == sorted(ids)


def test_stretches_and_gates_that_touch_are_no_overlap() -> None:
    assert (
        found(
            '[[run.gate]]\nstation = "2 ft"\nwidth = "2 ft"\n[[run.gate]]\nstation = "4 ft"\nwidth = "2 ft"\n'
            '[[run.clearance]]\nstart = "0 ft"\nend = "4 ft"\nheight = "1 in"\n'
            '[[run.clearance]]\nstart = "4 ft"\nend = "6 ft"\nheight = "0 in"'
        )
        == []
    )


def test_a_gate_may_fill_the_run_to_its_ends() -> None:
    assert found('start = "2 ft"\nend = "6 ft"\n[[run.gate]]\nstation = "2 ft"\nwidth = "4 ft"') == []


@pytest.mark.parametrize(
    ("rest", "expected"),
    [
        (
            '[top]\nleast_height = "6 ft"\nmost_height = "5 ft"\n' + STOCK,
            "[top] most_height: the most height 60 in is under the least height 72 in; "
            "raise the one or lower the other",
        ),
        (
            '[pickets]\nclearance = "4 in"\n' + STOCK,
            "[pickets] most_gap: the largest gap 3 in is under the clearance 4 in; "
            "allow at least the clearance as a gap",
        ),
        (
            '[pickets]\nleast_clearance = "2-1/2 in"\n' + STOCK,
            "[pickets] least_clearance: the least clearance 2-1/2 in is over the clearance 2 in; "
            "write no more than the clearance",
        ),
        (
            '[pickets]\nclearance = "80 in"\nmost_gap = "90 in"\n' + STOCK,
            "[pickets] clearance: 80 in stays open under a fence of 74 in: no picket is left; "
            "open less, or raise [top] least_height",
        ),
        (
            "[pickets]\nstock = []\n",
            "[pickets] stock: no stock length is offered; add [[pickets.stock]] with its length",
        ),
        (
            STOCK + "[posts]\nstock = []\n",
            "[posts] stock: no stock length is offered; add [[posts.stock]] with its length",
        ),
        (
            STOCK + STOCK.replace("6 ft", "72 in"),
            "[pickets] stock 2, length: 72 in is offered twice; "
            "keep one entry a length; what is there, or paid elsewhere at another price, is on_hand",
        ),
        (
            STOCK + "limit = 0\n",
            "[pickets] stock: no length of it can be bought: every one has a limit of 0; "
            "take the limit from one, or add a length that is sold",
        ),
        (
            STOCK + "limit = 0\n" + STOCK.replace("6 ft", "8 ft") + "limit = 9\n",
            "[pickets] stock 2, limit: a job takes no other limit than 0, and 9 is written; "
            "write 0 where no more can be bought; where a yard has 9, buy those and write them as on_hand: "
            "that counts as paid, and no total holds its price",
        ),
        (
            STOCK + "price = 0.00001\n",
            "[pickets] stock 1, price: a price of 1e-05 is under 0.0001; check the decimal point",
        ),
        (
            STOCK + STOCK.replace("6 ft", "8 ft") + "price = 6.85\n",
            "[pickets] stock 1, price: 72 in has no price but other lengths have one; "
            "give every length a price, or none",
        ),
        (
            '[pickets]\nwidth = "5 ft"\n' + STOCK,
            "[pickets] width: 60 in is more than 48 in; check the number and its unit",
        ),
        (
            '[pickets]\nspacing = "5 ft"\n' + STOCK,
            "[pickets] spacing: 60 in is more than 48 in; check the number and its unit",
        ),
        (
            '[pickets]\nwidth = "5.5 mm"\n' + STOCK,
            "[pickets] width: 5.5 mm is too narrow for a board; check the number and its unit",
        ),
        (
            STOCK + '[posts]\nfixed = ["4 ft", "2 ft"]\n',
            "[posts] fixed 2: 2' 0\" comes after 4' 0\"; "
            "list the stations in the order they stand, and check them for slips",
        ),
        (
            STOCK + "[rails]\ncount = 41\n",
            "[rails] count: 41 rows of rails are more than 40; check the number",
        ),
        (
            STOCK + '[rails]\nbearing = "2 in"\n',
            "[rails] bearing: a butted rail cannot cover 2 in of a post 3-1/2 in wide; "
            "write 1-3/4 in or less",
        ),
        (
            STOCK + '[soil]\nlow_ground = "soil"\nmost_depth = "0 in"\n',
            "[soil] most_depth: soil is chosen but may be no deeper than 0; "
            'allow a depth, or write low_ground = "boards"',
        ),
    ],
)
def test_tables(rest: str, expected: str) -> None:
    assert found(rest=rest) == [f"job.toml {expected}"]


@pytest.mark.parametrize("tape", ["1/2000 in", "13 in", "1e-9 in"])
def test_a_mark_nobody_cuts_to(tape: str) -> None:
    (line,) = found(job=f'tape = "{tape}"')
    assert line.startswith("job.toml [job] tape: nobody cuts to a mark of ")
    assert line.endswith("; write the finest mark you cut to, such as 1/8 in or 1 mm")


def test_metric_jobs_are_told_in_millimetres() -> None:
    stock = '[[pickets.stock]]\nlength = "1.8 m"\n'
    assert found(rest=stock + stock, units="metric", job='tape = "5 mm"') == [
        "job.toml [pickets] stock 2, length: 1800 mm is offered twice; "
        "keep one entry a length; what is there, or paid elsewhere at another price, is on_hand"
    ]


@pytest.mark.parametrize("name", ["leaf 2", "Gate 1 leaf 2", "all runs"])
def test_no_run_is_called_as_the_sheets_call_something_else(name: str) -> None:
    second = f'[[run]]\nname = "{name}"\nsurvey = "b.csv"\n'
    (told,) = found(rest=second + STOCK)
    assert told.startswith(f'job.toml run 2, name: "{name}" is what the sheets call something else')
    assert not found(rest=second.replace(name, "leaf 2 side") + STOCK)


def test_two_runs_of_one_name_and_the_number_in_the_file() -> None:
    second = '[[run]]\nname = "lane"\nsurvey = "b.csv"\n'
    assert found(rest=second + STOCK) == [
        'job.toml run 2, name: "lane" names two runs; give each run its own name'
    ]
    assert found(rest=second + STOCK, numbers=(1, 4)) == [
        'job.toml run 5, name: "lane" names two runs; give each run its own name'
    ]


JUST_ALLOWED = (
    ('tape = "1 in"', "", STOCK),
    ('tape = "0.001 in"', "", STOCK),
    ("", 'start = "0 ft"\nend = "200 mi"'.replace("200 mi", "1056000 ft"), STOCK),
    ("", '[[run.existing_post]]\nstation = "1 ft"\nheight = "30 ft"', STOCK),
    ("", '[[run.gate]]\nstation = "1 ft"\nwidth = "3 ft"\nopen_angle = "180 deg"', STOCK),
    ("", "", '[top]\nleast_height = "6 ft"\nmost_height = "6 ft"\nmost_slope = "0 %"\n' + STOCK),
    ("", "", '[pickets]\nclearance = "3 in"\nleast_clearance = "3 in"\nmost_gap = "3 in"\n' + STOCK),
    ("", "", '[pickets]\nwidth = "48 in"\nspacing = "48 in"\n' + STOCK),
    ("", "", '[pickets]\nwidth = "1/4 in"\n' + STOCK),
    ("", "", '[[pickets.stock]]\nlength = "1 in"\n[[pickets.stock]]\nlength = "100 ft"\nprice = 0.0001\n'),
    ("", "", STOCK + '[posts]\nwidth = "3 in"\nthickness = "4 in"\nhole_diameter = "5 in"\n'),
    ("", "", STOCK + '[posts]\nspacing = "3-9/16 in"\n'),
    ("", "", STOCK + '[posts]\nfixed = ["2 ft", "2 ft"]\n'),
    ("", "", STOCK + '[rails]\nbearing = "1-3/4 in"\n'),
    ("", "", STOCK + '[rails]\njoint = "lapped"\nbearing = "3-1/2 in"\n'),
    ("", "", STOCK + '[posts]\nheight = "-6 in"\n'),
    ("", "", STOCK + '[soil]\nlow_ground = "soil"\nmost_depth = "0.001 in"\n'),
    ("", "", STOCK + '[soil]\ncrest = "0 in"\nside_slope = 0\n'),
    ("", "", STOCK + '[soil]\nlow_ground = "soil"\ncrest = "0.001 in"\nside_slope = 0\n'),
    ("", "", STOCK + '[soil]\nlow_ground = "soil"\ncrest = "0 in"\nside_slope = 0.001\n'),
)
"""Values at the very end of what may be: of `[job]`, of the run, and of the other tables."""
JUST_TOO_FAR = (
    (
        JUST_ALLOWED[0],
        "1 in",
        "1.001 in",
        "[job] tape: nobody cuts to a mark of 1.001 in",
    ),
    (
        JUST_ALLOWED[1],
        "0.001",
        "0.00099",
        "[job] tape: nobody cuts to a mark of 0.00099 in",
    ),
    (
        JUST_ALLOWED[2],
        "1056000",
        "1056001",
        "run 1, end: the run is longer than 200 miles; check the unit",
    ),
    (
        JUST_ALLOWED[3],
        "30 ft",
        "361 in",
        "run 1, existing_post 1, height: a post 361 in tall is no fence post",
    ),
    (
        JUST_ALLOWED[4],
        "180 deg",
        "180.01 deg",
        "run 1, gate 1, open_angle: a leaf opens by half a turn at most",
    ),
    (
        JUST_ALLOWED[5],
        "0 %",
        "-0.1 %",
        "[top] most_slope: the steepest slope is below nothing",
    ),
    (
        JUST_ALLOWED[6],
        'least_clearance = "3 in"',
        'least_clearance = "3-1/16 in"',
        "[pickets] least_clearance: ",
    ),
    (
        JUST_ALLOWED[7],
        'width = "48 in"',
        'width = "48-1/16 in"',
        "[pickets] width: 48-1/16 in is more than 48 in",
    ),
    (
        JUST_ALLOWED[8],
        "1/4 in",
        "15/64 in",
        "[pickets] width: 15/64 in is too narrow for a board",
    ),
    (
        JUST_ALLOWED[9],
        '"1 in"',
        '"15/16 in"',
        "[pickets] stock 1, length: a board of 15/16 in is shorter than 1 in",
    ),
    (
        JUST_ALLOWED[9],
        "100 ft",
        "1201 in",
        "[pickets] stock 2, length: a board of 1201 in is longer than 100 ft",
    ),
    (
        JUST_ALLOWED[9],
        "0.0001",
        "0.00009",
        "[pickets] stock 2, price: a price of 9e-05 is under 0.0001",
    ),
    (
        JUST_ALLOWED[10],
        "5 in",
        "4-15/16 in",
        "[posts] hole_diameter: a hole of 4-15/16 in does not take a post that is 5 in from corner to "
        "corner; write a wider hole: three times the post's width is common practice with concrete",
    ),
    (
        JUST_ALLOWED[11],
        "3-9/16 in",
        "3-1/2 in",
        "[posts] spacing: posts 3-1/2 in wide cannot stand 3-1/2 in apart, centre to centre; "
        "check the unit; 6 ft to 8 ft is usual",
    ),
    (
        JUST_ALLOWED[13],
        "1-3/4 in",
        "1-13/16 in",
        "[rails] bearing: a butted rail cannot cover 1-13/16 in",
    ),
    (
        JUST_ALLOWED[14],
        "3-1/2 in",
        "3-9/16 in",
        "[rails] bearing: a lapped rail cannot cover 3-9/16 in",
    ),
    (
        JUST_ALLOWED[15],
        "-6 in",
        "-6-1/16 in",
        "[posts] height: post tops 6-1/16 in below the tops leave",
    ),
)


@pytest.mark.parametrize(("job", "run", "rest"), JUST_ALLOWED)
def test_the_very_end_of_what_may_be_is_no_mistake(job: str, run: str, rest: str) -> None:
    assert [line for line in found(run, rest, job=job) if "no price" not in line] == []


@pytest.mark.parametrize(("allowed", "old", "new", "told"), JUST_TOO_FAR)
def test_a_hair_beyond_it_is_one(allowed: tuple[str, str, str], old: str, new: str, told: str) -> None:
    job, run, rest = (text.replace(old, new) for text in allowed)
    (line,) = (line for line in found(run, rest, job=job) if "no price" not in line)
    assert line.startswith(f"job.toml {told}")


def test_no_picket_is_left_where_as_much_stays_open_as_the_fence_is_high() -> None:
    high = '[top]\nleast_height = "74 in"\n' + STOCK
    for height, wrong in (("73-15/16 in", 0), ("74 in", 1)):
        for key in ("clearance", "keep_open"):
            run = f'[[run.{key}]]\nstart = "0 ft"\nend = "4 ft"\nheight = "{height}"'
            assert len(found(run, high)) == wrong
