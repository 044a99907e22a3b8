"""`fencegrade resume`: what is left of a fence, laid again from where the last board really ends."""

import json as json_text
from pathlib import Path
from typing import Annotated

import typer

from fencegrade.cli.options import AsJson, Force, JobPath, OutFolder, TopChoice
from fencegrade.cli.say import say, say_all

Limit = Annotated[
    str | None,
    typer.Option(
        "--limit",
        metavar="LENGTH",
        help="Most a gap may differ from the one before; else 1/8 in or 3 mm.",
        show_default=False,
    ),
]
Gap = Annotated[
    str | None,
    typer.Option(
        "--gap",
        metavar="LENGTH",
        help="Gap the last boards were set to; else the plan's.",
        show_default=False,
    ),
]
Left = Annotated[
    list[str] | None,
    typer.Option(
        "--left",
        metavar="LENGTH:COUNT",
        help='Boards left for this run, such as "72 in:14"; may be repeated.',
        show_default=False,
    ),
]
At = Annotated[
    str | None,
    typer.Option("--at", metavar="STATION", help="Station of the last one's far edge.", show_default=False),
]


def resume(
    job: JobPath,
    after: Annotated[
        int | None,
        typer.Option("--after", metavar="N", help="Pickets of the run that are up.", show_default=False),
    ] = None,
    at: At = None,
    run: Annotated[
        str | None,
        typer.Option(
            "--run", metavar="NAME", help="The run; needed where there are several.", show_default=False
        ),
    ] = None,
    limit: Limit = None,
    gap: Gap = None,
    left: Left = None,
    built: Annotated[
        Path | None,
        typer.Option("--built", metavar="FILE", help="As-built file of the run, TOML.", show_default=False),
    ] = None,
    top: TopChoice = None,
    out: OutFolder = None,
    json: AsJson = False,
    force: Force = False,
) -> None:
    """Lay what is left again after N pickets are up: new count, gaps and cuts, and what to buy.

    Example: fencegrade resume my-fence --after 43 --at "19 ft 3-1/2 in" --left "6 ft:30"
    """
    from fencegrade.building.record import built_record
    from fencegrade.building.resume import resume_fence
    from fencegrade.building.resume_ask import read_ask
    from fencegrade.job.as_built import read_as_built
    from fencegrade.job.read import read_job
    from fencegrade.planning.plan import plan_fence
    from fencegrade.sheets.resume_files import resumed_json, resumed_lines, write_resume

    as_built = read_as_built(built) if built is not None else None
    plan = plan_fence(read_job(job), top)
    ask = read_ask(plan, run=run, after=after, at=at, limit=limit, gap=gap, left=left or (), built=as_built)
    resumed = resume_fence(plan, ask)
    record = built_record(plan, ask) if as_built is not None else None
    written = write_resume(resumed, record, out, force) if out is not None else []
    if json:
        say(json_text.dumps(resumed_json(resumed, record)))
        return
    say_all(resumed_lines(resumed, record))
    if written:
        say()
        say("Written")
        say_all(f"  {path}" for path in written)
