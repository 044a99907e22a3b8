"""The heights of a job from its file, as the command works them out."""

from fencegrade.job.read import Job
from fencegrade.planning.heights import JobHeights, heights_on
from fencegrade.planning.layout import survey_grounds


def job_heights(job: Job) -> JobHeights:
    """Every height at which a board of the job changes stock."""
    return heights_on(job, survey_grounds(job)[0])
