"""`new` at a terminal: a pseudo-terminal stands in for one, and a reader for the person at it."""

import os
import pty
import select
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from fencegrade.job.read import read_job

PATIENCE = 20.0


class Terminal:
    """A command at a terminal, and what it has shown so far."""

    def __init__(self, folder: Path, *words: str) -> None:
        self.ours, theirs = pty.openpty()
        self.shown = ""
        code = "from fencegrade.cli.main import main; main()"
        self.command = subprocess.Popen(
            [sys.executable, "-c", code, *words],
            cwd=folder,
            stdin=theirs,
            stdout=theirs,
            stderr=theirs,
            start_new_session=True,
            preexec_fn=take_terminal,
            env={**os.environ, "TERM": "dumb", "COLUMNS": "100"},
        )
        os.close(theirs)

    def wait_for(self, words: str) -> str:
        """Read until the words are shown; gives what came before them since the last wait."""
        end = time.monotonic() + PATIENCE
        while words not in self.shown:
            ready, _, _ = select.select([self.ours], [], [], max(0.0, end - time.monotonic()))
            assert ready, f"{words!r} was not shown, but:\n{self.shown}"
            self.shown += self._read()
        before, _, self.shown = self.shown.partition(words)
        return before

    def _read(self) -> str:
        try:
            data = os.read(self.ours, 4096)
        except OSError:
            data = b""
        assert data, f"the command ended after:\n{self.shown}"
        return data.decode(errors="replace").replace("\r", "")

    def answer(self, prompt: str, text: str = "") -> str:
        """Wait for a prompt and type a line; gives what was shown before the prompt."""
        before = self.wait_for(prompt)
        self.wait_for(": ")
        os.write(self.ours, f"{text}\n".encode())
        return before

    def press(self, prompt: str, key: bytes) -> None:
        """Wait for a prompt and press a key of the control kind."""
        self.wait_for(prompt)
        self.wait_for(": ")
        self._wait_for_sleep()
        os.write(self.ours, key)

    def _wait_for_sleep(self) -> None:
        """Wait until the command sits at its prompt; a key pressed just before would be lost on it."""
        asleep, state = 0, Path(f"/proc/{self.command.pid}/stat")
        end = time.monotonic() + PATIENCE
        while asleep < 4 and time.monotonic() < end:
            time.sleep(0.1)
            sleeping = not state.exists() or state.read_text().rpartition(")")[2].split()[0] == "S"
            asleep = asleep + 1 if sleeping else 0

    def rest(self) -> tuple[int, str]:
        """Exit status and everything shown until the end."""
        end = time.monotonic() + PATIENCE
        while True:
            ready, _, _ = select.select([self.ours], [], [], max(0.0, end - time.monotonic()))
            assert ready, f"the command did not end, but showed:\n{self.shown}"
            try:
                data = os.read(self.ours, 4096)
            except OSError:
                break
            if not data:
                break
            self.shown += data.decode(errors="replace").replace("\r", "")
        return self.command.wait(timeout=PATIENCE), self.shown


def take_terminal() -> None:
    """Make the pseudo-terminal the one that control keys of the new session come from."""
    import fcntl
    import termios

    fcntl.ioctl(0, termios.TIOCSCTTY, 0)


@pytest.fixture
def terminals() -> Iterator[list[Terminal]]:
    started: list[Terminal] = []
    yield started
    for terminal in started:
        if terminal.command.poll() is None:
            os.killpg(terminal.command.pid, signal.SIGKILL)
            terminal.command.wait()
        os.close(terminal.ours)


@pytest.fixture
def start(terminals: list[Terminal], tmp_path: Path) -> Any:
    def starter(*words: str) -> Terminal:
        terminals.append(Terminal(tmp_path, *words))
        return terminals[-1]

    return starter


def take_defaults(at: Terminal, through: str = "stock") -> None:
    at.answer("Name of the job [")
    at.answer("Length of the run")
    at.answer("Is the string level")
    at.answer("How far it sags")
    for prompt in ("Actual width", "Space between", "Space to keep"):
        at.answer(prompt)
    at.answer("length 1")
    at.answer("Least height of the tops above the ground [74 in]")


