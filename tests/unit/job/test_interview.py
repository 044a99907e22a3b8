"""The job that a few answers make, and the survey that readings make."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fencegrade.job.defaults import default_tables
from fencegrade.job.interview import (
    RUN,
    SURVEY,
    answered_job,
    faults,
    height_question,
    questions,
    readings_text,
)
from fencegrade.job.read import read_job
from fencegrade.job.survey import StringSurvey
from fencegrade.job.survey_csv import read_survey
from fencegrade.units import UnitSystem, parse_length

SYSTEMS = list(UnitSystem)
READINGS = [(0.0, 300 / 25.4), (48.0, 12.25)]


def written(folder: Path, answers: dict[tuple[str, str], object], system: UnitSystem) -> Path:
    (folder / "job.toml").write_text(answered_job(answers, system), encoding="utf-8")
    (folder / SURVEY).write_text(readings_text(READINGS, system), encoding="utf-8")
    return folder


@pytest.mark.parametrize("system", SYSTEMS)
def test_no_answer_at_all_is_a_job_of_the_defaults(tmp_path: Path, system: UnitSystem) -> None:
    job = read_job(written(tmp_path, {}, system))
    assert job.job.units is system
    assert job.runs[0].name == RUN
    for table, held in (("top", job.top), ("pickets", job.pickets)):
        for key, value in default_tables(system)[table].items():
            found = getattr(held, key)
            assert found == (
                parse_length(value) if isinstance(found, float) and isinstance(value, str) else value
            ), key


@pytest.mark.parametrize("system", SYSTEMS)
def test_what_was_not_asked_is_printed_as_assumed(tmp_path: Path, system: UnitSystem) -> None:
    answers: dict[tuple[str, str], object] = {q.place: q.default for q in questions(system)}
    assumed = {a.key for a in read_job(written(tmp_path, answers, system)).assumed}
    asked = {f"[{table}] {key}" for table, key in answers} | {"[pickets] most_gap"}
    defaults = {f"[{t}] {k}" for t, keys in default_tables(system).items() for k in keys}
    assert assumed == defaults - asked - {"[job] currency"}


def test_the_least_height_asked_leaves_the_shortest_board_whole() -> None:
    stock = [{"length": "8 ft", "price": 5.0}, {"length": "5 ft", "price": 3.0}]
    known: dict[tuple[str, str], object] = {("pickets", "stock"): stock}
    for answers, default in (
        ({}, "74 in"),
        (known, "62 in"),
        (known | {("pickets", "clearance"): "1-1/2 in"}, "61-1/2 in"),
    ):
        assert height_question(answers, UnitSystem.IMPERIAL).default == default
    assert height_question({}, UnitSystem.METRIC).default == "1850 mm"


@pytest.mark.parametrize("system", SYSTEMS)
def test_each_question_shows_the_default_that_silence_takes(tmp_path: Path, system: UnitSystem) -> None:
    for question in questions(system):
        assert question.default == default_tables(system)[question.table][question.key]
        assert not faults({question.place: question.default}, system)
        asked = read_job(written(tmp_path, {question.place: question.default}, system))
        silent = read_job(written(tmp_path, {}, system))
        assert (asked.top, asked.pickets) == (silent.top, silent.pickets)


@pytest.mark.parametrize(
    ("place", "answer", "said"),
    [
        (("pickets", "width"), "5", "has no unit"),
        (("pickets", "width"), "60 ft", "check the number and its unit"),
        (("pickets", "spacing"), "-1 in", "below zero"),
        (("top", "least_height"), "tall", "cannot be read"),
        (("pickets", "clearance"), "7 ft", "no picket is left"),
        (("job", "title"), " ", "is not a text"),
        (("run", "end"), "inf ft", "not a finite number"),
        (("pickets", "stock"), [{"length": "6 ft"}, {"length": "72 in"}], "offered twice"),
        (("pickets", "stock"), [{"length": "6 ft", "price": -1.0}], "a price of -1.0 cannot be"),
    ],
)
def test_a_faulty_answer_is_told_in_words(place: tuple[str, str], answer: object, said: str) -> None:
    (told,) = faults({place: answer}, UnitSystem.IMPERIAL)
    assert said in told


@pytest.mark.parametrize(
    ("clearance", "gap"), [("1 in", 3.0), ("2 in", 3.0), ("2-1/2 in", 3.5), ("6 in", 7.0)]
)
def test_a_wide_clearance_keeps_an_inch_of_room_for_the_gap(
    tmp_path: Path, clearance: str, gap: float
) -> None:
    job = read_job(written(tmp_path, {("pickets", "clearance"): clearance}, UnitSystem.IMPERIAL))
    assert job.pickets.clearance == parse_length(clearance)
    assert job.pickets.most_gap == gap


@pytest.mark.parametrize("system", SYSTEMS)
@given(
    drops=st.lists(st.floats(0, 140), min_size=1, max_size=12),
    spacing=st.floats(1, 200),
)
def test_readings_written_are_the_readings_read(
    tmp_path_factory: pytest.TempPathFactory, system: UnitSystem, drops: list[float], spacing: float
) -> None:
    readings = [(i * spacing, d) for i, d in enumerate(drops)]
    path = tmp_path_factory.getbasetemp() / "readings.csv"
    path.write_text(readings_text(readings[::-1], system))
    survey, problems = read_survey(path)
    assert not problems
    assert isinstance(survey, StringSurvey)
    assert [r.station for r in survey.rows] == pytest.approx([s for s, _ in readings], abs=1e-4)
    assert [r.drop for r in survey.rows] == pytest.approx(drops, abs=1e-4)
