"""`fencegrade check`: what is wrong or doubtful in the job and its readings, and how sure the ground is."""

from itertools import chain

from fencegrade.cli.options import AsJson, Force, JobPath, OutFolder
from fencegrade.cli.progress import steps
from fencegrade.cli.say import answer


def check(job: JobPath, out: OutFolder = None, json: AsJson = False, force: Force = False) -> None:
    """Check the job and its readings: faults, closure, sag, doubts; how sure the ground is; where to measure.

    Example: fencegrade check my-fence
    """
    from fencegrade.planning.check import ground_reports, reports_without_plan
    from fencegrade.planning.layout import read_and_survey
    from fencegrade.planning.plan import plan_on
    from fencegrade.planning.tops import styles_asked
    from fencegrade.problems import JobMistakesError
    from fencegrade.sheets.screen.check_text import (
        check_json,
        check_lines,
        json_without_plan,
        lines_without_plan,
        untold,
        verdict_lines,
    )

    stopped, written = None, []
    with steps(3 if out is None else 4) as step:
        step("reading the job")
        read, grounds, problems = read_and_survey(job)
        step("planning")
        try:
            plan = plan_on(read, grounds, styles_asked(read), problems)
        except JobMistakesError as error:
            stopped = error
        else:
            step("weighing the ground")
            reports = ground_reports(plan)
            if out is not None:
                from fencegrade.sheets.folder import write_check

                step("drawing the ground")
                written = write_check(plan, reports, out, force)
    if stopped is not None:
        reports = reports_without_plan(read, grounds)
        readings = chain(lines_without_plan(read, reports), ("",))
        answer(json, lambda: json_without_plan(read, reports), readings)
        raise untold(stopped, read, reports)
    lines = chain(check_lines(plan, reports), ("",), verdict_lines(plan))
    answer(json, lambda: check_json(plan, reports), lines, written)
