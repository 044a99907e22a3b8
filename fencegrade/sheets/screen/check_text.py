"""What `check` says of a job and its readings: in plain words, and as JSON."""

from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from fencegrade.ground.report import GroundReport, Relief
from fencegrade.ground.survey import RunGround
from fencegrade.job.read import Job
from fencegrade.planning.plan import FencePlan
from fencegrade.problems import JobMistakesError, Problem, Severity
from fencegrade.sheets.facts import UNTIL_READ, provisional_words
from fencegrade.sheets.reduction import level_check_line, level_table, readings_table, table_json
from fencegrade.sheets.screen.wrapping import paragraph
from fencegrade.units import format_share
from fencegrade.units.arrays import first_most
from fencegrade.units.words import Words, numbered, plural

FORMAT = "fencegrade-check/1"


def check_lines(plan: FencePlan, reports: Sequence[GroundReport]) -> Iterator[str]:
    """The findings on every run's readings, line by line."""
    yield from _lines(plan.job, reports, _told(plan, reports))


def lines_without_plan(job: Job, reports: Sequence[GroundReport]) -> Iterator[str]:
    """The findings on every run's readings where no plan can be made on them, line by line."""
    yield from _lines(job, reports, _once(job, (), reports))


def untold(error: JobMistakesError, job: Job, reports: Sequence[GroundReport]) -> JobMistakesError:
    """The mistakes for which no plan can be made, without the warnings that are among the findings."""
    told = _once(job, (), reports)
    return JobMistakesError(p for p in error.problems if p.severity is Severity.MISTAKE or p not in told)


def verdict_lines(plan: FencePlan) -> Iterator[str]:
    """The last of a check: that nothing may be bought yet where something looks like a slip, or that there is
    no mistake.
    """
    yield from list(provisional_words(run.ground for run in plan.runs)) or ["No mistakes found."]


def _lines(job: Job, reports: Sequence[GroundReport], told: Sequence[Problem]) -> Iterator[str]:
    yield job.title
    for report in reports:
        yield ""
        yield from _run_lines(report, job.words)
    yield from paragraph("To know and to do", map(str, told))


def _told(plan: FencePlan, reports: Sequence[GroundReport]) -> list[Problem]:
    """The job's own notes, those on the record of what stands, and all that the reports tell, once each."""
    return _once(plan.job, [p for p in plan.problems if p.on_record], reports)


def _once(job: Job, stands: Sequence[Problem], reports: Sequence[GroundReport]) -> list[Problem]:
    return list(dict.fromkeys([*job.notes, *stands, *(p for r in reports for p in r.problems)]))


def _run_lines(report: GroundReport, words: Words) -> Iterator[str]:
    ground, relief = report.ground, report.relief
    yield f"{ground.name}: {plural(relief.count, 'reading')}"
    yield (
        f"  from {words.station(relief.first)} to {words.station(relief.last)}, usually "
        f"{words.station(relief.spacing)} apart, at most {words.station(relief.widest)}"
    )
    yield f"  the ground {_relief_words(relief, words)}; steepest {format_share(relief.steepest, 0)}"
    where = (
        "from repeat readings"
        if ground.levels.repeat_freedom
        else "assumed; read some stations twice to know"
    )
    yield f"  one reading is right to about {words.at_most(ground.reading_error)} ({where})"
    yield from _reduced(ground, words)
    own = (relief.first, relief.last)
    breaks = [words.station(b) for b in ground.profile.breaks if own[0] <= b <= own[1]]
    yield f"  readings at breaks: {', '.join(breaks) if breaks else 'none named'}"
    yield from _sureness(report, words)
    if report.sag_boards and ground.spread.counted:
        most = report.sag_boards >= max((s.to_saw for s in report.advice.stretches), default=0)
        spares = "most" if most else "them"
        count = plural(report.sag_boards, "board")
        yield f"  {count} of these for the doubt of the sag alone: measuring it spares {spares}"
    elif report.sag_boards:
        yield (
            f"  if the tops are levelled otherwise than by a string pulled like this one, "
            f"{plural(report.sag_boards, 'more board')} to mark in place; measuring the sag spares them"
        )


def _reduced(ground: RunGround, words: Words) -> Iterator[str]:
    """How the readings came to elevations: points off the line, strings that sag and differ, loops closed."""
    reduction = ground.reduction
    if reduction.farthest is not None:
        point = reduction.farthest
        off, at = words.fine(abs(point.offset or 0.0)), words.station(point.station)
        yield f"  points lie up to {off} off the line of the run, at {at}; they are taken square on to it"
    for string in ground.strings:
        if string.sag > 0:
            name = string.name if string.given_name else f"the {string.name}"
            yield f"  {name} sags {words.fine(string.sag)} in the middle; corrected"
    if ties := reduction.residuals:
        worst = ties[first_most(np.array([tie.apart for tie in ties]))]
        apart, at = words.fine(worst.apart), words.station(worst.station)
        stakes = plural(len(ties), "stake")
        yield f"  strings differ by at most {apart} on {stakes} read from more than one, most at {at}"
    for closure in reduction.closures:
        yield f"  closes to {words.fine(closure.misclosure)}; {words.given(closure.allowed)} is allowed"
    if reduction.page is not None:
        yield f"  {level_check_line(reduction.page, words)}"


