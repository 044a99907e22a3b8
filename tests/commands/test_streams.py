"""Closed streams are /dev/null, and standard output holds the answer alone."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from fencegrade.cli.main import main

from .conftest import Run


@pytest.mark.parametrize("closed", ["2>&-", ">&- 2>&- <&-"])
def test_a_plan_with_a_closed_stream(closed: str, job: Path, shell: Run) -> None:
    done = shell(f"plan {job} --json {closed}")
    assert (done.status, done.err) == (0, "")
    assert (json.loads(done.out)["title"] == "Herb garden") if closed == "2>&-" else done.out == ""


def test_a_mistake_with_closed_streams_is_still_told_by_the_status(shell: Run) -> None:
    assert shell("plan nowhere >&- 2>&-").status == 1


def test_a_job_is_started_with_a_closed_input(
    tmp_path: Path, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "stdin", None)  # as Python has it then
    done = run("new", tmp_path / "fence")
    assert (done.status, done.err) == (0, "")
    assert (tmp_path / "fence" / "job.toml").is_file()


def test_questions_are_asked_of_a_terminal_alone(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "argv", ["fencegrade"])
    monkeypatch.setattr(sys.stdin, "isatty", lambda: True)
    with pytest.raises(SystemExit, match="2"):
        main()
    assert "Usage" in capsys.readouterr().out


def test_what_a_library_prints_from_c_is_no_part_of_the_answer() -> None:
    code = """
import ctypes, os
from fencegrade.cli.streams import answers_alone
with answers_alone():
    ctypes.CDLL(None).printf(b"kept in a buffer until the end")
    os.write(1, b"at once")
    print("the answer")
"""
    buffered = {k: v for k, v in os.environ.items() if k != "PYTHONUNBUFFERED"}
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, env=buffered, check=True
    )
    assert (done.stdout, done.stderr) == ("the answer\n", "")
