"""`fencegrade plumb`: a fence that leans, and the next boards that take it up."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from fencegrade.cli.options import AsJson, TopChoice, option, options_named
from fencegrade.cli.say import answer

if TYPE_CHECKING:
    from fencegrade.building.lean import LeanSpread, LeanTold

LeanBy = Annotated[str | None, option("--lean", "How far the last board's top is out of plumb.", "X")]
Over = Annotated[str | None, option("--over", "Height the lean was measured over.", "H")]
Side = Annotated[
    Literal["start", "end"] | None,
    option("--toward", "End of the run the top leans toward; else start."),
]
Height = Annotated[str | None, option("--height", "Board's kept length; else as --over.", "LENGTH")]
Boards = Annotated[int | None, option("--boards", "Boards to spread it over; else enough.", "N")]
Limit = Annotated[str | None, option("--limit", "Most one gap may taper; else 1/8 in or 3 mm.", "LENGTH")]
Spacing = Annotated[str | None, option("--spacing", "Gap between boards; else the usual one.", "LENGTH")]
Width = Annotated[str | None, option("--width", "A board's width; else the usual one.", "LENGTH")]
OfJob = Annotated[Path | None, option("--job", "Take boards and gaps from a job.", "JOB")]
RunName = Annotated[str | None, option("--run", "With --job: the run that leans.", "NAME")]
After = Annotated[int | None, option("--after", "With --job: the one that leans; else the last up.", "N")]


def plumb(
    lean: LeanBy = None,
    over: Over = None,
    toward: Side = None,
    height: Height = None,
    boards: Boards = None,
    limit: Limit = None,
    spacing: Spacing = None,
    width: Width = None,
    job: OfJob = None,
    run: RunName = None,
    after: After = None,
    top: TopChoice = None,
    json: AsJson = False,
    metric: Annotated[bool, typer.Option("--metric", help="Answer in millimetres.")] = False,
) -> None:
    """Spread a lean over the next boards: every gap a little wider at the top or at the bottom.

    The answer is in the units --lean is written in, or with --job in the job's. With --job a lean written in
    built.toml need not be given.

    Example: fencegrade plumb --lean "3/8 in" --over "4 ft" --height "6 ft" --toward start
    """
    from fencegrade.building.lean import LeanTold, Toward
    from fencegrade.sheets.screen.lean_text import lean_lines, lean_record

    sizes = {"lean": lean, "over": over, "height": height, "limit": limit, "spacing": spacing, "width": width}
    told = LeanTold(sizes=sizes, toward=Toward(toward) if toward else None, boards=boards)
    if job is None:
        spread = _alone(told, {"run": run, "after": after}, metric)
        answer(json, lambda: lean_record(spread), lean_lines(spread))
        return
    from fencegrade.building.plumb import job_lean
    from fencegrade.job.read import read_job
    from fencegrade.planning.plan import plan_fence

    plan = plan_fence(read_job(job), top)
    with options_named(_OPTIONS):
        found = job_lean(plan, run, after, told)
    answer(json, lambda: lean_record(found.spread, found), lean_lines(found.spread, found))


def _alone(told: "LeanTold", of_job: dict[str, object], metric: bool) -> "LeanSpread":
    """A lean spread without a job; `of_job`: what is known from one alone."""
    from fencegrade.building.lean import read_lean_question, spread_over_next, told_problems
    from fencegrade.problems import mistake, raise_mistakes
    from fencegrade.units import UnitSystem, system_of

    lean = told.sizes["lean"]
    missing = [name for name, text in (("--lean", lean), ("--over", told.sizes["over"])) if text is None]
    if missing:
        names = f"{' and '.join(missing)} {'are' if len(missing) > 1 else 'is'} missing"
        wanted = "say how much over which height, or add a --job in which the lean is written down"
        raise typer.BadParameter(f"{names}; {wanted}")
    wrong = [
        mistake(place, "is known from a job alone", "add --job JOB")
        for place, value in of_job.items()
        if value is not None
    ]
    with options_named(_OPTIONS):
        system = UnitSystem.METRIC if metric else system_of(str(lean))
        raise_mistakes([*wrong, *told_problems(told, system)])
        return spread_over_next(read_lean_question(told, system))


_OPTIONS = {
    name: f"--{name}"
    for name in ("lean", "over", "height", "limit", "spacing", "width", "toward", "boards", "run", "after")
}
"""What the parts of a lean are called at the command line."""
