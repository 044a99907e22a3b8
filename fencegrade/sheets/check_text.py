"""What `check` says of a job and its readings."""

from collections.abc import Iterator, Sequence

from fencegrade.ground.survey import RunGround
from fencegrade.job.read import Job
from fencegrade.problems import Problem
from fencegrade.sheets.words import Words, plural


def check_lines(job: Job, grounds: Sequence[RunGround], problems: Sequence[Problem]) -> Iterator[str]:
    """The findings on every run's readings, line by line."""
    words = Words.of(job.job)
    yield job.job.title
    for ground in grounds:
        low, high = float(ground.elevations.min()), float(ground.elevations.max())
        yield (
            f"  {ground.name}: {plural(len(ground.stations), 'reading')} from "
            f"{words.station(ground.profile.start)} to {words.station(ground.profile.end)}; "
            f"the ground rises and falls by {words.length(high - low)}"
        )
    for problem in [*job.notes, *problems]:
        yield f"  {problem}"
