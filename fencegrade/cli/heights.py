"""`fencegrade heights`: what each lower or higher string would change."""

import json as json_text

from fencegrade.cli.options import AsJson, Details, Force, JobPath, OutFolder
from fencegrade.cli.say import say, say_all


def heights(
    job: JobPath,
    out: OutFolder = None,
    json: AsJson = False,
    details: Details = False,
    force: Force = False,
) -> None:
    """Show every height of the line at which a board changes stock, with --details for every top.

    Example: fencegrade heights my-fence
    """
    from fencegrade.planning.heights import heights_on
    from fencegrade.planning.layout import read_and_survey
    from fencegrade.sheets.screen.heights_text import heights_json, heights_lines

    read, grounds, _ = read_and_survey(job)
    found = heights_on(read, grounds)
    written = []
    if out is not None:
        from fencegrade.sheets.folder import write_heights

        written = write_heights(found, out, force)
    if json:
        say(json_text.dumps(heights_json(found)))
        return
    say_all(heights_lines(found, more="" if details else "its table with --details"))
    if written:
        say()
        say("Written")
        say_all(f"  {path}" for path in written)
