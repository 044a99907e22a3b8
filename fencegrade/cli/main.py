"""The `fencegrade` command: every subcommand, and how a builder's mistakes leave the program."""

import sys
from io import TextIOWrapper
from typing import Annotated

import typer

from fencegrade import __version__
from fencegrade.cli import boards, check, compare, heights, new, plan, plumb
from fencegrade.cli.say import complain
from fencegrade.problems import JobMistakesError

app = typer.Typer(
    help="Cut charts, stock and sheets for a wood picket fence on ground that is not flat.",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
)
app.command("new")(new.new)
app.command("check")(check.check)
app.command("plan")(plan.plan)
app.command("compare")(compare.compare)
app.command("heights")(heights.heights)
app.command("boards")(boards.boards)
app.command("plumb")(plumb.plumb)


def _version(asked: bool) -> None:
    if asked:
        typer.echo(f"fencegrade {__version__}")
        raise typer.Exit


@app.callback()
def _root(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version.")
    ] = False,
) -> None:
    """Cut charts, stock and sheets for a wood picket fence on ground that is not flat."""


def main() -> None:
    """Run the command; exit 0 when done, 1 when the job has mistakes, 2 for wrong usage."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="replace")
    try:
        app()
        sys.stdout.flush()
    except JobMistakesError as error:
        for problem in error.problems:
            complain(str(problem))
        sys.exit(1)
    except BrokenPipeError:
        sys.stderr.close()
        sys.exit(1)
    except OSError as error:
        complain(f"the answer could not be written: {error.strerror or error}; make room, or write elsewhere")
        sys.exit(1)
    except KeyboardInterrupt:
        complain("stopped; nothing was written")
        sys.exit(130)
    except MemoryError:
        complain("the job needs more memory than there is; divide it into shorter runs")
        sys.exit(1)
