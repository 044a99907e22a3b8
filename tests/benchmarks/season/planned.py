"""The fence as fencegrade plans it from a crew's readings: what it buys, cuts and leaves to be marked."""

from collections import Counter
from dataclasses import replace
from pathlib import Path

import numpy as np

from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.job.read import Job, read_job
from fencegrade.job.survey import ElevationReading, ElevationSurvey
from fencegrade.planning.buying import buying_list
from fencegrade.planning.check import ground_reports
from fencegrade.planning.marked import plan_risk
from fencegrade.planning.plan import FencePlan, plan_fence

from .crew import CLEARANCE, LEAST, LEAST_HEIGHT, MOST, STOCK, WIDTH, Crew, Floats, Ground, grid
from .ways import Bought, misses

JOB = """
[job]
title = "A season"
units = "imperial"
[[run]]
name = "line"
survey = "line.csv"
[top]
style = "{style}"
least_height = "{height} in"
[pickets]
width = "{width} in"
spacing = "0 in"
clearance = "{clearance} in"
least_clearance = "{least} in"
most_gap = "{most} in"
aim = "{aim}"
most_chance = {chance}
{more}
{stock}
[soil]
low_ground = "{low_ground}"
price = 40.0
"""
BOARD = '[[pickets.stock]]\nlength = "{} in"\nprice = {}'


def job_of(
    folder: Path,
    *,
    style: str,
    low_ground: str = "boards",
    chance: float = 0.2,
    aim: str = "middle",
    more: str = "",
) -> Job:
    """The season's job, its readings still to come."""
    folder.mkdir(parents=True, exist_ok=True)
    stock = "\n".join(BOARD.format(length, price) for length, price in STOCK.items())
    text = JOB.format(
        style=style,
        height=LEAST_HEIGHT,
        width=WIDTH,
        clearance=CLEARANCE,
        least=LEAST,
        most=MOST,
        chance=chance,
        aim=aim,
        more=more,
        stock=stock,
        low_ground=low_ground,
    )
    (folder / "job.toml").write_text(text, encoding="utf-8")
    (folder / "line.csv").write_text("station [in],elevation [in]\n0,0\n48,0\n", encoding="utf-8")
    return read_job(folder)


def plan_of(job: Job, at: Floats, z: Floats) -> FencePlan:
    """The plan from readings at stations (in)."""
    rows = tuple(
        ElevationReading(line=k + 2, station=float(x), elevation=float(h))
        for k, (x, h) in enumerate(zip(at, z, strict=True))
    )
    return plan_fence(replace(job, surveys=(ElevationSurvey(source="line.csv", rows=rows),)))


STAGES = (
    "as printed",
    "no reading error",
    "sure hands",
    "ground known every foot",
    "right boards marked",
    "a stop a board",
)
"""What is given the truth, one at a time, to see where boards that end outside come from."""


def with_truth(
    stage: str, folder: Path, ground: Ground, crew: Crew, spacing: float
) -> tuple[Crew, Bought, Floats]:
    """A fence as printed, with one stage given the truth: its crew, what it buys and its tops."""
    still = np.zeros_like(crew.reading)
    job = job_of(folder, style="level", more='stop_settings = "every length"' if stage == STAGES[5] else "")
    reads = replace(crew, reading=still) if stage == STAGES[1] else crew
    hands = (
        replace(crew, cut=crew.cut * 0, held=crew.held * 0, aside=crew.aside * 0)
        if stage == STAGES[2]
        else crew
    )
    at = grid(ground, 12.0 if stage == STAGES[3] else spacing)
    bought, top = as_printed(plan_of(job, at, reads.reads(ground, at)), len(at))
    if stage == STAGES[4]:
        count = int(bought.marked.sum())
        worst = np.argsort(-misses(ground, hands, top, bought))[:count]
        (run,) = plan_of(job, at, reads.reads(ground, at)).runs
        kept = run.cuts.kept.astype(float) * job.job.tape
        kept[worst] = np.nan
        bought = replace(bought, kept=kept)
    return hands, bought, top


def as_printed(plan: FencePlan, readings: int) -> tuple[Bought, Floats]:
    """What a plan buys and leaves to be marked, and the line of its tops at the boards (in)."""
    (run,) = plan.runs
    marked = run.flags[PicketFlag.MARK_IN_PLACE]
    stock = np.where(run.boards.wood > 0, run.boards.wood * plan.mark, max(STOCK))
    kept = np.where(marked, np.nan, run.cuts.kept * plan.mark)
    risk = plan_risk(plan)
    spares = [] if risk is None else risk.spares.tolist()
    spare = Counter({float(s.length): n for s, n in zip(plan.stock.offered, spares, strict=False) if n})
    soil = sum(line.total or 0.0 for line in buying_list(plan).lines if line.part == "soil")
    on_soil = run.closing.on_soil
    surface = np.where(on_soil, run.cuts.bottom_left - CLEARANCE, -np.inf)
    bought = Bought(stock=stock, kept=kept, spare=spare, readings=readings, soil=soil, surface=surface)
    return bought, run.cuts.top


def by_advice(job: Job, ground: Ground, crew: Crew) -> tuple[Bought, Floats]:
    """As many readings as every 4 ft: those of an 8 ft grid, the rest one by one where the check names
    them."""
    at, count = grid(ground, 96.0), len(grid(ground, 48.0))
    while True:
        plan = plan_of(job, at, crew.reads(ground, at))
        if len(at) >= count:
            break
        (report,) = ground_reports(plan)
        if not report.advice.stretches:
            break
        worst = report.advice.stretches[0]
        at = np.sort(np.append(at, np.round((worst.start + worst.end) / 2)))
    return as_printed(plan, len(at))
