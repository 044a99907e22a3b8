"""`new` at a terminal: a pseudo-terminal stands in for one, and a reader for the person at it.

What is asked and answered line by line is kept in `told/dialogs.txt`.
"""

import os
import pty
import select
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from forked import FOR_NEW, Program

from fencegrade.cli.job_session import Session
from fencegrade.job.read import read_job
from fencegrade.units import UnitSystem

PATIENCE = 20.0


class Terminal:
    """A command at a terminal, and what it has shown so far."""

    def __init__(self, program: Program, folder: Path, *words: str) -> None:
        self.ours, theirs = pty.openpty()
        self.shown = ""
        self.command = program.start(words, theirs, folder, TERM="dumb", COLUMNS="100")
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
        while asleep < 5 and time.monotonic() < end:
            time.sleep(0.02)
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
        return self.command.wait(), self.shown


@pytest.fixture(scope="module")
def program() -> Iterator[Program]:
    loaded = Program(FOR_NEW)
    yield loaded
    loaded.close()


@pytest.fixture
def terminals() -> Iterator[list[Terminal]]:
    started: list[Terminal] = []
    yield started
    for terminal in started:
        terminal.command.kill()
        os.close(terminal.ours)


@pytest.fixture
def start(program: Program, terminals: list[Terminal], tmp_path: Path) -> Any:
    def starter(*words: str) -> Terminal:
        terminals.append(Terminal(program, tmp_path, *words))
        return terminals[-1]

    return starter


FIRST = ("Name of the job [", "Length of the run")
HEIGHTS = ("Least height of the tops above the ground [74 in]", "Local limit", "Line of the tops")
BOARDS = ("Actual width", "Space between", "Space to keep")
AFTER_STOCK = (
    "Gates: how far",
    "Posts that stand",
    "Set-ups of the string",
    "Is the string level",
    "How far it sags",
    "Another run",
    "Price of a post",
    "Price of a rail",
    "Price of a bag",
)


def take_defaults(at: Terminal) -> None:
    for prompt in (*FIRST, *BOARDS, "length 1", *HEIGHTS, *AFTER_STOCK):
        at.answer(prompt)


def read(at: Terminal, number: int, station: str, drop: str) -> str:
    """Type a reading; gives what was shown before it was asked for."""
    shown = at.answer(f"station {number}", station)
    at.answer("drop", drop)
    return shown


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
    assert "12' 0\" along, 1' 10\" = 22 in down" in echoed
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
    at.answer("Actual width", "95 mm")
    at.answer("Space between", "10 mm")
    at.answer("Space to keep", "90 mm")
    at.answer("length 1", "1.2 m")
    at.answer("price of one", "€2,40")
    at.answer("how many are there already [0]", "12")
    at.answer("length 2", "1.5 m")
    at.answer("price of one", "3.10")
    at.answer("how many")
    at.answer("length 3")
    at.answer("Least height of the tops above the ground [1290 mm]", "1.2 m")
    at.answer("Local limit on the height [no limit]", "1.8 m")
    at.answer("Line of the tops", "sloped")
    at.answer("Gates: how far", "4 m")
    at.answer("clear width", "1 m")
    at.answer("next")
    at.answer("Posts that stand", "0 m")
    at.answer("next")
    at.answer("Set-ups of the string", "1")
    at.answer("Is the string level", "no")
    at.answer("How much lower", "-250 mm")
    assert "has no unit" in at.answer("How far it sags", "9") + at.answer("How far it sags", "9 mm")
    at.answer("Another run", "headland")
    at.answer("length of headland", "6")
    assert "6 has no unit" in at.answer("length of headland", "6 m")
    at.answer("gates in headland", "2 m")
    at.answer("clear width", "2 m")
    at.answer("leaves that close it, 1 or 2 [2]", "3")
    assert "write 1 or 2" in at.answer("leaves that close it")
    at.answer("next")
    at.answer("Price of a post", "11.20")
    at.answer("Price of a post", "13")
    at.answer("Price of a post", "15")
    at.answer("Price of a rail")
    at.answer("Price of a bag", "6.40")
    read(at, 1, "0", "300")
    read(at, 2, "11,5", "310")
    assert "11.500 m along, 310 mm down" in at.answer("station 3")
    shown = at.answer("station 1", "0")
    assert "the readings end at 11.500 m, the run at 12.000 m" in shown.lower()
    at.answer("drop", "310")
    read(at, 2, "6", "330")
    at.answer("station 3")
    assert at.rest()[0] == 0
    from fencegrade.units import parse_length

    job = read_job(tmp_path / "lane")
    run, boards = job.runs[0], job.pickets
    assert (job.job.title, job.job.currency) == ('The "lane" side', "€")
    assert run.end == parse_length("12 m")
    assert (run.string[0].fall, run.string[0].sag) == (parse_length("-250 mm"), parse_length("9 mm"))
    assert (run.gate[0].station, run.gate[0].width) == (parse_length("4 m"), parse_length("1 m"))
    assert [p.station for p in run.existing_post] == [0]
    beyond = job.runs[1]
    assert (beyond.name, beyond.join, beyond.start) == ("headland", "side 1", 0)
    assert (run.gate[0].leaves, beyond.gate[0].leaves) == (1, 2)
    assert (beyond.end, beyond.gate[0].station) == (parse_length("6 m"), parse_length("2 m"))
    assert (str(job.top.style), job.top.most_height) == ("sloped", parse_length("1.8 m"))
    assert (boards.clearance, boards.most_gap) == (parse_length("90 mm"), parse_length("115 mm"))
    assert [(s.price, s.on_hand) for s in boards.stock] == [(2.4, 12), (3.1, 0)]
    assert [s.price for s in job.posts.stock] == [11.2, 13, 15]
    assert [s.price for s in job.rails.stock] == [None] * 3
    assert job.posts.bag_price == 6.4


