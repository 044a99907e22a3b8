"""How the program ends where something goes wrong: one line that says what, and a status."""

import errno
import io
import sys
from typing import Any

import pytest
import typer

from fencegrade.cli import main as program
from fencegrade.problems import JobMistakesError, mistake


@pytest.mark.parametrize(
    ("error", "status", "said"),
    [
        (MemoryError(), 1, "the job needs more memory than there is; divide it into shorter runs\n"),
        (
            OSError(errno.ENOSPC, "No space left on device"),
            1,
            "the answer could not be written: No space left on device; make room, or write elsewhere\n",
        ),
        (OSError("gone"), 1, "the answer could not be written: gone; make room, or write elsewhere\n"),
        (KeyboardInterrupt(), 130, ""),
        (typer.Abort(), 130, ""),
        (JobMistakesError([mistake("a", "b", "c"), mistake("d", "e", "f")]), 1, "a: b; c\nd: e; f\n"),
        (typer.BadParameter("Value error, it is wrong\x07"), 2, "Usage: it is wrong?"),
        (BrokenPipeError(), 1, None),
    ],
)
def test_what_is_said_and_the_status(
    monkeypatch: pytest.MonkeyPatch, error: BaseException, status: int, said: str | None
) -> None:
    def fail(**_: Any) -> None:
        raise error

    shown = io.StringIO()
    monkeypatch.setattr(program, "app", fail)
    monkeypatch.setattr(sys, "stderr", shown)
    with pytest.raises(SystemExit) as ended:
        program.main()
    assert ended.value.code == status
    if said is None:
        assert shown.closed, "nothing more is said into a pipe that nobody reads"
    elif status != 2:
        assert shown.getvalue() == said
    else:
        assert "it is wrong?" in shown.getvalue()
        assert "Value error" not in shown.getvalue()


@pytest.mark.parametrize(("result", "status"), [(None, 0), (0, 0), (3, 3)])
def test_what_a_command_ends_with_is_the_status(
    monkeypatch: pytest.MonkeyPatch, result: int | None, status: int
) -> None:
    monkeypatch.setattr(program, "app", lambda **_: result)
    with pytest.raises(SystemExit) as ended:
        program.main()
    assert ended.value.code == status
