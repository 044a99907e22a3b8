"""Twenty thousand hostile cases and more: no traceback, no hang, no great memory, no half answer.

Run with `pytest -m benchmark tests/benchmarks/fuzz`; each slice prints its cases, seconds and peak memory. A
fault names the kind and seed of its case; `fuzz_jobs.<kind>(Random(seed))` makes it again.
"""

import os
import resource
import sys
import tempfile
import time
from pathlib import Path
from random import Random
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

sys.path.insert(0, str(Path(__file__).parent))

import fuzz_jobs
import fuzz_values
from fuzz_judge import MOST_BYTES, MOST_SECONDS, Ended, json_faults, judged, lay_files, usage_of_a_process

pytestmark = pytest.mark.benchmark

SLICES, IN_A_SLICE = 10, 2_000
KINDS = ("job_case", "survey_case", "list_case", "option_case", "record_case", "sheets_case", "new_case")


def ended(case: fuzz_jobs.Case) -> Ended:
    with tempfile.TemporaryDirectory() as folder:
        lay_files(case, Path(folder))
        return judged(case, Path(folder))


@pytest.mark.parametrize("number", range(SLICES))
def test_a_slice(number: int) -> None:
    faults, statuses, began = [], dict.fromkeys((-1, 0, 1, 2), 0), time.monotonic()
    for seed in range(number * IN_A_SLICE, (number + 1) * IN_A_SLICE):
        done = ended(fuzz_jobs.any_case(Random(seed)))
        statuses[done.status] += 1
        if done.fault:
            faults.append(f"any_case {seed}: {done.fault}")
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    seconds = time.monotonic() - began
    print(f"\n{IN_A_SLICE} cases in {seconds:.0f} s, {peak:.0f} MB at most, by status {statuses}")
    assert not faults, "\n".join(faults)
    assert min(statuses[k] for k in (0, 1, 2)) > IN_A_SLICE / 100


@pytest.mark.parametrize("kind", KINDS)
@settings(max_examples=500)
@given(random=st.randoms(use_true_random=False))
def test_cases_that_shrink(kind: str, random: Random) -> None:
    """The same cases drawn by hypothesis, which finds the smallest of a faulty kind."""
    case = getattr(fuzz_jobs, kind)(random)
    done = ended(case)
    assert not done.fault, (done.fault, case)


@pytest.mark.parametrize("number", range(4))
def test_sheets_of_a_slice(number: int, tmp_path: Path) -> None:
    """With --out into one folder again and again: a new whole set, or the earlier one untouched."""
    out = tmp_path / "out"
    for seed in range(number * 60, (number + 1) * 60):
        case = fuzz_jobs.job_case(Random(1_000_000 + seed))
        before = {p.name: p.read_bytes() for p in out.iterdir()} if out.exists() else {}
        case.words = [*case.words, "--out", str(out)]
        done = ended(case)
        assert not done.fault, f"job_case {1_000_000 + seed}: {done.fault}"
        after = {p.name: p.read_bytes() for p in out.iterdir()} if out.exists() else {}
        if done.status:
            assert after == before
        for name, data in after.items():
            if name.endswith(".svg"):
                ElementTree.fromstring(data)
            elif name.endswith(".json") and not name.startswith("."):
                assert not list(json_faults(data.decode())), f"{seed}: {name}"


