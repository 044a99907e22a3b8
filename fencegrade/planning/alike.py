"""What all runs have alike, and what is told of it: rows of rails, and the fit of the pickets."""

from collections.abc import Callable, Iterator, Sequence

import numpy as np

from fencegrade.fence.rails.rails import rows_for, rows_wanted, tallest_by_bay
from fencegrade.fence.rails.screws import Screws
from fencegrade.fence.tops.line import TopLine
from fencegrade.job.choices import Fit, Pattern
from fencegrade.job.read import Job
from fencegrade.planning.families import Family
from fencegrade.planning.layout import RunLayout
from fencegrade.problems import Problem, note, warning
from fencegrade.units import MM_PER_INCH, UnitSystem
from fencegrade.units.arrays import first_most
from fencegrade.units.tolerances import SAME_COST
from fencegrade.units.words import listed


def shared_rows(job: Job, layouts: Sequence[RunLayout], tops: Sequence[TopLine]) -> list[int]:
    """Run by run, the rows of rails: as many as the tallest picket of all runs that meet it asks for."""
    clearance = job.pickets.clearance
    rows = [
        rows_wanted(lay.bays, top, lay.ground.line, job.rails, clearance)
        for lay, top in zip(layouts, tops, strict=True)
    ]
    index = {lay.run.name: k for k, lay in enumerate(layouts)}
    pairs = [(k, index[lay.run.join]) for k, lay in enumerate(layouts) if lay.run.join in index]
    for _ in pairs:
        for after, before in pairs:
            rows[after] = rows[before] = max(rows[after], rows[before])
    return rows


ROWS_OF_RAILS = "[rails] count"
"""Where it is told why there are so many rows of rails."""


FIT = "[pickets] fit"
"""Where it is told which runs do not keep the fit that is asked for."""


def fit_remarks(job: Job, layouts: Sequence[RunLayout]) -> Iterator[Problem]:
    """Runs whose bays are laid afresh with even gaps though the job asks for a rip."""
    fit, pattern = job.pickets.fit, job.pickets.pattern
    runs = [lay.run.name for lay in layouts if lay.style.by_bay and pattern is Pattern.SIDE_BY_SIDE]
    if fit is not Fit.EVEN_GAPS and runs:
        yield note(
            FIT,
            f"{fit} is not kept under the stepped top of {listed(runs)}: each bay there starts afresh, with "
            "even gaps and full boards",
            "another top keeps it; even gaps is what they have now",
        )


_TOLD = {UnitSystem.IMPERIAL: 12.0, UnitSystem.METRIC: 100 / MM_PER_INCH}
"""Inches to which the length of rails that could be spared is told."""


RailsBought = tuple[Family, tuple[Screws, ...]]
"""The rails as they are cut, and all screws."""


def _spared(job: Job, now: RailsBought, then: RailsBought) -> str:
    """What rails and screws cost less as they are sold, in words: of those that have a price."""
    (rails, screws), (fewer, fewer_screws) = now, then
    screwed = all(s.box_price(job.fasteners) is not None for s in screws)
    saved = float(rails.plan.cost - fewer.plan.cost) if rails.plan.priced else 0.0
    for sign, own in ((1, screws), (-1, fewer_screws)) if screwed else ():
        saved += sign * sum(s.boxes * (s.box_price(job.fasteners) or 0.0) for s in own)
    if saved <= SAME_COST:
        return ""
    if not rails.plan.priced:
        return f" and {job.words.money(saved)} of screws"
    return f", {job.words.money(saved)}{' with its screws' if screwed else ''}"


def rows_remarks(
    job: Job,
    layouts: Sequence[RunLayout],
    tops: Sequence[TopLine],
    now: RailsBought,
    then: Callable[[int], RailsBought],
) -> Iterator[Problem]:
    """Where few bays ask for a row of rails that all bays get, and what it takes; none once some are up.

    `now`: what is bought for all rows; `then`: for so many rows everywhere.
    """
    if job.rails.count or any(lay.standing and lay.standing.railed.any() for lay in layouts):
        return
    rows, words = shared_rows(job, layouts, tops), job.words
    for most in dict.fromkeys(rows):
        runs = [k for k, count in enumerate(rows) if count == most]
        talls = [tallest_by_bay(layouts[k].bays, tops[k], layouts[k].ground.line) for k in runs]
        asked = [rows_for(h - job.pickets.clearance, job.rails) for h in np.concatenate(talls).tolist()]
        asking, few = asked.count(most), max((n for n in asked if n < most), default=0)
        if not 0 < asking < len(asked) / 2:
            continue
        own = max(range(len(runs)), key=lambda j: talls[j].max(initial=0.0))
        fewer = then(few)
        spared = float(now[0].asked.sum() - fewer[0].asked.sum()) * job.tape
        told = words.sold_length(round(spared / _TOLD[words.system]) * _TOLD[words.system])
        money = _spared(job, now, fewer)
        ask = f"{asking} of {len(asked)} bays {'asks' if asking == 1 else 'ask'}"
        yield warning(
            ROWS_OF_RAILS,
            f"{most} rows of rails in every bay of {listed([layouts[k].run.name for k in runs])}, though "
            f"only {ask} for more than {few}: the tops stand {words.length(float(talls[own].max()))} over "
            f"the lowest ground in bay {first_most(talls[own]) + 1} of {layouts[runs[own]].run.name}",
            f"count = {few} under [rails] in the job file plans {few} rows everywhere and spares some "
            f"{told} of rail{money}; whether {few} hold the tallest boards is yours to say",
        )
