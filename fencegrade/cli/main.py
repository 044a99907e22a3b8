"""The `fencegrade` command: every subcommand, and how a builder's mistakes leave the program."""

import atexit
import gc
import os
import sys
from typing import Annotated, Any

import typer

from fencegrade import __version__
from fencegrade.cli import boards, check, compare, heights, new, plan, plumb, resume
from fencegrade.cli.options import WRITE_OVER
from fencegrade.cli.say import complain, harmless
from fencegrade.cli.streams import answers_alone, open_streams
from fencegrade.problems import JobMistakesError

_UsageError: Any = typer.BadParameter.__base__

app = typer.Typer(
    help="Cut charts, stock and sheets for a wood picket fence on ground that is not flat.",
    invoke_without_command=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
app.command("new", short_help="Start a job: questions, or files to fill in.")(new.new)
app.command("check", short_help="Doubt the readings; how sure is the ground?")(check.check)
app.command("plan", short_help="Plan the fence: the main job.")(plan.plan)
app.command("compare", short_help="The tops side by side.")(compare.compare)
app.command("heights", short_help="What a lower or higher line would change.")(heights.heights)
app.command("boards", short_help="Cut any list of pieces from boards.")(boards.boards)
app.command("resume", short_help="Lay the rest again after some pickets are up.")(resume.resume)
app.command("plumb", short_help="Spread a lean over the next boards.")(plumb.plumb)


def _version(asked: bool) -> None:
    if asked:
        typer.echo(f"fencegrade {__version__}")
        raise typer.Exit


@app.callback()
def _root(
    context: typer.Context,
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version.")
    ] = False,
) -> None:
    """Cut charts, stock and sheets for a wood picket fence on ground that is not flat."""
    if context.invoked_subcommand is not None:
        return
    if sys.stdin.isatty() and sys.stdout.isatty():
        from fencegrade.cli.welcome import welcome

        welcome()
        return
    typer.echo(context.get_help())
    raise typer.Exit(2)


def _look_for_garbage_seldom() -> None:
    """Look for unused objects every 200,000 new ones, not 700, and not at all on the way out.

    Nearly all that a command makes is classes and functions that stay to the end; to look through them again
    and again took a sixth of its time.
    """
    gc.set_threshold(200_000)
    atexit.register(gc.freeze)


def main() -> None:
    """Run the command; exit 0 when done, 1 when the job has mistakes, 2 for wrong usage."""
    _look_for_garbage_seldom()
    # the command uses no pydantic plugins, and to look for some reads the list of everything installed
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    open_streams()
    try:
        with answers_alone():
            status = app(standalone_mode=False)
        sys.stdout.flush()
        sys.exit(status or 0)
    except _UsageError as error:
        error.message = harmless(error.message.replace("Value error, ", ""))
        error.show()
        sys.exit(2)
    except JobMistakesError as error:
        for problem in error.problems:
            complain(str(problem).replace(WRITE_OVER, f"{WRITE_OVER} with --force"))
        sys.exit(1)
    except BrokenPipeError:
        sys.stderr.close()
        sys.exit(1)
    except OSError as error:
        complain(f"the answer could not be written: {error.strerror or error}; make room, or write elsewhere")
        sys.exit(1)
    except (KeyboardInterrupt, typer.Abort):
        sys.exit(130)
    except MemoryError:
        complain("the job needs more memory than there is; divide it into shorter runs")
        sys.exit(1)
