"""`fencegrade plumb`: a fence that leans, and the next boards that take it up."""

import json as json_text
from pathlib import Path
from typing import Annotated, Literal

import typer

from fencegrade.cli.options import AsJson, TopChoice, options_named
from fencegrade.cli.say import say, say_all
from fencegrade.fence.tops.table import TopStyle

Limit = Annotated[
    str | None,
    typer.Option(
        "--limit",
        metavar="LENGTH",
        help="Most one gap may taper; else 1/8 in or 3 mm.",
        show_default=False,
    ),
]
Height = Annotated[
    str | None,
    typer.Option(
        "--height", metavar="LENGTH", help="Board's kept length; else as --over.", show_default=False
    ),
]
Boards = Annotated[
    int | None,
    typer.Option("--boards", metavar="N", help="Boards to spread it over; else enough.", show_default=False),
]
Spacing = Annotated[
    str | None,
    typer.Option(
        "--spacing", metavar="LENGTH", help="Gap between boards; else the usual one.", show_default=False
    ),
]
Width = Annotated[
    str | None,
    typer.Option(
        "--width", metavar="LENGTH", help="A board's width; else the usual one.", show_default=False
    ),
]
LeanBy = Annotated[
    str | None,
    typer.Option(
        "--lean", metavar="X", help="How far the last board's top is out of plumb.", show_default=False
    ),
]


def plumb(
    lean: LeanBy = None,
    over: Annotated[
        str | None,
        typer.Option("--over", metavar="H", help="Height the lean was measured over.", show_default=False),
    ] = None,
    toward: Annotated[
        Literal["start", "end"] | None,
        typer.Option("--toward", help="End of the run the top leans toward; else start.", show_default=False),
    ] = None,
    height: Height = None,
    boards: Boards = None,
    limit: Limit = None,
    spacing: Spacing = None,
    width: Width = None,
    job: Annotated[
        Path | None,
        typer.Option("--job", metavar="JOB", help="Take boards and gaps from a job.", show_default=False),
    ] = None,
    run: Annotated[
        str | None,
        typer.Option("--run", metavar="NAME", help="With --job: the run that leans.", show_default=False),
    ] = None,
    after: Annotated[
        int | None,
        typer.Option(
            "--after",
            metavar="N",
            help="With --job: the one that leans; else the last up.",
            show_default=False,
        ),
    ] = None,
    top: TopChoice = None,
    json: AsJson = False,
    metric: Annotated[bool, typer.Option("--metric", help="Answer in millimetres.")] = False,
) -> None:
    """Spread a lean over the next boards: every gap a little wider at the top or at the bottom.

    The answer is in the units --lean is written in, or with --job in the job's. With --job a lean written in
    built.toml need not be given.

    Example: fencegrade plumb --lean "3/8 in" --over "4 ft" --height "6 ft" --toward start
    """
    from fencegrade.building.lean import Toward, read_lean_question, spread_over_next
    from fencegrade.problems import JobMistakesError, mistake
    from fencegrade.sheets.screen.lean_text import lean_lines, lean_record
    from fencegrade.units import UnitSystem, system_of

    sizes = {"lean": lean, "over": over, "height": height, "limit": limit, "spacing": spacing, "width": width}
    if job is not None:
        _from_job(job, run, after, top, sizes, toward, boards, json)
        return
    if run is not None or after is not None:
        found = "a run and its pickets are known from a job alone"
        raise JobMistakesError([mistake("--run" if run else "--after", found, "add --job JOB")])
    if lean is None or over is None:
        missing = "--over" if lean is not None else "--lean"
        raise typer.BadParameter(
            f"{missing} is missing; add it, or a --job in which the lean is written down"
        )
    system = UnitSystem.METRIC if metric else system_of(lean)
    with options_named(_OPTIONS):
        question = read_lean_question(sizes, Toward(toward) if toward else None, boards, system)
        spread = spread_over_next(question)
    if json:
        say(json_text.dumps(lean_record(spread, question)))
    else:
        say_all(lean_lines(spread, question))


def _from_job(
    job: Path,
    run: str | None,
    after: int | None,
    top: TopStyle | None,
    sizes: dict[str, str | None],
    toward: str | None,
    boards: int | None,
    json: bool,
) -> None:
    """The lean of a picket of a job, and the numbered boards that take it up."""
    from fencegrade.building.lean import Toward
    from fencegrade.building.plumb import job_lean
    from fencegrade.job.read import read_job
    from fencegrade.planning.plan import plan_fence
    from fencegrade.sheets.screen.lean_text import lean_lines, lean_record

    plan = plan_fence(read_job(job), top)
    with options_named(_OPTIONS):
        found = job_lean(plan, run, after, sizes, Toward(toward) if toward else None, boards)
    if json:
        record = lean_record(found.spread, found.question, found.numbers)
        say(json_text.dumps(record | {"run": found.run, "after": found.after}))
    else:
        say(f"{found.run}, picket {found.after}")
        say_all(lean_lines(found.spread, found.question, found.numbers))


_OPTIONS = {
    name: f"--{name}"
    for name in ("lean", "over", "height", "limit", "spacing", "width", "toward", "boards", "run", "after")
}
"""What the parts of a lean are called at the command line."""