def test_back_help_and_skip_at_any_question(start: Any, tmp_path: Path) -> None:
    at = start("new", "yard", "--metric")
    at.answer("Name of the job", "back")
    assert "this is the first question" in at.answer("Name of the job", "Wrong name")
    at.answer("Length of the run", "back")
    at.answer("Name of the job", "Right name")
    at.answer("Length of the run", "?")
    assert "From the centre of its first post" in at.answer("Length of the run", "skip")
    read(at, 1, "0", "300")
    read(at, 2, "4", "320")
    at.answer("station 3", "back")
    assert "taken out: 4.000 m, 320 mm down" in at.answer("station 2", "5")
    at.answer("drop", "330")
    at.answer("station 3")
    assert at.rest()[0] == 0
    job = read_job(tmp_path / "yard")
    assert job.job.title == "Right name"
    assert [round(r.drop * 25.4) for r in job.surveys[0].rows] == [300, 330]


def test_a_job_is_gone_on_with(start: Any, tmp_path: Path) -> None:
    """Stopped among the questions, then among the readings: nothing is lost, and a change keeps the rest."""
    at = start("new", "yard", "--metric")
    at.answer("Name of the job", "My lane")
    at.answer("Length of the run", "8 m")
    at.press("Actual width", b"\x04")
    assert at.rest()[0] == 0
    at = start("new", "yard")
    shown = at.answer("Go on with: questions, readings, change or done [questions]")
    assert "My lane: metric" in shown
    assert "side 1, 8 m long: 0 readings in side_1.csv" in shown
    assert "still open: Actual width" in shown
    at.answer("Actual width", "95 mm")
    at.answer("Space between", "skip")
    at.answer("Go on with", "readings")
    read(at, 1, "0", "300")
    read(at, 2, "8", "310")
    at.answer("station 3")
    at.answer("Go on with", "readings")
    assert "Worth most in side 1: a reading at 4.000 m" in at.answer("station 3", "4")
    at.answer("drop", "305")
    at.answer("station 4")
    at.answer("break 1")
    at.answer("Go on with", "change")
    at.answer("Which, by its number", "3")
    at.answer("Actual width of a picket (as measured) [95 mm]", "98 mm")
    at.answer("Go on with", "done")
    assert at.rest()[0] == 0
    job = read_job(tmp_path / "yard")
    assert (job.job.title, round(job.pickets.width * 25.4)) == ("My lane", 98)
    assert [round(r.station * 25.4) for r in job.surveys[0].rows] == [0, 4000, 8000]


