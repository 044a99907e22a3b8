"""The job that a few answers make, and the survey that readings make."""

from collections.abc import Mapping
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fencegrade.job.defaults import default_tables
from fencegrade.job.interview import (
    RUN,
    SURVEY,
    Draft,
    doubts,
    draft_of,
    drafted_job,
    faults,
    fresh_draft,
    questions,
    readings_text,
    runs_of,
    usual_answer,
)
from fencegrade.job.read import read_job
from fencegrade.job.survey import StringReading, StringSurvey
from fencegrade.job.survey_csv import read_survey
from fencegrade.problems import JobMistakesError
from fencegrade.units import UnitSystem, parse_length

SYSTEMS = list(UnitSystem)
READINGS = [
    StringReading(line=1, station=0.0, drop=300 / 25.4),
    StringReading(line=2, station=48.0, drop=12.25),
]


def drafted(answers: Mapping[tuple[str, str], object], system: UnitSystem) -> Draft:
    return Draft(system=system, base={}, answers=dict(answers))


def written(folder: Path, answers: dict[tuple[str, str], object], system: UnitSystem) -> Path:
    (folder / "job.toml").write_text(drafted_job(drafted(answers, system)), encoding="utf-8")
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
    answers: dict[tuple[str, str], object] = {
        q.place: q.default for q in questions(system) if not q.silent and q.place != ("job", "title")
    }
    assumed = {a.key for a in read_job(written(tmp_path, answers, system)).assumed}
    asked = {f"[{table}] {key}" for table, key in answers} | {"[pickets] most_gap"}
    defaults = {f"[{t}] {k}" for t, keys in default_tables(system).items() for k in keys}
    assert assumed == defaults - asked - {"[job] currency"}


def test_the_least_height_asked_leaves_the_shortest_board_whole() -> None:
    stock = [{"length": "8 ft", "price": 5.0}, {"length": "5 ft", "price": 3.0}]
    known: dict[tuple[str, str], object] = {("pickets", "stock"): stock}
    height = next(q for q in questions(UnitSystem.IMPERIAL) if q.key == "least_height")
    for answers, default in (
        ({}, "74 in"),
        (known, "62 in"),
        (known | {("pickets", "clearance"): "1-1/2 in"}, "61-1/2 in"),
        (known | {("top", "most_height"): "5 ft"}, "60 in"),
    ):
        assert usual_answer(drafted(answers, UnitSystem.IMPERIAL), height) == default
    assert usual_answer(fresh_draft(UnitSystem.METRIC), height) == "1850 mm"


@pytest.mark.parametrize("system", SYSTEMS)
def test_each_question_shows_the_default_that_silence_takes(tmp_path: Path, system: UnitSystem) -> None:
    for question in questions(system):
        if question.silent or question.place == ("job", "title"):
            continue
        assert question.default == default_tables(system)[question.table][question.key]
        assert not faults(drafted({question.place: question.default}, system))
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
        (("pickets", "clearance"), "1000000000 in", "no picket is left"),
        (("job", "title"), " ", "is not a text"),
        (("run", "end"), "inf ft", "not a finite number"),
        (("pickets", "stock"), [{"length": "6 ft"}, {"length": "72 in"}], "offered twice"),
        (("pickets", "stock"), [{"length": "6 ft", "price": -1.0}], "a price of -1.0 cannot be"),
    ],
)
def test_a_faulty_answer_is_told_in_words(place: tuple[str, str], answer: object, said: str) -> None:
    (told,) = faults(drafted({place: answer}, UnitSystem.IMPERIAL))
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
    rows = [StringReading(line=i, station=s, drop=d) for i, (s, d) in enumerate(readings)]
    path = tmp_path_factory.getbasetemp() / "readings.csv"
    path.write_text(readings_text(rows[::-1], system))
    survey, problems = read_survey(path)
    assert not problems
    assert isinstance(survey, StringSurvey)
    assert [r.station for r in survey.rows] == pytest.approx([s for s, _ in readings], abs=1e-4)
    assert [r.drop for r in survey.rows] == pytest.approx(drops, abs=1e-4)


def test_what_was_answered_is_gone_on_with(tmp_path: Path) -> None:
    """Asked questions stay asked, also those that silence answered; the others are still open."""
    title, end, width, *rest = questions(UnitSystem.METRIC)
    draft = fresh_draft(UnitSystem.METRIC).having(title, {title.place: "Lane"}).having(end, {})
    draft = draft.having(width, {width.place: "95 mm"})
    again = draft_of(drafted_job(draft))
    assert again.system is UnitSystem.METRIC
    assert [q.name for q in again.open_questions("x")] == [q.name for q in rest]
    assert again.value(("pickets", "width")) == "95 mm"
    assert drafted_job(again) == drafted_job(draft)


def test_a_run_round_the_corner_joins_the_first(tmp_path: Path) -> None:
    corner = next(q for q in questions(UnitSystem.IMPERIAL) if q.name == "run.next")
    draft = fresh_draft(UnitSystem.IMPERIAL).having(
        corner, {corner.place: {"name": "Long wall", "end": "20 ft"}}
    )
    assert not faults(draft)
    assert [r[:2] for r in runs_of(draft)] == [(RUN, SURVEY), ("Long wall", "long_wall.csv")]
    assert 'join = "side 1"\nstart = "0 in"\nend = "20 ft"' in drafted_job(draft)
    assert "names two runs" in faults(draft.having(corner, {corner.place: {"name": RUN}}))[0]


def test_a_job_with_mistakes_is_not_gone_on_with() -> None:
    text = '[job]\ntitle = "x"\nunits = "metric"\n[pickets]\nstock = [{length = "-0.1 m"}]\n'
    with pytest.raises(JobMistakesError) as caught:
        draft_of(text)
    (told,) = caught.value.problems
    assert told.place == "job.toml [pickets] stock 1, length"
    assert "not more than zero" in told.found


def test_a_job_without_runs_is_given_the_first() -> None:
    draft = draft_of('run = []\n[job]\ntitle = "x"\nunits = "metric"\n')
    assert [r[:2] for r in runs_of(draft)] == [(RUN, SURVEY)]


def test_an_unusual_answer_is_doubted_until_it_is_confirmed(tmp_path: Path) -> None:
    """A string said to hang 12 ft: the doubt of the answer is that of the job, and confirming ends both."""
    answers: dict[tuple[str, str], object] = {("run", "string"): [{"sag": "12 ft"}]}
    draft = drafted(answers, UnitSystem.IMPERIAL)
    ((key, told),) = doubts(draft)
    job = written(tmp_path, answers, UnitSystem.IMPERIAL)
    assert any(told in p.found for p in read_job(job).notes)
    meant = draft.confirming([key])
    assert doubts(meant) == ()
    (tmp_path / "job.toml").write_text(drafted_job(meant), encoding="utf-8")
    assert not any(told in p.found for p in read_job(job).notes)
