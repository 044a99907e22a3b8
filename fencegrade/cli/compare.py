"""`fencegrade compare`: the tops side by side."""

import json as json_text

from fencegrade.cli.options import AsJson, Force, JobPath, OutFolder
from fencegrade.cli.progress import steps
from fencegrade.cli.say import say, say_all


def compare(job: JobPath, out: OutFolder = None, json: AsJson = False, force: Force = False) -> None:
    """Compare every top, each the best of its kind, and a mix by run: boards, cuts, cost, heights, posts.

    Example: fencegrade compare my-fence --out my-fence/tops
    """
    from fencegrade.planning.compare import compare_on
    from fencegrade.planning.layout import read_and_survey
    from fencegrade.sheets.screen.compare_text import comparison_json, comparison_lines

    written = []
    with steps(2 if out is None else 3) as step:
        step("reading the job")
        read, grounds, _ = read_and_survey(job)
        step("planning the tops")
        found = compare_on(read, grounds)
        if out is not None:
            from fencegrade.sheets.folder import write_comparison

            step("drawing them")
            written = write_comparison(found, out, force)
    if json:
        say(json_text.dumps(comparison_json(found)))
        return
    say_all(comparison_lines(found))
    if written:
        say()
        say("Written")
        say_all(f"  {path}" for path in written)
