"""`fencegrade check`: what is wrong or doubtful in the job and its readings."""

from fencegrade.cli.options import JobPath
from fencegrade.cli.say import say, say_all


def check(job: JobPath) -> None:
    """Check the job and its readings: every fault, and what looks doubtful.

    Example: fencegrade check my-fence
    """
    from fencegrade.layout import read_and_survey
    from fencegrade.sheets.check_text import check_lines

    read, grounds, problems = read_and_survey(job)
    say_all(check_lines(read, grounds, problems))
    say()
    say("No mistakes found.")
