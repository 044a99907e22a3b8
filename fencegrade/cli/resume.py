"""`fencegrade resume`: what is left of a fence, laid again from where the last board really ends."""

from typing import Annotated

import typer

from fencegrade.cli.options import AsJson, Force, JobPath, OutFolder, TopChoice, option, options_named
from fencegrade.cli.say import answer

Limit = Annotated[
    str | None,
    option("--limit", "Most a gap may differ from the one before; else 1/8 in or 3 mm.", "LENGTH"),
]
Gap = Annotated[str | None, option("--gap", "Gap the last boards were set to; else the plan's.", "LENGTH")]
Left = Annotated[
    list[str] | None,
    option("--left", 'Boards left for the job, such as "6 ft:14"; may be repeated.', "LENGTH:COUNT"),
]
At = Annotated[
    str | None, option("--at", "Station of the last one's far edge, taped level as on the sheets.", "STATION")
]
Width = Annotated[str | None, option("--width", "Width of the boards, as measured.", "LENGTH")]
After = Annotated[int | None, option("--after", "Pickets of the run that are up.", "N")]
RunName = Annotated[str | None, option("--run", "The run; needed where there are several.", "NAME")]


def resume(
    job: JobPath,
    after: After = None,
    at: At = None,
    width: Width = None,
    run: RunName = None,
    limit: Limit = None,
    gap: Gap = None,
    left: Left = None,
    keep: Annotated[bool, typer.Option("--keep", help="Add it to built.toml beside the job.")] = False,
    sure: Annotated[bool, typer.Option("--sure", help="Keep a station that is doubted.")] = False,
    top: TopChoice = None,
    out: OutFolder = None,
    json: AsJson = False,
    force: Force = False,
) -> None:
    """Lay what is left again after N pickets are up: new count, gaps and cuts, and what to buy.

    What stands by built.toml beside the job is known; every command reads it. Pickets count in the order
    they stand along the run, those of two rows together; N is then one of the back row (board on board) or
    of the first face (shadowbox), from which the other row is laid.

    Example: fencegrade resume my-fence --after 43 --at "19 ft 3-1/2 in" --left "6 ft:30"
    """
    from fencegrade.building.resume import record_to_keep, resume_fence
    from fencegrade.building.resume_ask import read_ask
    from fencegrade.job.read import job_folder, read_job
    from fencegrade.problems import refuse
    from fencegrade.sheets.resume_files import write_record, write_resume
    from fencegrade.sheets.screen.resume_text import kept_lines, resume_lines, resume_record

    with options_named(_OPTIONS):
        read = read_job(job)
        texts = {"at": at, "width": width, "gap": gap, "limit": limit}
        ask = read_ask(read, run=run, after=after, texts=texts, left=left or ())
        resumed = resume_fence(read, ask, top)
        built = record_to_keep(resumed) if keep else None
        if keep and resumed.doubts and not sure:
            found = f"nothing is kept: {resumed.doubts[0].found}"
            remedy = "count again; if both are right add --width, or --sure"
            refuse("--keep", found, remedy)
        written = write_resume(resumed, out, force) if out is not None else []
        if built is not None:
            written += write_record(built, read.job.units, job_folder(job))
    lines = [*resume_lines(resumed), *(kept_lines(built) if built is not None else ())]
    answer(json, lambda: resume_record(resumed), lines, written)


_OPTIONS = {
    "run": "--run",
    "after": "--after",
    "at": "--at",
    "at, far_edge": "--at",
    "at, number": "--after",
    "width": "--width",
    "gap": "--gap",
    "limit": "--limit",
    "left": "--left",
    "left, length": "--left",
    "keep": "--keep",
}
"""What the question's parts are called at the command line."""