def _relief_words(relief: Relief, words: Words) -> str:
    """How much the ground rises and falls, and which way it goes where it climbs or falls all along."""
    if not relief.climb:
        return f"rises and falls by {words.fine(relief.highest - relief.lowest)}"
    return f"{'climbs' if relief.climb > 0 else 'falls'} {words.fine(abs(relief.climb))} from start to end"


def _sureness(report: GroundReport, words: Words) -> Iterator[str]:
    within = words.at_most(report.within)
    yield f"  between readings the ground is within {within} of the line in 4 places of 5"
    at = words.station(report.worst_at)
    yield f"  least sure near {at}: within {words.at_most(report.worst)} there"
    count, unsure = len(report.from_chart), np.flatnonzero(~report.from_chart)
    if report.ground.provisional:
        yield f"  no board is cut {UNTIL_READ}"
        return
    if not count:
        return
    if not len(unsure):
        yield "  every board may be cut from the chart"
        return
    yield f"  cut from the chart: {plural(count - len(unsure), 'board')}"
    yield f"  leave long and mark in place: {plural(len(unsure), 'board')}, {numbered('picket', unsure)}"


def check_json(plan: FencePlan, reports: Sequence[GroundReport]) -> dict[str, Any]:
    """The findings as plain values, lengths in the job's unit."""
    return _json(plan.job, reports, _told(plan, reports))


def json_without_plan(job: Job, reports: Sequence[GroundReport]) -> dict[str, Any]:
    """The findings as plain values where no plan can be made; no run has pickets."""
    return _json(job, reports, _once(job, (), reports))


def _json(job: Job, reports: Sequence[GroundReport], told: Sequence[Problem]) -> dict[str, Any]:
    words = job.words
    return {
        "format": FORMAT,
        "title": job.title,
        "length_unit": words.unit,
        "runs": [_json_run(r, words) for r in reports],
        "problems": [p.as_dict() for p in told],
    }


def _json_run(report: GroundReport, words: Words) -> dict[str, Any]:
    number, ground = words.number, report.ground
    page = ground.reduction.page
    book = {} if page is None else {"level_book": table_json(level_table(ground, page), words)}
    ties = [
        {"station": number(t.station), "strings": list(t.setups), "apart": number(t.apart)}
        for t in ground.reduction.residuals
    ]
    return {
        "name": ground.name,
        "readings": len(ground.stations),
        "start": number(ground.profile.start),
        "end": number(ground.profile.end),
        "spacing": number(report.relief.spacing),
        "widest": number(report.relief.widest),
        "reading_error": number(ground.reading_error),
        "provisional": ground.provisional,
        "breaks": [number(b) for b in ground.profile.breaks],
        "faces": [number(f) for f in ground.profile.faces],
        "sags": [{"string": s.given_name, "sag": number(s.sag)} for s in ground.strings],
        "closures": [
            {"misclosure": number(c.misclosure), "allowed": number(c.allowed)}
            for c in ground.reduction.closures
        ],
        "within": number(report.within),
        "worst": number(report.worst),
        "worst_at": number(report.worst_at),
        "enough": report.advice.enough,
        "little_left": report.advice.little_left,
        "read_at_breaks": report.advice.read_breaks,
        "measure_next": [
            {
                "start": number(s.start),
                "end": number(s.end),
                "within": number(s.half),
                "boards_in_limits": round(s.gain, 2),
                "boards_to_saw": s.to_saw,
            }
            for s in report.advice.stretches
        ],
        "sag_boards": report.sag_boards,
        "elevations": table_json(readings_table(ground, points=True), words),
        **({"ties": ties} if ties else {}),
        **book,
        "pickets": _json_pickets(report),
    }


def _json_pickets(report: GroundReport) -> list[dict[str, Any]]:
    """Every board of a run, none where none is planned: those whose chances were advised by are imagined."""
    chances, settled = report.advice.chance[: len(report.from_chart)], not report.ground.provisional
    return [
        {"number": i + 1, "chance_outside": round(float(chance), 4), "from_chart": bool(sure and settled)}
        for i, (chance, sure) in enumerate(zip(chances, report.from_chart, strict=True))
    ]
