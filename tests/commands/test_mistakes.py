"""What a builder's mistakes look like at the prompt: one line each, on standard error, never a traceback."""

import json
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Run = Callable[..., Any]


def test_every_mistake_of_job_and_surveys_is_listed(run: Run, job: Path) -> None:
    text = (job / "job.toml").read_text()
    (job / "job.toml").write_text(
        text.replace("price = 4.10", "price = -4.10\npirce = 3").replace(
            "[[pickets", '[pickets]\nwidth = "0 in"\n[[pickets', 1
        )
    )
    (job / "lane.csv").write_text("station [ft],drop [in]\n0,x\n8,20\n16,y\n")
    done = run("plan", job)
    assert (done.status, done.out) == (1, "")
    assert done.errors[:3] == [
        'job.toml [pickets] width: "0 in" is not more than zero; check the number and its sign',
        "job.toml [pickets] stock 1, price: a price of -4.1 cannot be; write what one costs, zero or more",
        'job.toml [pickets] stock 1, pirce: is not a key that is known here; did you mean "price"?',
    ]
    assert [line.split(":")[0] for line in done.errors[3:]] == ["lane.csv line 2", "lane.csv line 4"]


def test_mistakes_of_the_job_and_of_its_levels_come_together(run: Run, job: Path) -> None:
    """A negative drop is found although the job file has a mistake of its own."""
    text = (job / "job.toml").read_text()
    (job / "job.toml").write_text(text.replace("price = 4.10", "price = -4.10"))
    (job / "lane.csv").write_text("station [ft],drop [in]\n0,20\n8,-3\n16,20\n24,20\n")
    done = run("plan", job)
    assert done.status == 1
    assert [line.split(":")[0] for line in done.errors] == [
        "job.toml [pickets] stock 1, price",
        "lane.csv line 3",
    ]


@pytest.mark.parametrize(
    ("path", "text"),
    [
        (
            "nowhere",
            "there is no such file or folder; check the path, or start one with: fencegrade new FOLDER",
        ),
        ("nowhere.csv", "there is no such file; check the name and the folder"),
        (".", "the folder holds no job.toml; check the path, or start one with: fencegrade new FOLDER"),
    ],
)
@pytest.mark.parametrize("command", ["plan", "check"])
def test_nothing_to_read(run: Run, tmp_path: Path, command: str, path: str, text: str) -> None:
    (tmp_path / "empty").mkdir()
    done = run(command, tmp_path / "empty" / path)
    assert (done.status, done.out) == (1, "")
    (line,) = done.errors
    assert line.endswith(f": {text}")


HOSTILE = [
    "",
    "\0",
    "[job]",
    "job = 3\nrun = 'x'\npickets = []",
    "[[job]]\n[[pickets]]\n[run]",
    "run = [[[]]]\n[job]\ntitle = {}\nunits = []",
    "[[run]]\nname = {}\nsurvey = []\nstring = [1]\ngate = {}",
    "x = " + "{y = " * 60 + "1" + "}" * 60,
    "[job]\ntitle = '''\n\n'''\nunits = 'imperial'\ntape = '1e-300 in'\n[[run]]\nname='r'\nsurvey='/'\n"
    "[[pickets.stock]]\nlength='6 ft'",
]


@pytest.mark.parametrize("text", HOSTILE, ids=range(len(HOSTILE)))
def test_hostile_job_files_end_in_words(run: Run, job: Path, text: str) -> None:
    (job / "job.toml").write_text(text)
    for command in ("plan", "check"):
        done = run(command, job)
        assert (done.status, done.out) == (1, "")
        assert done.errors
        assert "Traceback" not in done.err
        assert all(": " in line and "; " in line for line in done.errors)


BAD_VALUES = {
    "a reading of a thousand million": ("lane.csv", "station [ft],drop [in]\n0,20\n8,1e9\n16,20\n"),
    "not a number": ("lane.csv", "station [ft],drop [in]\n0,20\n8,nan\n16,20\n"),
    "no end": ("lane.csv", "station [ft],drop [in]\n0,20\n8,inf\n16,20\n"),
    "one reading": ("lane.csv", "station [ft],drop [in]\n0,20\n"),
    "an empty survey": ("lane.csv", ""),
    "out of order": ("lane.csv", "station [ft],drop [in]\n0,20\n16,20\n8,20\n24,20\n"),
    "repeats that disagree": ("lane.csv", "station [ft],drop [in]\n0,20\n8,20\n8,29\n16,20\n"),
    "a word": ("lane.csv", "station [ft],drop [in]\n0,20\n8,twenty\n16,20\n"),
    "no units": ("lane.csv", "station,drop\n0,20\n8,20\n16,20\n"),
    "wrong columns": ("lane.csv", "a,b,c\n1,2,3\n"),
}


