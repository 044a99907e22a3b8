"""From elevations that were worked out before to the readings of a run."""

from fencegrade.ground.readings import Reading, along
from fencegrade.ground.reduction import Level, Reduced, Reduction
from fencegrade.job.records import Run
from fencegrade.job.survey import ElevationSurvey, marks_of
from fencegrade.problems import has_mistake
from fencegrade.units.words import Words


def reduce(run: Run, survey: ElevationSurvey, words: Words, place: str, level: Level) -> Reduced:
    """Elevations as they are; parameters and result as of `strings.reduce`."""
    problems = tuple(along([(r.line, r.station) for r in survey.rows], survey.source, words))
    if has_mistake(problems):
        return None, problems
    readings = (
        Reading(
            line=r.line,
            station=r.station,
            elevation=r.elevation,
            raw=r.elevation,
            upward=True,
            side=r.side,
            marks=marks_of(r.note),
        )
        for r in survey.rows
    )
    return Reduction(readings=tuple(readings)), problems