MANY = 30_000
FILES: dict[str, dict[str, bytes | str | None]] = {
    "a line of 10 MB": {"job.toml": b'[job]\ntitle = "' + b"x" * 10_000_000 + b'"\n'},
    "a text just within the size": {"job.toml": b'[job]\ntitle = "' + b"x" * 1_900_000 + b'"\n'},
    "nested arrays": {"job.toml": b"x = " + b"[" * 500_000 + b"]" * 500_000},
    "nested tables": {"job.toml": b"x = " + b"{a=" * 300_000 + b"1" + b"}" * 300_000},
    "a key of many parts": {"job.toml": b".".join([b"a"] * 500_000) + b" = 1"},
    "a number of a million digits": {"job.toml": b"x = " + b"9" * 1_000_000},
    "many runs": {"job.toml": b'[[run]]\nname="r"\nsurvey="a.csv"\n' * MANY},
    "many gates": {
        "job.toml": fuzz_values.toml_text(fuzz_jobs.IMPERIAL).encode()
        + b"[x]\n"
        + b'[[x.gate]]\nstation="1 ft"\n' * MANY
    },
    "many unknown keys": {"job.toml": b"".join(b"k%d = 1\n" % k for k in range(150_000))},
    "a loop of links": {"job.toml": "job.toml"},
    "a link to nothing": {"job.toml": "nowhere"},
    "a link to a device": {"job.toml": "/dev/zero"},
    "a folder for the job file": {"job.toml": None},
    "a link to a device for the survey": {
        "job.toml": fuzz_values.toml_text(fuzz_jobs.IMPERIAL).encode(),
        "a.csv": "/dev/zero",
    },
}
EXTREMES = {name: fuzz_jobs.Case(words=["plan", "."], files=files) for name, files in FILES.items()}
SURVEY_EXTREMES: dict[str, bytes] = {
    "a line of 10 MB": b"station [ft],drop [in]\n0," + b"2" * 10_000_000 + b"\n",
    "a header of 10 MB": b"station [ft]," * 800_000,
    "quotes without end": b'station [ft],drop [in]\n"' + b'0,1\n"' * 300_000,
    "a note of 10 MB over lines": b'station [ft],drop [in],note\n0,1,"' + b"x\n" * 5_000_000 + b'"\n',
    "a million mistakes": b"station [ft],drop [in]\n" + b"x,y\n" * 1_000_000,
    "a million columns": b"station [ft],drop [in]" + b"," * 90_000 + b"\n",
    "one station a hundred thousand times": b"station [ft],drop [in]\n0,1\n" + b"5,2\n" * 100_000 + b"9,1\n",
    "stations a hair apart": b"station [ft],drop [in]\n"
    + b"".join(b"%.9f,20\n" % (k * 1e-9) for k in range(20_000)),
    "two hundred miles": b"station [ft],drop [in]\n0,20\n999999,20\n",
    "two million miles": b"station [ft],drop [in]\n0,20\n1e10,20\n",
    "a cliff": b"station [ft],elevation [ft]\n0,0\n1,100000\n2,0\n",
    "a face of a mile": b"station [ft],elevation [ft],side\n0,0,\n10,0,before\n10,5280,after\n20,5280,\n",
    "bytes of every value": bytes(range(256)) * 4_000,
    "nothing but line ends": b"\n" * 1_900_000,
    "nothing but separators": b",;\t" * 30_000,
}


@pytest.mark.parametrize("name", EXTREMES)
def test_extreme_job_files(name: str, tmp_path: Path) -> None:
    lay_files(EXTREMES[name], tmp_path)
    status, err, peak, seconds = usage_of_a_process(["plan", "."], tmp_path)
    assert status == 1, err[:2000]
    assert "Traceback" not in err
    assert len(err) < 40_000
    assert peak < MOST_BYTES
    assert seconds < MOST_SECONDS


@pytest.mark.parametrize("command", ["plan", "check", "boards"])
@pytest.mark.parametrize("name", SURVEY_EXTREMES)
def test_extreme_surveys_and_lists(name: str, command: str, tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_bytes(SURVEY_EXTREMES[name])
    status, err, peak, seconds = usage_of_a_process([command, "a.csv"], tmp_path)
    assert status in {0, 1}, err[:2000]
    assert "Traceback" not in err
    assert len(err) < 40_000
    assert peak < MOST_BYTES
    assert seconds < MOST_SECONDS


@pytest.mark.skipif(os.geteuid() == 0, reason="nothing is read-only to the superuser")
def test_a_folder_that_is_read_only(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_text(fuzz_jobs.SURVEYS["a.csv"])
    (tmp_path / "out").mkdir(mode=0o555)
    status, err, *_ = usage_of_a_process(["plan", "a.csv", "--out", "out"], tmp_path)
    assert (status, "may not be written" in err) == (1, True)
    (tmp_path / "a.csv").chmod(0)
    status, err, *_ = usage_of_a_process(["plan", "a.csv"], tmp_path)
    assert (status, "may not be read" in err) == (1, True)