@pytest.mark.parametrize("name", BAD_VALUES)
def test_bad_readings_end_in_words(run: Run, job: Path, name: str) -> None:
    file, text = BAD_VALUES[name]
    (job / file).write_text(text)
    done = run("plan", job, "--out", job / "out")
    assert (done.status, done.out) == (1, "")
    assert all(line.startswith("lane.csv") and "; " in line for line in done.errors)
    assert not (job / "out").exists()


@pytest.mark.parametrize(
    "keys",
    [
        '[[run.gate]]\nstation = "40 ft"\nwidth = "4 ft"',
        '[[run.gate]]\nstation = "22 ft"\nwidth = "4 ft"',
        '[[run.gate]]\nstation = "-9 ft"\nwidth = "4 ft"',
        'end = "96 ft"',
        'start = "-1 ft"',
        'start = "30 ft"\nend = "40 ft"',
        '[[run.string]]\nstart = "0 ft"\nend = "10 ft"',
        '[[run.string]]\nid = "A"\n[[run.string]]\nid = "B"',
    ],
)
def test_wishes_outside_the_readings_end_in_words(run: Run, job: Path, keys: str) -> None:
    text = (job / "job.toml").read_text().replace('"lane.csv"', f'"lane.csv"\n{keys}')
    (job / "job.toml").write_text(text)
    done = run("plan", job)
    assert (done.status, done.out) == (1, "")
    assert done.errors
    assert all("; " in line for line in done.errors)


def test_a_title_with_markup_or_control_characters_stays_text(run: Run, job: Path) -> None:
    text = (job / "job.toml").read_text()
    (job / "job.toml").write_text(text.replace("Herb garden", r"\u001b[2J<b>[red]Herb[/red]</b>\u0007\u202e"))
    done = run("plan", job, "--out", job / "out")
    assert done.status == 0
    assert "<b>[red]Herb[/red]</b>" in done.out
    for text in (
        done.out,
        *((job / "out" / n).read_text() for n in ("cut_chart.txt", "plan.json", "cut_chart.csv")),
    ):
        assert all(c.isprintable() or c == "\n" for c in text)
    svg = (job / "out" / "elevation.svg").read_text()
    assert "<b>" not in svg
    assert "\x1b" not in svg


def test_a_currency_sign_cannot_move_the_cursor(run: Run, job: Path) -> None:
    text = (job / "job.toml").read_text()
    (job / "job.toml").write_text(text.replace('"imperial"', '"imperial"\ncurrency = "\\u001b[2J"'))
    done = run("plan", job, "--out", job / "out")
    shown = done.out + done.err + "".join(p.read_text() for p in (job / "out").glob("*.txt"))
    assert "\x1b" not in shown


def test_keys_with_control_characters_are_shown_harmlessly(run: Run, job: Path) -> None:
    text = (job / "job.toml").read_text()
    (job / "job.toml").write_text(text + '"a\\u001b[2J" = 1\n')
    done = run("plan", job)
    assert done.status == 1
    assert "\x1b" not in done.err


class TestUsage:
    @pytest.mark.parametrize(
        "words",
        [
            ["plan"],
            ["plan", "x", "--top", "wavy"],
            ["plan", "x", "--nonsense"],
            ["nonsense"],
            ["plan", "a", "b"],
        ],
    )
    def test_wrong_usage_is_status_two(self, run: Run, words: list[str]) -> None:
        done = run(*words)
        assert (done.status, done.out) == (2, "")
        assert "Usage" in done.err


