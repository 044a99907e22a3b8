"""`fencegrade plan`: the main job."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from fencegrade.cli.options import (
    AsJson,
    Details,
    Force,
    JobPath,
    LayoutStrips,
    OutFolder,
    TopChoice,
    option,
    options_named,
)
from fencegrade.cli.progress import steps
from fencegrade.cli.say import say, say_all

if TYPE_CHECKING:
    from fencegrade.planning.plan import FencePlan

LeastHeight = Annotated[str | None, option("--least-height", "Of a bare survey.", "LENGTH")]
Boards = Annotated[
    list[str] | None,
    option(
        "--boards",
        'Of a bare survey: boards you can buy, such as "6 ft:4.10"; may be repeated.',
        "LENGTH[:PRICE]",
    ),
]
Spacing = Annotated[str | None, option("--spacing", "Of a bare survey: between pickets.", "LENGTH")]


def plan(
    job: JobPath,
    top: TopChoice = None,
    least_height: LeastHeight = None,
    boards: Boards = None,
    spacing: Spacing = None,
    out: OutFolder = None,
    json: AsJson = False,
    details: Details = False,
    layout_strips: LayoutStrips = False,
    force: Force = False,
) -> None:
    """Plan the fence: every picket's cut, what to buy, and with --out every sheet and drawing.

    A bare survey needs no job: what matters most may be said beside it, the rest is assumed and told.

    Example: fencegrade plan my-fence --out my-fence/sheets
    """
    from fencegrade.planning.layout import read_and_survey
    from fencegrade.planning.plan import plan_on
    from fencegrade.planning.tops import styles_asked, with_tops

    with steps(2 if out is None else 3) as step:
        step("reading the job")
        with options_named(_options(job)):
            said = _said(least_height, boards or [], spacing)
            read, grounds, problems = read_and_survey(job, said)
        step("planning")
        if top is not None:
            read = with_tops(read, styles_asked(read, top))
        fence = plan_on(read, grounds, styles_asked(read), problems)
        if out is not None:
            from fencegrade.sheets.folder import undrawn_words, write_plan_sheets

            step("drawing the sheets")
            written = write_plan_sheets(fence, out, force, layout_strips)
            undrawn = undrawn_words(fence)
    if json:
        from fencegrade.sheets.plan_json import write_plan_json

        write_plan_json(fence, sys.stdout)
        return
    told = "" if out is None else f"Written: {out}, {len(written)} files; begin with field_sheets.pdf"
    _tell(fence, details, told)
    if out is not None and undrawn:
        say(undrawn)


def _tell(fence: "FencePlan", details: bool, written: str) -> None:
    """The plan on the screen, the answer last; `written`: what was written, empty for nothing."""
    from fencegrade.sheets.screen.details import detail_lines
    from fencegrade.sheets.screen.summary import summary_lines

    if details:
        say_all(detail_lines(fence))
        say()
    say_all(summary_lines(fence, more="all above" if details else "all with --details", written=written))


def _said(least_height: str | None, boards: list[str], spacing: str | None) -> dict[tuple[str, str], Any]:
    """What is told beside a bare survey, as a job file would have it."""
    from fencegrade.job.prices import CURRENCY, price_typed
    from fencegrade.problems import refuse
    from fencegrade.units import UnitError

    said: dict[tuple[str, str], Any] = {}
    if least_height is not None:
        said["top", "least_height"] = least_height
    if spacing is not None:
        said["pickets", "spacing"] = spacing
    stock: list[dict[str, Any]] = []
    for text in boards:
        length, _, typed = text.partition(":")
        stock.append({"length": length})
        try:
            price = price_typed(typed, said.get(CURRENCY, "")) if typed else None
        except UnitError as error:
            refuse("--boards", str(error), "")
        if price:
            stock[-1]["price"] = price.amount
            said |= {CURRENCY: price.sign} if price.sign else {}
    return said | ({("pickets", "stock"): stock} if stock else {})


def _options(job: Path) -> dict[str, str]:
    """The options by the places their mistakes have."""
    keys = {"[top] least_height": "--least-height", "[pickets] spacing": "--spacing"}
    named = keys | {"[pickets] stock": "--boards", "[job] currency": "--boards"}
    for k in range(50):
        named |= {f"[pickets] stock {k + 1}{key}": "--boards" for key in ("", ", length", ", price")}
    return named | {f"{job.name} {place}": option for place, option in named.items()}
