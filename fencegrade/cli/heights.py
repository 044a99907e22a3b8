"""`fencegrade heights`: what each lower or higher string would change."""

from fencegrade.cli.options import AsJson, Details, Force, JobPath, OutFolder
from fencegrade.cli.say import answer


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
    more = "" if details else "--details"
    answer(json, lambda: heights_json(found), heights_lines(found, more=more), written)