@pytest.mark.usefixtures("no_paper")
class TestOutput:
    def test_a_path_below_a_file(self, run: Run, job: Path) -> None:
        done = run("plan", job, "--out", job / "lane.csv" / "sheets")
        assert (done.status, done.out) == (1, "")
        (line,) = done.errors
        assert "nothing was changed" in line

    def test_a_folder_that_may_not_be_written(
        self, run: Run, job: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def refuse(*args: object, **kwargs: object) -> None:
            raise PermissionError(13, "Permission denied", str(job / "out"))

        monkeypatch.setattr(Path, "mkdir", refuse)
        done = run("plan", job, "--out", job / "out")
        assert done.status == 1
        assert done.errors == [
            f"{job}/out: may not be written; nothing was changed; choose another folder, or make room"
        ]

    def test_a_disk_that_fills_half_way(self, run: Run, job: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        out = job / "out"
        assert run("plan", job, "--out", out).status == 0
        before = {p.name: p.read_bytes() for p in out.iterdir()}

        def full(descriptor: int) -> None:
            raise OSError(28, os.strerror(28))

        monkeypatch.setattr(os, "fsync", full)
        done = run("plan", job, "--out", out, "--top", "contour")
        assert done.status == 1
        assert "No space left on device" in done.err
        assert {p.name: p.read_bytes() for p in out.iterdir()} == before

    @pytest.mark.parametrize("words", ["", "--json"])
    def test_standard_output_on_a_full_disk(self, shell: Run, job: Path, words: str) -> None:
        done = shell(f"plan {job} {words} > /dev/full")
        assert done.status == 1
        assert "Traceback" not in done.err
        assert "No space left" in done.err

    def test_a_reader_that_closes_early(self, shell: Run, job: Path) -> None:
        (job / "lane.csv").write_text(
            "station [ft],drop [in]\n" + "".join(f"{n * 10},20\n" for n in range(60))
        )
        done = shell(f"plan {job} --json | head -n 1")
        assert done.out.startswith('{"format"')
        assert "Traceback" not in done.err
        assert "Exception" not in done.err


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('[job]\ntitle = "a"\nunits = "metric"\ntitle = "b"\n', "line 4: title is written a second time"),
        ('[job]\nunits = "metric"\n[pickets]\n[pickets]\n', "line 4: [pickets] is written a second time"),
    ],
)
def test_a_key_or_table_written_twice_is_told_by_name(
    run: Any, tmp_path: Path, text: str, words: str
) -> None:
    (tmp_path / "job.toml").write_text(text, encoding="utf-8")
    done = run("plan", tmp_path)
    assert done.status == 1
    assert f"job.toml {words}; keep one of the two" in done.err


def test_a_wrong_choice_is_told_in_our_words(run: Any, tmp_path: Path) -> None:
    done = run("plan", tmp_path, "--top", "wavy")
    assert done.status == 2
    assert "'wavy' is not one of" in done.err
    assert "Value error" not in done.err


def test_a_level_book_with_a_wall_and_points_with_a_gate_on_a_cross_slope_plan(
    run: Any, tmp_path: Path
) -> None:
    """Book: the ground falls 9.6 in at the wall; points: a gate whose side slope the job tells."""
    book = (
        "station [ft],backsight [ft],intermediate [ft],foresight [ft],side\n0,4.0,,,\n8,,4.1,,\n"
        "12,,4.2,,before\n12,,5.0,,after\n16,,5.1,,\n24,,,5.2,\n"
    )
    points = "x [m],y [m],z [m]\n" + "".join(f"{1.5 * k},{0.02 * (k % 2)},{0.05 * k}\n" for k in range(7))
    for name, survey, run_keys in (
        ("book", book, ""),
        (
            "points",
            points,
            'from_xy = ["0 m", "0 m"]\nto_xy = ["9 m", "0 m"]\n'
            '[[run.gate]]\nstation = "4 m"\nwidth = "1 m"\nslope_across = "8 %"\n',
        ),
    ):
        folder = tmp_path / name
        folder.mkdir()
        units = "metric" if name == "points" else "imperial"
        stock = "1.8 m" if name == "points" else "8 ft"
        (folder / "job.toml").write_text(
            f'[job]\ntitle = "{name}"\nunits = "{units}"\n[[run]]\nname = "a"\nsurvey = "s.csv"\n{run_keys}'
            f'[[pickets.stock]]\nlength = "{stock}"\n',
            encoding="utf-8",
        )
        (folder / "s.csv").write_text(survey, encoding="utf-8")
        done = run("plan", folder, "--json")
        assert done.status == 0, done.err
        (told,) = json.loads(done.out)["runs"]
        if name == "book":
            edges = {p["right"] for p in told["pickets"]} | {p["left"] for p in told["pickets"]}
            assert 144.0 in edges
            before = max((p for p in told["pickets"] if p["right"] <= 144.01), key=lambda p: p["right"])
            after = min((p for p in told["pickets"] if p["left"] >= 143.99), key=lambda p: p["left"])
            assert after["length"] - before["length"] == pytest.approx(9.6, abs=0.5)
        else:
            assert len(told["gates"]) == 1
