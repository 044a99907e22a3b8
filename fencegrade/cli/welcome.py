"""`fencegrade` alone, at a terminal: what it is, what to type first, and what is in this folder."""

from collections.abc import Iterator
from pathlib import Path

from fencegrade.cli.say import command_line, say_all

_MOST = 6


def welcome() -> None:
    """Ten lines for whoever types the name alone."""
    say_all(_lines(Path.cwd()))


def _lines(folder: Path) -> Iterator[str]:
    yield "fencegrade plans a wood picket fence on ground that is not flat: from distances, string to"
    yield "ground, to every board's cut, what to buy, posts, rails, sheets to print and a page for the phone."
    yield "  fencegrade new my-fence       begin: questions and readings; the same again goes on"
    yield "  fencegrade plan yard.csv      a first answer from a survey alone"
    yield "  fencegrade check my-fence     are the readings good enough, and where to measure next"
    yield "  fencegrade plan my-fence --out my-fence/sheets    the plan and every sheet"
    yield '  fencegrade resume my-fence --after 43 --at "19 ft 3-1/2 in"    once boards are up'
    yield f"In this folder: {_here(folder)}"
    yield "All commands: fencegrade --help"


def _here(folder: Path) -> str:
    """The jobs and surveys of a folder, with what to type for the first of them."""
    if (folder / "job.toml").is_file():
        begun = ", part of which stands (built.toml)" if (folder / "built.toml").is_file() else ""
        return f"a job{begun}; type {command_line('plan', '.')}"
    jobs = sorted(p.parent.name for p in folder.glob("*/job.toml"))
    surveys = sorted(p.name for p in folder.glob("*.csv"))
    told = []
    if jobs:
        told.append(f"{_few(jobs)}; type {command_line('plan', jobs[0])}")
    if surveys:
        told.append(f"{_few(surveys)}; type {command_line('plan', surveys[0])}")
    return "; ".join(told) or f"no job yet; type {command_line('new', 'my-fence')}"


def _few(names: list[str]) -> str:
    return ", ".join(names[:_MOST]) + (f" and {len(names) - _MOST} more" if len(names) > _MOST else "")
