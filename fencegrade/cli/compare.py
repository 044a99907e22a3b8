"""`fencegrade compare`: the tops side by side."""

from fencegrade.cli.options import AsJson, Force, JobPath, OutFolder
from fencegrade.cli.progress import steps
from fencegrade.cli.say import answer


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
    answer(json, lambda: comparison_json(found), comparison_lines(found), written)
