"""The bar of long work: on a terminal alone, off again at the end, plain where it was asked to be plain."""

import fcntl
import io
import os
import pty
import re
import struct
import subprocess
import sys
import termios
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from odd_jobs import answer

from fencegrade.cli.progress import steps

WORK = (
    "from time import sleep\nfrom fencegrade.cli.progress import steps\n"
    "with steps(2) as step:\n step('measuring twice'); sleep(0.3); step('cutting once'); sleep(0.3)\n"
    "print('done')"
)


def on_a_terminal(code: str, columns: int = 100, **environment: str) -> str:
    """What a program shows on a terminal that is so wide."""
    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, columns, 0, 0))
    base = {k: v for k, v in os.environ.items() if k not in ("NO_COLOR", "FORCE_COLOR", "COLUMNS", "CI")}
    command = subprocess.Popen(
        [sys.executable, "-c", code],
        stdin=theirs,
        stdout=theirs,
        stderr=theirs,
        env={**base, "TERM": "xterm-256color", **environment},
    )
    os.close(theirs)
    shown = b""
    try:
        while data := os.read(ours, 4096):
            shown += data
    except OSError:  # the far side is closed
        pass
    os.close(ours)
    assert command.wait(timeout=60) == 0, shown.decode(errors="replace")
    return shown.decode()


COLOUR = re.compile(r"\x1b\[(?:[0-9]+;)*3[0-9]")


def test_steps_are_shown_and_cleared_away() -> None:
    shown = on_a_terminal(WORK)
    assert "measuring twice" in shown
    assert "cutting once" in shown
    assert "1 of 2" in shown
    assert COLOUR.search(shown)
    assert shown.rstrip().endswith("done")
    assert "\x1b[2K" in shown  # the line of the bar is wiped


def test_no_color_is_respected() -> None:
    shown = on_a_terminal(WORK, NO_COLOR="1")
    assert "cutting once" in shown
    assert not COLOUR.search(shown)


@pytest.mark.parametrize("columns", [20, 40, 59])
def test_a_narrow_terminal_gets_words_that_fit(columns: int) -> None:
    shown = on_a_terminal(WORK, columns)
    assert "measuring" in shown
    assert "of 2" not in shown
    plain = re.sub(r"\x1b\[[0-9;?]*[A-Za-z]", "", shown)
    assert max(len(line) for line in re.split(r"[\r\n]", plain)) <= columns


class Terminal(io.StringIO):
    """What is written to a terminal."""

    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize(("columns", "wide"), [(59, False), (60, True)])
def test_how_far_the_work_is_stands_before_each_step(
    monkeypatch: pytest.MonkeyPatch, columns: int, wide: bool
) -> None:
    shown = Terminal()
    monkeypatch.setattr(sys, "stderr", shown)
    for name, value in (("TERM", "xterm-256color"), ("COLUMNS", str(columns)), ("NO_COLOR", "1")):
        monkeypatch.setenv(name, value)
    with steps(3) as step:
        for words in ("one", "two", "three"):
            step(words)
    text = re.sub("\x1b" + r"\[[0-9;?]*[A-Za-z]", "", shown.getvalue())
    assert "starting" in text
    assert ("three" in text, "2 of 3" in text, "3 of 3" in text) == (True, wide, False)
    assert ("0:00:00" in text) == wide
    assert shown.getvalue().endswith("\x1b[2K")
    monkeypatch.setenv("TERM", "dumb")
    shown.truncate(0)
    shown.seek(0)
    with steps(3) as step:
        step("one")
    assert shown.getvalue() == ""


@pytest.mark.parametrize(
    ("command", "begun"),
    [
        ("plan", ["reading the job", "planning", "drawing the sheets"]),
        ("check", ["reading the job", "planning", "weighing the ground", "drawing the ground"]),
        ("compare", ["reading the job", "planning the tops", "drawing them"]),
        ("boards", ["searching for the best plan", "drawing the boards"]),
    ],
)
@pytest.mark.parametrize("out", [False, True])
def test_each_step_is_announced_and_counted(
    monkeypatch: pytest.MonkeyPatch, job: Path, command: str, begun: list[str], out: bool
) -> None:
    """The last step is there where files are asked for, which nothing writes here."""
    found: list[Any] = []

    @contextmanager
    def told(count: int) -> Iterator[Callable[[str], None]]:
        found.append(count)
        yield found.append

    monkeypatch.setattr(f"fencegrade.cli.{command}.steps", told)
    for write in ("plan_sheets", "check", "comparison", "boards"):
        monkeypatch.setattr(f"fencegrade.sheets.folder.write_{write}", lambda *_: [])
    (job / "list.json").write_text('{"stock": [{"length": 9}], "pieces": [{"length": 4}]}', encoding="utf-8")
    asked = job / "list.json" if command == "boards" else job
    answer([command, str(asked), *(["--out", str(job / "out")] if out else [])])
    assert found == [len(begun) - (not out), *begun[: None if out else -1]]


def test_a_terminal_that_cannot_move_its_cursor_gets_the_answer_alone() -> None:
    assert on_a_terminal(WORK, TERM="dumb").replace("\r", "") == "done\n"


def test_a_pipe_gets_the_answer_alone() -> None:
    done = subprocess.run([sys.executable, "-c", WORK], capture_output=True, text=True, timeout=60)
    assert (done.stdout, done.stderr) == ("done\n", "")


@pytest.mark.parametrize(("shell", "tells"), [("bash", "complete"), ("zsh", "compdef"), ("fish", "complete")])
def test_completion_scripts_are_made(shell: str, tells: str) -> None:
    """What a shell asks a command for when completion is set up, and what it then asks at each tab."""
    code = "import sys; sys.argv = ['fencegrade']; from fencegrade.cli.main import main; main()"

    def asked(**environment: str) -> str:
        return subprocess.run(
            [sys.executable, "-c", code],
            capture_output=True,
            text=True,
            timeout=60,
            env={**os.environ, **environment},
        ).stdout

    script = asked(_FENCEGRADE_COMPLETE=f"source_{shell}")
    assert tells in script
    assert "_FENCEGRADE_COMPLETE" in script
    if shell == "bash":
        offered = asked(_FENCEGRADE_COMPLETE="complete_bash", COMP_WORDS="fencegrade pl", COMP_CWORD="1")
        assert set(offered.split()) >= {"plan", "plumb"}
