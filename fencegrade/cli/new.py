"""`fencegrade new`: a job asked for at the terminal, gone on with where it stopped, or made of a survey."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from fencegrade.cli.options import option
from fencegrade.cli.say import command_line, complain, say, say_all, say_written

if TYPE_CHECKING:
    from fencegrade.cli.job_session import Session
    from fencegrade.units import UnitSystem

FromSurvey = Annotated[Path | None, option("--survey", "Make the job of a survey.", "CSV")]
Afresh = Annotated[
    bool, typer.Option("--force", help="Begin afresh; files of before are kept beside, with their date.")
]


def new(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="Folder of the job.", show_default=False)],
    metric: Annotated[bool, typer.Option("--metric", help="Millimetres and metres.")] = False,
    blank: Annotated[bool, typer.Option("--blank", help="Ask nothing: files to fill in by hand.")] = False,
    survey: FromSurvey = None,
    force: Afresh = False,
) -> None:
    """Start a job or go on with one: questions and readings at a terminal, or files to fill in.

    Example: fencegrade new my-shed-side --blank
    """
    from fencegrade.units import UnitSystem

    system = UnitSystem.METRIC if metric else None
    at_terminal = not blank and sys.stdin.isatty() and sys.stdout.isatty()
    if survey is not None:
        _of_survey(folder, survey, system, force, at_terminal)
    elif at_terminal:
        _asked(folder, system, force)
    else:
        _blank(folder, system or UnitSystem.IMPERIAL, force)


def _blank(folder: Path, system: "UnitSystem", force: bool) -> None:
    from fencegrade.job.template import blank_built, blank_survey, job_template
    from fencegrade.sheets.files import keep_beside, write_files
    from fencegrade.sheets.page.readings import readings_page
    from fencegrade.sheets.paper.reading_sheet import reading_sheet

    template = job_template(system).encode()
    files = {
        "job.toml": template,
        "north.csv": blank_survey(system).encode(),
        "built.toml": blank_built(system).encode(),
        "reading_sheet.pdf": reading_sheet(system),
        "readings.html": readings_page(_name(folder), system, [("north side", "north.csv")]),
    }
    if not force:
        _refuse(folder / "job.toml", unless=template)
    kept = keep_beside(folder, files) if force else []
    say_written([*write_files(folder, files, force), *kept])
    say()
    say("Next: measure, with reading_sheet.pdf on paper or readings.html on a phone. Write the readings into")
    say("north.csv and your wishes into job.toml, then")
    say(f"  {command_line('plan', folder)}")


def _of_survey(
    folder: Path, survey: Path, system: "UnitSystem | None", force: bool, at_terminal: bool
) -> None:
    """A job of a survey that was taken already."""
    from fencegrade.cli.job_session import Session
    from fencegrade.job.read import system_of_survey
    from fencegrade.job.survey_csv import read_survey
    from fencegrade.problems import raise_mistakes

    if not force:
        _refuse(folder / "job.toml")
    _, problems = read_survey(survey)
    raise_mistakes(problems)
    session = Session.fresh(folder, system or system_of_survey(survey), force, survey)
    session.save()
    if at_terminal:
        _ask_on(session)
    _close(session)


def _asked(folder: Path, system: "UnitSystem | None", force: bool) -> None:
    from fencegrade.cli.interview import ask_units
    from fencegrade.cli.job_session import Session

    session = None
    try:
        if (folder / "job.toml").is_file() and not force:
            session = Session.of(folder)
            session.bring_page()
            say_all(session.here())
            _go_on(session)
        else:
            session = Session.fresh(folder, system or ask_units(), force)
            _ask_on(session)
            _take(session)
    except (EOFError, KeyboardInterrupt):
        say()
        if session is not None and session.written:
            say(_STOPPED)
            raise typer.Exit(0) from None
        complain("stopped before the first answer; nothing was written")
        raise typer.Exit(130) from None
    _close(session)


def _ask_on(session: "Session") -> None:
    """The questions still open; stopping among them loses no answer."""
    from fencegrade.cli.interview import ask_questions

    try:
        session.draft = ask_questions(session.draft, session.open_questions(), session.answered)
    except (EOFError, KeyboardInterrupt):
        say()
        if not session.saved:
            raise
        say(_STOPPED)
        raise typer.Exit(0) from None
    session.save()


def _take(session: "Session") -> None:
    """The readings of every run, one after another; runs that are not read to their end come first."""
    for index in sorted(range(len(session.runs())), key=session.is_read):
        try:
            session.take(index)
        except (EOFError, KeyboardInterrupt):
            say()
            say(f"Stopped; readings saved: {session.count(index)}.")
            return


def _go_on(session: "Session") -> None:
    """What the builder wants of a job that is there: questions, readings, a change, until done."""
    from fencegrade.cli.interview import BackError, SkipError, ask

    usual = "questions" if session.open_questions() else "readings"
    while True:
        try:
            answer = ask("Go on with: questions, readings, change or done", usual, _HELP).lower()
        except (BackError, SkipError):
            answer = "done"
        if answer and "done".startswith(answer):
            return
        if "questions".startswith(answer):
            _ask_on(session)
        elif "readings".startswith(answer):
            say_all(session.advice())
            _take(session)
        elif "change".startswith(answer):
            _change(session)
        else:
            say("  write questions, readings, change or done")
            continue
        if not sys.stdin.isatty():
            return
        usual = "readings" if answer and "questions".startswith(answer) else "done"


_STOPPED = "Stopped; every whole answer is saved, of a list every line. Go on with the same command."
_HELP = "questions: those still open; readings: more of them; change: an answer given before; done: nothing."


def _change(session: "Session") -> None:
    """Ask one question again."""
    from fencegrade.cli.interview import BackError, SkipError, ask, ask_question
    from fencegrade.job.interview import questions

    every = questions(session.draft.system, _name(session.folder))
    say_all(f"  {k}  {q.words}: {session.standing(q)}" for k, q in enumerate(every, start=1))
    try:
        number = ask("Which, by its number", more="Nothing changes none.")
        if not number:
            return
        if not (number.isdecimal() and 1 <= int(number) <= len(every)):
            say(f"  write 1 to {len(every)}")
            return
        session.answered(ask_question(session.draft, every[int(number) - 1]))
    except (BackError, SkipError):
        return
    except (EOFError, KeyboardInterrupt):
        say()
        say("Stopped; what stood before stands. Go on with the same command.")
        raise typer.Exit(0) from None


def _close(session: "Session") -> None:
    say()
    if session.written:
        say_written(session.written)
        say()
    say("Next: more readings, if any, by the same command or in the survey; then")
    say(f"  {command_line('check', session.folder)}")
    say(f"  {command_line('plan', session.folder)}")


def _name(folder: Path) -> str:
    """What a job is called unless it is given another name."""
    return folder.resolve().name or "My fence"


def _refuse(path: Path, unless: bytes | None = None) -> None:
    """Refuse to write over a job that stands there. Errors: JobMistakesError."""
    from fencegrade.problems import refuse

    if path.is_file() and (unless is None or path.read_bytes() != unless):
        remedy = "go on with it by `fencegrade new` at a terminal, choose another folder, or begin afresh "
        remedy += "with --force, which keeps the old files beside"
        refuse(str(path), "a job stands here already", remedy)
