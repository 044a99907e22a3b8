"""`fencegrade new`: a commented job to fill in."""

from pathlib import Path
from typing import Annotated

import typer

from fencegrade.cli.options import Force
from fencegrade.cli.say import say, say_all


def new(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="Folder to make.", show_default=False)],
    metric: Annotated[bool, typer.Option("--metric", help="Millimetres and metres.")] = False,
    force: Force = False,
) -> None:
    """Start a job: a commented job file and a blank survey to fill in.

    Example: fencegrade new my-fence
    """
    from fencegrade.job.template import blank_survey, job_template
    from fencegrade.sheets.files import write_files
    from fencegrade.units import UnitSystem

    system = UnitSystem.METRIC if metric else UnitSystem.IMPERIAL
    files = {
        "job.toml": job_template(system).encode(),
        "north.csv": blank_survey(system).encode(),
    }
    written = write_files(folder, files, force)
    say("Written")
    say_all(f"  {path}" for path in written)
    say()
    say("Next: write your readings into north.csv, your wishes into job.toml, then")
    say(f"  fencegrade plan {folder}")