def test_a_file_of_somebody_else_is_kept_beside(start: Any, tmp_path: Path) -> None:
    yard = tmp_path / "yard"
    yard.mkdir()
    mine = '# my own words\n[job]\ntitle = "Mine"\nunits = "metric"\n[[run]]\nname = "a"\nsurvey = "a.csv"\n'
    (yard / "job.toml").write_text(f'{mine}[[pickets.stock]]\nlength = "1.8 m"\n')
    (yard / "a.csv").write_text("station [m],drop [mm],note\n0,300,oak\n6,310,\n")
    os.utime(yard / "job.toml", (1_800_000_000, 1_800_000_000))
    at = start("new", "yard")
    assert "a: 2 readings in a.csv, to 6.000 m" in at.answer("Go on with", "readings")
    read(at, 3, "3", "304")
    at.answer("station 4")
    at.answer("break 1")
    at.answer("Go on with", "done")
    assert at.rest()[0] == 0
    assert (yard / "job.toml").read_text().startswith("# my own words"), "nothing was answered to it"
    assert not list(yard.glob("job.*.toml"))
    assert len(list(yard.glob("a.*.csv"))) == 1
    job = read_job(yard)
    assert [(round(r.station * 25.4), r.note) for r in job.surveys[0].rows] == [
        (0, "oak"),
        (3000, ""),
        (6000, ""),
    ]
    assert [s.length for s in job.pickets.stock] == [1800 / 25.4]


def test_a_doubt_may_be_overruled_and_two_readings_of_one_station_settled(start: Any, tmp_path: Path) -> None:
    at = start("new", "yard")
    at.answer("Units")
    take_defaults(at)
    read(at, 1, "0", "20")
    read(at, 2, "4", "60")
    assert "fall by 40 in" in at.answer("right drop at 4' 0\"")
    read(at, 3, "0", "20 1/4")
    at.answer("keep both", "back")
    assert 'not taken: 0", 20-1/4 in down' in read(at, 3, "0", "20 1/4")
    at.answer("keep both")
    read(at, 4, "4", "58")
    at.answer("it was 60 in before", "yes")
    at.answer("right drop at 4' 0\"", "back")
    assert "not taken: 4' 0\", 58 in down" in read(at, 4, "4", "58")
    at.answer("it was 60 in before", "yes")
    assert "fall by 37-3/4 in" in at.answer("right drop at 4' 0\"")
    at.answer("station 4")
    at.answer("break 1")
    assert at.rest()[0] == 0
    rows = read_job(tmp_path / "yard").surveys[0].rows
    assert [(r.station, r.drop) for r in rows] == [(0, 20), (0, 20.25), (48, 58)], "back takes no other out"


@pytest.mark.parametrize("key", [b"\x03", b"\x04"], ids=["interrupt", "end of input"])
def test_stopping_among_the_questions_loses_no_answer(start: Any, tmp_path: Path, key: bytes) -> None:
    at = start("new", "yard")
    at.answer("Units")
    at.answer("Name of the job", "Long lane")
    at.answer("Length of the run", "64 ft")
    at.press("Actual width", key)
    status, shown = at.rest()
    assert status == 0
    assert "every whole answer is saved" in shown
    assert "Traceback" not in shown
    text = (tmp_path / "yard" / "job.toml").read_text()
    assert 'title = "Long lane"' in text
    assert 'end = "64 ft"' in text


def test_stopping_after_an_answer_does_not_say_that_nothing_was_written(start: Any, tmp_path: Path) -> None:
    (tmp_path / "yard").mkdir()
    job = '[job]\ntitle = "Mine"\nunits = "metric"\n[[run]]\nname = "a"\nsurvey = "a.csv"\n'
    (tmp_path / "yard" / "job.toml").write_text(job)
    at = start("new", "yard")
    at.answer("Go on with", "change")
    at.answer("Which", "1")
    at.answer("Name of the job", "Long lane")
    at.press("Go on with", b"\x04")
    status, shown = at.rest()
    assert status == 0
    assert "every whole answer is saved" in shown
    assert 'title = "Long lane"' in (tmp_path / "yard" / "job.toml").read_text()


