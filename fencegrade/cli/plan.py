"""`fencegrade plan`: the main job."""

import sys

from fencegrade.cli.options import AsJson, Force, JobPath, LayoutStrips, OutFolder, TopChoice
from fencegrade.cli.progress import steps
from fencegrade.cli.say import say, say_all


def plan(
    job: JobPath,
    top: TopChoice = None,
    out: OutFolder = None,
    json: AsJson = False,
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
    from fencegrade.sheets.screen.summary import summary_lines

    say_all(summary_lines(fence))
    if out is not None:
        say()
        say("Written")
        say_all(f"  {path}" for path in written)
        if undrawn:
            say(undrawn)
