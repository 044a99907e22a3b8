"""`fencegrade plan`: the main job."""

import sys

from fencegrade.cli.options import AsJson, Details, Force, JobPath, LayoutStrips, OutFolder, TopChoice
from fencegrade.cli.progress import steps
from fencegrade.cli.say import say, say_all


def plan(
    job: JobPath,
    top: TopChoice = None,
    out: OutFolder = None,
    json: AsJson = False,
    details: Details = False,
    layout_strips: LayoutStrips = False,
    force: Force = False,
) -> None:
    """Plan the fence: every picket's cut, what to buy, and with --out every sheet and drawing.

    Example: fencegrade plan my-fence --out my-fence/sheets
    """
    from fencegrade.planning.layout import read_and_survey
    from fencegrade.planning.plan import plan_on
    from fencegrade.planning.tops import styles_asked

    with steps(2 if out is None else 3) as step:
        step("reading the job")
        read, grounds, problems = read_and_survey(job)
        step("planning")
        fence = plan_on(read, grounds, styles_asked(read, top), problems)
        if out is not None:
            from fencegrade.sheets.folder import undrawn_words, write_plan_sheets

            step("drawing the sheets")
            written = write_plan_sheets(fence, out, force, layout_strips)
            undrawn = undrawn_words(fence)
    if json:
        from fencegrade.sheets.plan_json import write_plan_json

        write_plan_json(fence, sys.stdout)
        return
    from fencegrade.sheets.screen.details import detail_lines
    from fencegrade.sheets.screen.summary import summary_lines

    if details:
        say_all(detail_lines(fence))
        say()
    told = "" if out is None else f"Written: {out}, {len(written)} files; begin with field_sheets.pdf"
    say_all(summary_lines(fence, more="all of it" if details else "all with --details", written=told))
    if out is not None and undrawn:
        say(undrawn)
