"""A sitting of `new` beside an editor that has the same files open."""

from collections.abc import Callable
from pathlib import Path

import pytest

from fencegrade.cli.job_session import Session
from fencegrade.problems import JobMistakesError
from fencegrade.units import UnitSystem

MENDED = "station [m],drop [mm],note\n0,410,by the oak\n3,430,\n6,455,\n"


@pytest.fixture
def session(tmp_path: Path) -> Session:
    """A job just begun, on disk."""
    begun = Session.fresh(tmp_path, UnitSystem.METRIC, force=False)
    begun.save()
    return begun


@pytest.fixture
def survey(session: Session, tmp_path: Path) -> Path:
    """Its survey."""
    return tmp_path / session.runs()[0][1]


Types = Callable[..., None]


@pytest.fixture
def types(monkeypatch: pytest.MonkeyPatch) -> Types:
    """What is typed next, line by line."""

    def typed(*lines: str) -> None:
        left = iter(lines)
        monkeypatch.setattr("builtins.input", lambda _: next(left))

    return typed


def test_readings_mended_in_an_editor_meanwhile_are_gone_on_with(
    session: Session, survey: Path, types: Types
) -> None:
    survey.write_text(MENDED, encoding="utf-8")
    session.answered(session.draft)
    assert survey.read_text(encoding="utf-8") == MENDED, "an answer is no reading"
    types("9", "470", "", "")
    session.take(0)
    assert survey.read_text(encoding="utf-8").splitlines() == [
        "station [m],drop [mm],note",
        "0,410,by the oak",
        "3,430,",
        "6,455,",
        "9,470,",
    ]
    copies = list(survey.parent.glob(f"{survey.stem}.*.csv"))
    assert [path.read_text(encoding="utf-8") for path in copies] == [MENDED]
    assert copies[0] in session.written


def test_a_break_named_afterwards_stands_beside_the_note_there_was(
    session: Session, survey: Path, types: Types
) -> None:
    survey.write_text(MENDED.replace("3,430,", "3,430,break at the lip"), encoding="utf-8")
    types("", "0", "3", "")
    session.take(0)
    notes = [line.split(",", 2)[2] for line in survey.read_text(encoding="utf-8").splitlines()]
    assert notes == ["note", '"break, by the oak"', "break at the lip", ""]


@pytest.mark.usefixtures("session")
def test_a_job_that_is_gone_on_with_is_written_over_and_its_survey_must_be_read(tmp_path: Path) -> None:
    before = set(tmp_path.iterdir())
    session = Session.of(tmp_path)
    session.save()
    assert set(tmp_path.iterdir()) == before, "what it wrote itself needs no copy"
    rows = "".join(f"{k},high\n" for k in range(20))
    (tmp_path / session.runs()[0][1]).write_text(f"station [m],elevation [mm]\n{rows}", encoding="utf-8")
    with pytest.raises(JobMistakesError, match='elevation "high" is not a length'):
        Session.of(tmp_path)
