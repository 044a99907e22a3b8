"""A quick slice of the fuzzing: every answer is whole, every mistake is told in words, whatever comes in."""

import shutil
import sys
from pathlib import Path
from random import Random

import pytest
from examples import few
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

sys.path.insert(0, str(Path(__file__).parents[1] / "benchmarks" / "fuzz"))

import fuzz_jobs
import fuzz_values
from fuzz_judge import judged, lay_files

SEEDS = {"job_case": 12, "survey_case": 10, "list_case": 15, "option_case": 15}


def fault_of(case: fuzz_jobs.Case, folder: Path) -> str:
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    lay_files(case, folder)
    return judged(case, folder).fault


@pytest.mark.parametrize("kind", SEEDS)
def test_cases_by_seed(kind: str, tmp_path: Path) -> None:
    for seed in range(SEEDS[kind]):
        fault = fault_of(getattr(fuzz_jobs, kind)(Random(seed)), tmp_path / "job")
        assert not fault, f"{kind} {seed}: {fault}"


@settings(few(10), suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(random=st.randoms(use_true_random=False))
def test_cases_that_shrink(tmp_path: Path, random: Random) -> None:
    case = fuzz_jobs.any_case(random)
    fault = fault_of(case, tmp_path / "job")
    assert not fault, (fault, case)


A_CSV = fuzz_jobs.SURVEYS["a.csv"].encode()


def altered(survey: bytes = A_CSV, **tables: object) -> fuzz_jobs.Case:
    """The imperial job with some tables replaced."""
    job = fuzz_values.toml_text(fuzz_jobs.IMPERIAL | tables).encode()
    return fuzz_jobs.Case(words=["plan", "."], files={"job.toml": job, "a.csv": survey})


def alone(job: bytes) -> fuzz_jobs.Case:
    return fuzz_jobs.Case(words=["plan", "."], files={"job.toml": job})


FREE = [{"length": "4 ft", "price": 0.0}, {"length": "6 ft", "price": 2.0}]
SHORT = [{"length": "1 mm"}, {"length": "6 ft"}]
FAR = b"station [ft],elevation [in]\n0,0\n990000,0\n"
CLIFF = b"x [m],y [m],z [m]\n0,0,12.1\n0.25,0,12.3\n0.5,0,12.2\n0.75,0,119\n1,0,12\n"
SIGHT = fuzz_jobs.SURVEYS["c.csv"].replace("1.42", "41235.98789").encode()
FOUND: dict[str, tuple[str, fuzz_jobs.Case]] = {
    "a price of nothing": ("a price of 0 would make every board free", altered(pickets={"stock": FREE})),
    "a board shorter than a mark": ("is shorter than 1 in", altered(pickets={"stock": SHORT})),
    "a sight of forty kilometres": (
        "the ground changes by",
        fuzz_jobs.Case(words=["plan", "c.csv", "--top", "stepped"], files={"c.csv": SIGHT}),
    ),
    "a cliff within a picket": (
        "no post can stand between",
        fuzz_jobs.Case(words=["plan", "d.csv", "--top", "racked"], files={"d.csv": CLIFF}),
    ),
    "ten million rows of rails": ("rows of rails are more than 40", altered(rails={"count": 10_000_000})),
    "pickets of a quarter inch for two hundred miles": (
        "the most is 1,500,000",
        altered(
            FAR,
            run=[{"name": "r", "survey": "a.csv"}],
            pickets={"width": "1/4 in", "spacing": "0 in", "stock": [{"length": "6 ft"}]},
        ),
    ),
    "posts a hand apart for two hundred miles": (
        "the most is 500,000",
        altered(FAR, run=[{"name": "r", "survey": "a.csv"}], posts={"spacing": "5 in"}),
    ),
    "a thousand and one runs": (
        "1,001 runs are more than 1,000",
        alone(b'[[run]]\nname = "r"\n' * 1_001),
    ),
    "a list without end": (
        "a list of 10,001 is longer than 10,000",
        alone(b"[posts]\nfixed = [" + b'"1 ft",' * 10_001 + b"]\n"),
    ),
    "a key of many parts": ("is nested too deeply", alone(b".".join([b"a"] * 300_000) + b" = 1\n")),
    "a board of 150 m": (
        "is longer than 100 ft",
        altered(pickets={"stock": [{"length": "150 m"}, {"length": "6 ft"}]}),
    ),
    "a string's name without end": (
        "string is 3000 characters long; keep it under 200",
        fuzz_jobs.Case(
            words=["plan", "b.csv"],
            files={"b.csv": b"station [m],drop [m],string\n0,1," + b"A" * 3_000 + b"\n9,1,A\n"},
        ),
    ),
    "a line break in a path": (
        "no?where: there is no such file or folder",
        fuzz_jobs.Case(words=["plan", "no\nwhere"]),
    ),
    "a key without end": (
        "is not a key that is known here",
        fuzz_jobs.Case(words=["boards", "l.json"], files={"l.json": b'{"' + b"k" * 5_000 + b'": 1}'}),
    ),
}


@pytest.mark.parametrize("name", FOUND)
def test_faults_once_found_are_mistakes_in_words(name: str, tmp_path: Path) -> None:
    """Each was once a traceback, a hang or a flood of memory."""
    words, case = FOUND[name]
    lay_files(case, tmp_path)
    done = judged(case, tmp_path)
    assert (done.fault, done.status) == ("", 1)
    assert words in done.err


def test_a_cliff_within_a_picket_is_no_fence(tmp_path: Path) -> None:
    """A contour top climbs with it, and the boards beside it would stand as tall as a tower."""
    case = fuzz_jobs.Case(words=["plan", "d.csv", "--top", "contour"], files={"d.csv": CLIFF})
    lay_files(case, tmp_path)
    done = judged(case, tmp_path)
    assert (done.fault, done.status) == ("", 1)
    assert "no fence is taller than 9144 mm" in done.err