def test_stopping_before_the_first_answer_writes_nothing(start: Any, tmp_path: Path) -> None:
    at = start("new", "yard")
    at.answer("Units")
    at.press("Name of the job", b"\x03")
    status, shown = at.rest()
    assert status == 130
    assert "nothing was written" in shown
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
    at.command.kill()
    assert [r.drop for r in read_job(tmp_path / "yard").surveys[0].rows] == [20, 21]


def test_a_job_that_cannot_be_read_is_told(start: Any, tmp_path: Path) -> None:
    (tmp_path / "yard").mkdir()
    (tmp_path / "yard" / "job.toml").write_text("mine")
    status, shown = start("new", "yard").rest()
    assert status == 1
    assert "job.toml" in shown
    assert (tmp_path / "yard" / "job.toml").read_text() == "mine"


def test_beginning_afresh_wipes_nothing(start: Any, tmp_path: Path) -> None:
    yard = tmp_path / "yard"
    yard.mkdir()
    (yard / "job.toml").write_text("mine")
    (yard / "side_1.csv").write_text("station [ft],drop [in]\n0,20\n")
    at = start("new", "yard", "--force")
    at.answer("Units")
    at.answer("Name of the job", "skip")
    at.answer("station 1")
    assert at.rest()[0] == 0
    assert [p.read_text() for p in yard.glob("job.*.toml")] == ["mine"]
    assert "0,20" in next(iter(yard.glob("side_1.*.csv"))).read_text()


def test_runs_that_are_not_read_to_their_end_come_first(tmp_path: Path) -> None:
    """Whoever goes on with readings goes on where they stopped, not at the first run again."""
    run = '[[run]]\nname = "{0}"\nsurvey = "{0}.csv"\nend = "8 ft"\n'
    tables = '[job]\ntitle = "x"\nunits = "imperial"\n[[pickets.stock]]\nlength = "6 ft"\n'
    (tmp_path / "job.toml").write_text(tables + "".join(map(run.format, "abc")))
    for name, last in (("a", 8), ("b", 4), ("c", 8)):
        (tmp_path / f"{name}.csv").write_text(f"station [ft],drop [in]\n0,20\n{last},21\n")
    session = Session.of(tmp_path)
    assert [session.is_read(k) for k in range(3)] == [True, False, True]


def test_a_job_with_more_runs_written_in_has_them_all_on_its_page(tmp_path: Path) -> None:
    Session.fresh(tmp_path, UnitSystem.METRIC, force=False).save()
    job, page = tmp_path / "job.toml", tmp_path / "readings.html"
    session = Session.of(tmp_path)
    session.bring_page()
    assert session.written == [], "it has the one run there is"
    text = job.read_text() + "".join(
        f'[[run]]\nname = "{n}"\nsurvey = "{n}.csv"\n# mine\n' for n in ("west", "east")
    )
    job.write_text(text)
    session = Session.of(tmp_path)
    session.bring_page()
    assert session.written == [page]
    assert all(f'value="{name}.csv"' in page.read_text() for name in ("side_1", "west", "east"))
    session.save()
    assert job.read_text() == text, "with the remarks"
    assert list(tmp_path.glob("job.*.toml")) == []
    end = next(q for q in session.draft.open_questions("x") if q.name == "run.end")
    session.answered(session.draft.having(end, {end.place: "8 m"}))
    assert 'end = "8 m"' in job.read_text()
    assert [path.read_text() for path in tmp_path.glob("job.*.toml")] == [text]


def test_the_page_that_takes_readings_is_headed_with_the_title_answered(tmp_path: Path) -> None:
    """What a phone has kept under the folder's name is found again, whatever the title."""
    session = Session.fresh(tmp_path, UnitSystem.METRIC, force=False)
    session.save()
    page = tmp_path / "readings.html"
    assert "<h1>My fence: readings</h1>" in page.read_text()
    title = next(q for q in session.draft.open_questions("x") if q.place == ("job", "title"))
    session.answered(session.draft.having(title, {title.place: "Reading bench"}))
    assert "<h1>Reading bench: readings</h1>" in page.read_text()
    assert f'data-readings="{tmp_path.name}"' in page.read_text()
