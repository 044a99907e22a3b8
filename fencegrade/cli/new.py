"""`fencegrade new`: a job asked for at the terminal, or a commented one to fill in."""

import sys
from collections.abc import Collection
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from fencegrade.cli.options import Force
from fencegrade.cli.say import complain, say, say_all

if TYPE_CHECKING:
    from fencegrade.units import UnitSystem


def new(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="Folder to make.", show_default=False)],
    metric: Annotated[bool, typer.Option("--metric", help="Millimetres and metres.")] = False,
    blank: Annotated[bool, typer.Option("--blank", help="Ask nothing: files to fill in by hand.")] = False,
    force: Force = False,
) -> None:
    """Start a job: questions and readings at a terminal; in a pipe or with --blank, files to fill in.

    Example: fencegrade new my-shed-side --blank
    """
    from fencegrade.units import UnitSystem

    system = UnitSystem.METRIC if metric else UnitSystem.IMPERIAL
    if not blank and sys.stdin.isatty() and sys.stdout.isatty():
        _asked(folder, system if metric else None, force)
    else:
        _blank(folder, system, force)


def _blank(folder: Path, system: "UnitSystem", force: bool) -> None:
    from fencegrade.job.template import blank_survey, job_template
    from fencegrade.sheets.files import write_files
    from fencegrade.sheets.page.readings import readings_page
    from fencegrade.sheets.paper.reading_sheet import reading_sheet

    template = job_template(system).encode()
    if not force:
        _keep(folder / "job.toml", unless=template)
    files = {
        "job.toml": template,
        "north.csv": blank_survey(system).encode(),
        "reading_sheet.pdf": reading_sheet(system),
        "readings.html": readings_page(_name(folder), system, "north.csv"),
    }
    _written(write_files(folder, files, force))
    say()
    say("Next: measure, with reading_sheet.pdf on paper or readings.html on a phone. Write the readings into")
    say("north.csv and your wishes into job.toml, then")
    say(f"  fencegrade plan {folder}")


def _asked(folder: Path, system: "UnitSystem | None", force: bool) -> None:
    from fencegrade.cli.interview import ask_units, hold_interview
    from fencegrade.job.interview import SURVEY, readings_text
    from fencegrade.job.template import blank_survey
    from fencegrade.sheets.files import write_files
    from fencegrade.sheets.page.readings import readings_page
    from fencegrade.sheets.paper.reading_sheet import reading_sheet

    if not force:
        _keep(folder / "job.toml")
        _keep(folder / SURVEY)
    try:
        chosen = system or ask_units()
        sheet, page = reading_sheet(chosen), readings_page(_name(folder), chosen, SURVEY)

        def save(job: str, readings: list[tuple[float, float]], breaks: Collection[float]) -> list[Path]:
            survey = readings_text(readings, chosen, breaks) if readings else blank_survey(chosen)
            files = {"job.toml": job.encode(), SURVEY: survey.encode()}
            files |= {"reading_sheet.pdf": sheet, "readings.html": page}
            return write_files(folder, files, force)

        written = hold_interview(_name(folder), chosen, save)
    except (EOFError, KeyboardInterrupt):
        say()
        complain("stopped before the last question; nothing was written")
        raise typer.Exit(130) from None
    say()
    _written(written)
    say()
    say(f"Next: more readings, if any, go into {SURVEY}; then")
    say(f"  fencegrade check {folder}")
    say(f"  fencegrade plan {folder}")


def _name(folder: Path) -> str:
    """What a job is called unless it is given another name."""
    return folder.resolve().name or "My fence"


def _keep(path: Path, unless: bytes | None = None) -> None:
    """Refuse to write over a job that stands there. Errors: JobMistakesError."""
    from fencegrade.problems import mistake, raise_mistakes

    if path.is_file() and (unless is None or path.read_bytes() != unless):
        remedy = "choose another folder, or write over it with --force"
        raise_mistakes([mistake(str(path), "a job stands here already", remedy)])


def _written(paths: list[Path]) -> None:
    say("Written")
    say_all(f"  {path}" for path in paths)
