"""Reading a whole job: what is accepted, every mistake at once, and the exact words of each."""

import os
from collections.abc import Callable
from pathlib import Path

import pytest
from small_job import JOB, SURVEY, mistakes_of

from fencegrade.fence.tops.table import TopStyle
from fencegrade.job.choices import Fit
from fencegrade.job.read import Job, read_job, read_sound_parts
from fencegrade.units import UnitSystem

Write = Callable[..., Path]


@pytest.fixture
def write(tmp_path: Path) -> Write:
    """Writes a job folder and gives its path."""

    def writer(job: str | bytes = JOB, survey: str | bytes | None = SURVEY) -> Path:
        (tmp_path / "job.toml").write_bytes(job.encode() if isinstance(job, str) else job)
        if survey is not None:
            (tmp_path / "lane.csv").write_bytes(survey.encode() if isinstance(survey, str) else survey)
        return tmp_path

    return writer


def mistakes(path: Path) -> list[str]:
    return mistakes_of(read_job, path)


def test_a_folder_and_its_job_file_are_the_same_job(write: Write) -> None:
    folder = write()
    assert read_job(folder) == read_job(folder / "job.toml") == read_job(str(folder))


def test_values_are_read_into_inches(write: Write) -> None:
    text = JOB + 'price = 4.10\non_hand = 3\n[top]\nleast_height = "1.8 m"\nstyle = "contour"\n'
    job = read_job(write(text.replace('"lane.csv"', '"lane.csv"\nstart = "2 ft"\nend = "7 yd"')))
    assert job.job.title == "Herb garden"
    assert job.top.least_height == pytest.approx(1800 / 25.4)
    assert job.top.style is TopStyle.CONTOUR
    assert (job.runs[0].start, job.runs[0].end) == (24.0, 252.0)
    stock = job.pickets.stock[0]
    assert (stock.length, stock.price, stock.on_hand) == (72.0, 4.10, 3)
    assert [row.drop for row in job.surveys[0].rows] == [20, 22, 21, 20]
    assert job.run_places == ("job.toml run 1",)


def test_defaults_are_those_of_the_units_and_are_listed(write: Write) -> None:
    imperial = read_job(write())
    metric = read_job(write(JOB.replace("imperial", "metric")))
    assert (imperial.job.tape, imperial.pickets.width, imperial.top.least_height) == (0.125, 5.5, 74.0)
    assert metric.job.tape == pytest.approx(1 / 25.4)
    assert metric.pickets.width == pytest.approx(140 / 25.4)
    # the only boards are 6 ft long
    assert metric.top.least_height == pytest.approx(1878 / 25.4)
    assert ("[pickets] width", "140 mm") in [(a.key, a.value) for a in metric.assumed]


def test_what_is_written_is_not_listed_as_assumed(write: Write) -> None:
    text = JOB.replace("[[pickets", '[pickets]\nwidth = "4 in"\nfit = "rip last"\n[[pickets')
    job = read_job(write(text))
    keys = [a.key for a in job.assumed]
    assert (job.pickets.width, job.pickets.fit) == (4.0, Fit.RIP_LAST)
    assert "[pickets] width" not in keys
    assert "[pickets] spacing" in keys
    assert "[job] tape" in keys


def test_a_byte_order_mark_and_windows_line_ends_are_read(write: Write) -> None:
    job = read_job(write(b"\xef\xbb\xbf" + JOB.replace("\n", "\r\n").encode()))
    assert job.job.title == "Herb garden"


def test_markup_and_control_characters_in_a_title_are_made_harmless(write: Write) -> None:
    title = r"\u001b[31m<b>Herb</b>\u0007 [red]garden[/red]\u202e\n= 1"
    job = read_job(write(JOB.replace("Herb garden", title)))
    assert job.job.title == "[31m<b>Herb</b>  [red]garden[/red]  = 1"
    assert job.job.title.isprintable()