def read(at: Terminal, number: int, station: str, drop: str) -> None:
    at.answer(f"station {number}", station)
    at.answer("drop", drop)


def test_the_defaults_and_three_readings_give_a_job_that_plans(start: Any, run: Any, tmp_path: Path) -> None:
    at = start("new", "yard")
    at.answer("Units: imperial or metric [imperial]")
    take_defaults(at)
    for number, (station, drop) in enumerate([("0", "20"), ("6 ft", "24 1/2"), ("12", "1' 10\"")], start=1):
        read(at, number, station, drop)
    echoed = at.answer("station 4")
    at.answer("break 1", "7")
    assert "no reading was taken at 7' 0\"" in at.answer("break 1", "6")
    at.answer("break 2")
    status, shown = at.rest()
    assert status == 0
    assert "12' 0\" along, 22 in down" in echoed
    assert "fencegrade plan yard" in shown
    job = read_job(tmp_path / "yard")
    rows = job.surveys[0].rows
    assert [(r.station, r.drop, r.note) for r in rows] == [(0, 20, ""), (72, 24.5, "break"), (144, 22, "")]
    assert job.job.title == "yard"
    assert (job.pickets.width, job.top.least_height) == (5.5, 74)
    assert [s.length for s in job.pickets.stock] == [72, 96, 120]
    assert run("plan", tmp_path / "yard").status == 0
    assert (tmp_path / "yard" / "reading_sheet.pdf").read_bytes().startswith(b"%PDF")


def test_every_answer_reaches_the_job(start: Any, tmp_path: Path) -> None:
    at = start("new", "lane", "--metric")
    at.answer("Name of the job [lane]", 'The "lane" side')
    at.answer("Length of the run", "12 m")
    at.answer("Is the string level", "no")
    at.answer("How much lower", "-250 mm")
    assert "has no unit" in at.answer("How far it sags", "9") + at.answer("How far it sags", "9 mm")
    at.answer("Actual width", "95 mm")
    at.answer("Space between", "10 mm")
    at.answer("Space to keep", "90 mm")
    at.answer("length 1", "1.2 m")
    at.answer("price of one", "€2,40")
    at.answer("length 2", "1.5 m")
    at.answer("price of one", "3.10")
    at.answer("length 3")
    at.answer("Least height of the tops above the ground [1290 mm]", "1.2 m")
    read(at, 1, "0", "300")
    read(at, 2, "11,5", "310")
    at.answer("station 3")
    status, shown = at.rest()
    assert status == 0
    assert "the readings end at 11.500 m, the run at 12.000 m" in shown.lower()
    from fencegrade.units import parse_length

    job = read_job(tmp_path / "lane")
    assert job.job.title == 'The "lane" side'
    assert job.job.currency == "€"
    assert job.runs[0].end == parse_length("12 m")
    assert job.runs[0].string[0].fall == parse_length("-250 mm")
    assert job.runs[0].string[0].sag == parse_length("9 mm")
    assert job.pickets.clearance == parse_length("90 mm")
    assert job.pickets.most_gap == parse_length("115 mm")
    assert [s.price for s in job.pickets.stock] == [2.4, 3.1]


def test_a_wrong_answer_is_told_and_asked_again(start: Any) -> None:
    at = start("new", "yard")
    at.answer("Units", "cubits")
    assert "write imperial or metric" in at.answer("Units", "i")
    at.answer("Name of the job")
    at.answer("Length of the run", "64")
    assert "64 has no unit" in at.answer("Length of the run", "64 ft")
    at.answer("Is the string level", "maybe")
    assert "yes or no" in at.answer("Is the string level", "y")
    at.answer("How far it sags")
    at.answer("Actual width", "0 in")
    assert "is not more than zero" in at.answer("Actual width")
    at.answer("Space between")
    at.answer("Space to keep", "7 ft")
    assert "no picket is left" in at.answer("Space to keep")
    at.answer("length 1", "6 ft")
    at.answer("price of one", "cheap")
    assert "cannot be read as a price" in at.wait_for("length 1")


