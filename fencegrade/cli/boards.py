"""`fencegrade boards`: a cutting plan for any list of pieces."""

from pathlib import Path
from typing import Annotated

import typer

from fencegrade.cli.options import AsJson, Force, OutFolder
from fencegrade.cli.progress import steps
from fencegrade.cli.say import answer


def boards(
    cut_list: Annotated[
        Path, typer.Argument(metavar="LIST", help="Cut list, JSON or CSV.", show_default=False)
    ],
    out: OutFolder = None,
    json: AsJson = False,
    seconds: Annotated[
        float,
        typer.Option(
            "--seconds", metavar="N", min=0.0, max=3600.0, help="Work of the exact search, in seconds."
        ),
    ] = 5.0,
    force: Force = False,
) -> None:
    """Plan how to cut a list of pieces from stock boards at least cost, and say how good the plan is.

    Example: fencegrade boards sample_runs/planter_boards.json
    """
    from fencegrade.job.cut_list import read_cut_list
    from fencegrade.planning.boards import plan_cut_list
    from fencegrade.sheets.screen.boards_text import boards_json, boards_lines

    written = []
    with steps(1 if out is None else 2) as step:
        step("searching for the best plan")
        plan = plan_cut_list(read_cut_list(cut_list), seconds)
        if out is not None:
            from fencegrade.sheets.folder import write_boards

            step("drawing the boards")
            written = write_boards(plan, out, force)
    answer(json, lambda: boards_json(plan), boards_lines(plan), written)