class TestBareSurvey:
    def survey(self, tmp_path: Path, text: str, name: str = "lane.csv") -> Job:
        (tmp_path / name).write_text(text, encoding="utf-8")
        return read_job(tmp_path / name)

    def test_everything_else_is_the_default(self, tmp_path: Path) -> None:
        job = self.survey(tmp_path, SURVEY)
        assert job.job.title == "lane"
        assert job.job.units is UnitSystem.IMPERIAL
        assert job.runs[0].start is None
        assert [s.length for s in job.pickets.stock] == [72, 96, 120]
        listed = {a.key: a.value for a in job.assumed}
        assert listed["[job] units"] == "imperial"
        assert listed["[pickets] stock"] == "6 ft, 8 ft, 10 ft"

    @pytest.mark.parametrize(
        ("text", "system"),
        [
            ("station [m],drop [mm]\n0,500\n3,520\n", "metric"),
            ("station [m];drop [cm]\n0;50\n3;52\n", "metric"),
            ("station,drop\n0 m,500 mm\n3 m,520 mm\n", "metric"),
            ("station,drop\n0 ft,20 in\n8 ft,21 in\n", "imperial"),
            ("# read at 5 p.m., I'm sure\nstation [ft],drop [in]\n0,20\n8,21\n", "imperial"),
            ("station [ft],drop [in],note\n0,20,I'm at 3 m from the oak\n8,21,\n", "imperial"),
        ],
    )
    def test_units_are_those_of_the_readings(self, tmp_path: Path, text: str, system: str) -> None:
        assert self.survey(tmp_path, text).job.units == system

    @pytest.mark.parametrize("name", [" lane .csv", f"{'x' * 240}.csv", "lane\tside.CSV", "42.tsv", "Ö.txt"])
    def test_odd_file_names_are_read(self, tmp_path: Path, name: str) -> None:
        job = self.survey(tmp_path, SURVEY, name)
        assert job.job.title.isprintable()
        assert len(job.surveys) == 1

    def test_mistakes_of_the_survey_are_reported(self, tmp_path: Path) -> None:
        assert mistakes(tmp_path / "none.csv") == [
            "none.csv: there is no such file; check the name and the folder"
        ]


class TestNothingToRead:
    def test_a_path_that_is_not_there(self, tmp_path: Path) -> None:
        assert mistakes(tmp_path / "nowhere") == [
            f"{tmp_path}/nowhere: there is no such file or folder; "
            "check the path, or start one with: fencegrade new FOLDER"
        ]

    def test_a_folder_without_a_job(self, tmp_path: Path) -> None:
        assert mistakes(tmp_path) == [
            f"{tmp_path}/job.toml: the folder holds no job.toml; "
            "check the path, or start one with: fencegrade new FOLDER"
        ]

    def test_a_folder_with_a_survey_alone_points_to_it(self, tmp_path: Path) -> None:
        (tmp_path / "lane.csv").write_text(SURVEY)
        assert mistakes(tmp_path) == [
            f"{tmp_path}/job.toml: the folder holds no job.toml; "
            "give the survey lane.csv itself, or start one with: fencegrade new FOLDER"
        ]

    def test_a_job_file_that_is_a_folder(self, tmp_path: Path) -> None:
        (tmp_path / "job.toml").mkdir()
        assert mistakes(tmp_path) == [
            "job.toml: this is a folder, not a file; give a job folder, its job.toml or a survey CSV"
        ]

    def test_a_device_is_not_read_for_ever(self) -> None:
        assert mistakes(Path("/dev/zero")) == [
            "zero: this is not an ordinary file; give a job folder, its job.toml or a survey CSV"
        ]

    def test_a_pipe_is_not_waited_for(self, tmp_path: Path) -> None:
        os.mkfifo(tmp_path / "job.toml")
        assert "is not an ordinary file" in mistakes(tmp_path)[0]

    def test_a_file_that_may_not_be_read(self, write: Write, monkeypatch: pytest.MonkeyPatch) -> None:
        folder = write()

        def refuse(path: Path, *_: object) -> bytes:
            raise PermissionError(13, "Permission denied", str(path))

        monkeypatch.setattr(Path, "open", refuse)
        assert mistakes(folder) == ["job.toml: the file may not be read; check its permissions"]

    def test_wrong_encoding_names_the_line(self, write: Write) -> None:
        assert mistakes(write(JOB.replace("Herb", "Kräuter").encode("latin-1"))) == [
            "job.toml line 3: byte 0xE4 is not UTF-8 text; save it as UTF-8 in a plain text editor"
        ]

    def test_a_slip_of_syntax_names_the_line(self, write: Write) -> None:
        assert mistakes(write(JOB.replace('"6 ft"', "6 ft"))) == [
            "job.toml line 9: is not valid TOML: Expected newline or end of document after a statement; "
            'write key = "value", with texts and lengths in quotes'
        ]

    @pytest.mark.parametrize(
        ("text", "found"),
        [
            ("x = " + "[" * 5000, "is nested too deeply; write the tables of the job reference"),
            (".".join("a" * 300_000) + " = 1", "is nested too deeply; write the tables of the job reference"),
            ("x = " + "1" * 5000, "holds a number of thousands of digits"),
            ("#" * 2_000_001, "is larger than 2 MB"),
            ("\0", "a zero character"),
        ],
    )
    def test_hostile_files_are_refused_in_words(self, write: Write, text: str, found: str) -> None:
        (message,) = mistakes(write(text))
        assert found in message
        assert len(message) < 200


