"""Arguments and options that several commands share, each defined once."""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated, Any

import typer
from msgspec.structs import replace

from fencegrade.fence.tops.table import TopStyle


def option(name: str, words: str, metavar: str | None = None) -> Any:
    """An option for a value; `words`: its help, which says what is taken without it."""
    return typer.Option(name, metavar=metavar, help=words, show_default=False)


JobPath = Annotated[
    Path,
    typer.Argument(metavar="JOB", help="Job folder, its job.toml, or a bare survey CSV.", show_default=False),
]
TopChoice = Annotated[TopStyle | None, option("--top", "Top style of every run instead of the job's.")]
OutFolder = Annotated[Path | None, option("--out", "Folder for the sheets and drawings.", "DIR")]
AsJson = Annotated[bool, typer.Option("--json", help="Print the answer as JSON and nothing else.")]
LayoutStrips = Annotated[
    bool,
    typer.Option("--layout-strips", help="With --out: also the pickets' layout at full size, as strips."),
]
Force = Annotated[bool, typer.Option("--force", help="Replace files in DIR that fencegrade did not write.")]


WRITE_OVER = "or write over it"
"""How a remedy that the option --force gives is told below the command line."""


@contextmanager
def options_named(names: Mapping[str, str]) -> Iterator[None]:
    """Mistakes in what was asked leave with the name of the option it was asked by; `names`: by its place."""
    from fencegrade.problems import JobMistakesError

    try:
        yield
    except JobMistakesError as error:
        named = [replace(p, place=names.get(p.place, p.place)) for p in error.problems]
        raise JobMistakesError(named) from None


Details = Annotated[
    bool,
    typer.Option(
        "--details", help="All there is to tell: what is assumed, other choices, every caution, every table."
    ),
]