def test_a_doubtful_reading_is_told_at_once_and_can_be_corrected(start: Any, tmp_path: Path) -> None:
    at = start("new", "yard")
    at.answer("Units")
    take_defaults(at)
    for number, drop in enumerate([20, 20.5, 21, 21.5, 9.5, 22], start=1):
        read(at, number, str(4 * (number - 1)), str(drop))
        if drop == 9.5:
            told = at.answer("right drop at 16' 0\"", "21 1/2")
            assert "21-1/2 in would fit" in told
    at.answer("station 7")
    at.answer("break 1")
    assert at.rest()[0] == 0
    drops = [r.drop for r in read_job(tmp_path / "yard").surveys[0].rows]
    assert drops == [20, 20.5, 21, 21.5, 21.5, 22]


def test_a_doubt_may_be_overruled_and_two_readings_of_one_station_settled(start: Any, tmp_path: Path) -> None:
    at = start("new", "yard")
    at.answer("Units")
    take_defaults(at)
    read(at, 1, "0", "20")
    read(at, 2, "4", "60")
    assert "fall by 40 in" in at.answer("right drop at 4' 0\"")
    read(at, 3, "0", "20 1/4")
    read(at, 4, "4", "58")
    at.answer("it was 60 in before", "yes")
    assert "fall by 37-3/4 in" in at.answer("right drop at 4' 0\"")
    at.answer("station 4")
    at.answer("break 1")
    assert at.rest()[0] == 0
    rows = read_job(tmp_path / "yard").surveys[0].rows
    assert [(r.station, r.drop) for r in rows] == [(0, 20), (0, 20.25), (48, 58)]


@pytest.mark.parametrize("key", [b"\x03", b"\x04"], ids=["interrupt", "end of input"])
def test_stopping_among_the_questions_writes_nothing(start: Any, tmp_path: Path, key: bytes) -> None:
    at = start("new", "yard")
    at.answer("Units")
    at.press("Name of the job", key)
    status, shown = at.rest()
    assert status == 130
    assert "nothing was written" in shown
    assert "Traceback" not in shown
    assert not (tmp_path / "yard").exists()


@pytest.mark.parametrize("key", [b"\x03", b"\x04"], ids=["interrupt", "end of input"])
def test_stopping_among_the_readings_keeps_those_taken(start: Any, tmp_path: Path, key: bytes) -> None:
    at = start("new", "yard")
    at.answer("Units")
    take_defaults(at)
    read(at, 1, "0", "20")
    read(at, 2, "4", "21")
    at.answer("station 3", "8")
    at.press("drop", key)
    status, shown = at.rest()
    assert status == 0
    assert "readings saved: 2" in shown
    assert [r.drop for r in read_job(tmp_path / "yard").surveys[0].rows] == [20, 21]


def test_a_terminal_closed_in_the_middle_loses_no_reading(start: Any, tmp_path: Path) -> None:
    at = start("new", "yard")
    at.answer("Units")
    take_defaults(at)
    read(at, 1, "0", "20")
    read(at, 2, "4", "21")
    at.wait_for("station 3")
    os.killpg(at.command.pid, signal.SIGKILL)
    at.command.wait()
    assert [r.drop for r in read_job(tmp_path / "yard").surveys[0].rows] == [20, 21]


def test_a_job_that_stands_there_is_not_asked_over(start: Any, run: Any, tmp_path: Path) -> None:
    (tmp_path / "yard").mkdir()
    (tmp_path / "yard" / "job.toml").write_text("mine")
    status, shown = start("new", "yard").rest()
    assert status == 1
    assert "a job stands here already" in shown
    assert run("new", tmp_path / "yard").status == 1
    assert (tmp_path / "yard" / "job.toml").read_text() == "mine"


def test_blank_asks_nothing_at_a_terminal(start: Any, tmp_path: Path) -> None:
    status, shown = start("new", "yard", "--blank").rest()
    assert status == 0
    assert "north.csv" in shown
    made = {p.name for p in (tmp_path / "yard").iterdir() if not p.name.startswith(".")}
    assert made == {"job.toml", "north.csv", "reading_sheet.pdf", "readings.html"}