class TestEveryMistakeAtOnce:
    def test_job_values_their_order_and_the_survey_together(self, write: Write) -> None:
        text = (
            JOB.replace('"lane.csv"', '"lane.csv"\nstart = "9 ft"\nend = "3 ft"')
            .replace("Herb garden", " ")
            .replace("[[pickets", '[pickets]\nwidth = "-3 in"\nspacng = "1 in"\n[[pickets')
        )
        *of_the_job, first, second = mistakes(write(text, "station [ft],drop [in]\n0,x\n8,20\n16,nan\n"))
        assert of_the_job == [
            'job.toml [job] title: " " is not a text; write words in quotes',
            'job.toml [pickets] width: "-3 in" is not more than zero; check the number and its sign',
            'job.toml [pickets] spacng: is not a key that is known here; did you mean "spacing"?',
            "job.toml run 1, end: the run ends at 3' 0\", before its start at 9' 0\"; "
            "write stations that grow along the run",
        ]
        assert first.startswith('lane.csv line 2: drop "x" is not a length; ')
        assert second.startswith("lane.csv line 4: drop ")
        assert "nan" in second

    def test_a_broken_run_does_not_hide_its_neighbour(self, write: Write) -> None:
        text = JOB.replace(
            "[[pickets",
            '[[run]]\nname = "field side"\nsurvey = "none.csv"\nstart = 3\n'
            '[[run]]\nname = "lane side"\nsurvey = "lane.csv"\nstart = "4 ft"\nend = "2 ft"\n[[pickets',
        )
        assert mistakes(write(text)) == [
            "job.toml run 2, start: 3 has no unit; write it as text with its unit, such as "
            '"5-1/2 in" or "140 mm"',
            'job.toml run 3, name: "lane side" names two runs; give each run its own name',
            "job.toml run 3, end: the run ends at 2' 0\", before its start at 4' 0\"; "
            "write stations that grow along the run",
            "none.csv: there is no such file; check the name and the folder",
        ]

    def test_sound_parts_keep_what_is_sound(self, write: Write) -> None:
        text = JOB.replace("[[pickets", '[[run]]\nname = 1\nsurvey = "lane.csv"\n[top]\nstyle = 5\n[[pickets')
        job, problems = read_sound_parts(write(text))
        assert len(problems) == 2
        assert [r.name for r in job.runs] == ["lane side"]
        assert job.top.style is TopStyle.LEVEL
        assert job.pickets.stock[0].length == 72

    def test_one_survey_in_two_runs_is_reported_once(self, write: Write) -> None:
        text = JOB.replace("[[pickets", '[[run]]\nname = "b"\nsurvey = "lane.csv"\n[[pickets')
        assert mistakes(write(text, "")) == [
            'lane.csv: the file is empty; write a header such as "station [ft],drop [in]" '
            "and a row for each reading"
        ]


class TestSurveyFaultsReachTheReport:
    @pytest.mark.parametrize(
        ("survey", "expected"),
        [
            (None, "lane.csv: there is no such file; check the name and the folder"),
            (
                "",
                'lane.csv: the file is empty; write a header such as "station [ft],drop [in]" '
                "and a row for each reading",
            ),
            (
                SURVEY.replace("\n8,22", "\n8,22 \xbd").encode("latin-1"),
                "lane.csv line 3: byte 0xBD is not UTF-8 text; save it as CSV UTF-8 from the spreadsheet",
            ),
            (
                SURVEY + "1e9,20\n",
                "lane.csv line 6: station 1e9 is larger than 1,000,000,000 in; check the number and its unit",
            ),
        ],
    )
    def test_words(self, write: Write, survey: str | bytes | None, expected: str) -> None:
        assert mistakes(write(JOB, survey)) == [expected]
