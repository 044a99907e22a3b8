"""What `check` says of a job and its readings: in plain words, and as JSON."""

import math
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from fencegrade.ground.report import GroundReport
from fencegrade.ground.strings import ONLY_STRING
from fencegrade.planning.plan import FencePlan
from fencegrade.problems import Problem
from fencegrade.sheets.words import Words, numbers, plural

FORMAT = "fencegrade-check/1"
BAND = 1.2816
"""Standard deviations on each side that hold four of five cases (normal law)."""


def check_lines(plan: FencePlan, reports: Sequence[GroundReport]) -> Iterator[str]:
    """The findings on every run's readings, line by line."""
    words = Words.of(plan.job.job)
    yield plan.job.job.title
    for report in reports:
        yield ""
        yield from _run_lines(report, words)
    told = _told(plan, reports)
    if told:
        yield ""
        yield "To know and to do"
        yield from (f"  {p}" for p in told)


def _told(plan: FencePlan, reports: Sequence[GroundReport]) -> list[Problem]:
    """The job's own notes and everything the reports tell, once each."""
    return list(dict.fromkeys([*plan.job.notes, *(p for r in reports for p in r.problems)]))


def _run_lines(report: GroundReport, words: Words) -> Iterator[str]:
    yield f"{report.name}: {plural(report.readings, 'reading')}"
    yield (
        f"  from {words.station(report.start)} to {words.station(report.end)}, usually "
        f"{words.station(report.spacing)} apart, at most {words.station(report.widest)}"
    )
    yield (
        f"  the ground rises and falls by {words.length(report.highest - report.lowest)}; "
        f"steepest {report.steepest:.0%}"
    )
    where = "from repeat readings" if report.repeats else "assumed; read some stations twice to know"
    yield f"  one reading is right to about {words.length(report.reading_error)} ({where})"
    for sag in report.sags:
        if sag.sag > 0:
            name = "the string" if sag.string.id == ONLY_STRING else f"string {sag.string.id}"
            yield f"  {name} sags {words.length(sag.sag)} in the middle; corrected"
    for closure in report.closures:
        yield f"  closes to {words.length(closure.misclosure)}; {words.length(closure.allowed)} is allowed"
    yield from _sureness(report, words)


def _sureness(report: GroundReport, words: Words) -> Iterator[str]:
    boards = report.advice.boards
    within = words.length(BAND * report.deviation)
    yield f"  between readings the ground is within {within} of the line in 4 places of 5"
    at = words.station(report.worst_at)
    yield f"  least sure near {at}: within {words.length(BAND * report.worst)} there"
    unsure = np.flatnonzero(~boards.from_chart)
    if not len(boards.from_chart):
        return
    if not len(unsure):
        yield "  every board may be cut from the chart"
        return
    which = numbers((unsure + 1).tolist())
    yield f"  cut from the chart: {plural(len(boards.from_chart) - len(unsure), 'board')}"
    yield f"  leave long and mark in place: {plural(len(unsure), 'board')}, pickets {which}"


def check_json(plan: FencePlan, reports: Sequence[GroundReport]) -> dict[str, Any]:
    """The findings as plain values, lengths in the job's unit."""
    words = Words.of(plan.job.job)
    return {
        "format": FORMAT,
        "title": plan.job.job.title,
        "length_unit": words.unit,
        "runs": [_json_run(r, words) for r in reports],
        "problems": [
            {"severity": str(p.severity), "place": p.place, "message": p.message}
            for p in _told(plan, reports)
        ],
    }


def _json_run(report: GroundReport, words: Words) -> dict[str, Any]:
    number, boards = words.number, report.advice.boards
    return {
        "name": report.name,
        "readings": report.readings,
        "start": number(report.start),
        "end": number(report.end),
        "spacing": number(report.spacing),
        "widest": number(report.widest),
        "reading_error": number(report.reading_error),
        "faces": [number(f) for f in report.faces],
        "sags": [
            {"string": None if s.string.id == ONLY_STRING else s.string.id, "sag": number(s.sag)}
            for s in report.sags
        ],
        "closures": [
            {"misclosure": number(c.misclosure), "allowed": number(c.allowed)} for c in report.closures
        ],
        "deviation": number(report.deviation),
        "worst": number(report.worst),
        "worst_at": number(report.worst_at),
        "enough": report.advice.enough,
        "read_at_breaks": report.advice.read_breaks,
        "measure_next": [
            {
                "start": number(s.start),
                "end": number(s.end),
                "deviation": number(s.deviation),
                "boards_spared": round(s.gain, 2),
            }
            for s in report.advice.stretches
        ],
        "pickets": [
            {
                "number": i + 1,
                "deviation": number(boards.deviation[i]),
                "chance_off": round(float(boards.chance_off[i]), 4),
                "from_chart": bool(boards.from_chart[i]),
                "chance_other_stock": _finite(float(boards.chance_longer[i])),
            }
            for i in range(len(boards.from_chart))
        ],
    }


def _finite(value: float) -> float:
    return round(value, 4) if math.isfinite(value) else 0.0
