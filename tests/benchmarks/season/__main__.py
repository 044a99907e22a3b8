"""A season of fences on real ground, built four ways: one table and one figure.

    FENCEGRADE_TERRAIN=folder python -m tests.benchmarks.season --figure season.png

The folder of terrain holds lines of real ground as CSV (columns station_m, elevation_m).
"""

import argparse
import os
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import NamedTuple

import numpy as np

from .crew import a_crew, grid, grounds, slots
from .planned import STAGES, as_printed, by_advice, job_of, plan_of, with_truth
from .ways import Stands, build, by_eye, known, spreadsheet

WAYS = ("by eye", "spreadsheet", "as printed", "with its advice")


class Fence(NamedTuple):
    """One fence of the season."""

    line: str
    draw: int
    way: str
    spacing: float
    stands: Stands
    known: float


def season(
    folder: Path, *, style: str, draws: int, spacing: float, low_ground: str, chance: float, aim: str
) -> Iterator[Fence]:
    """Every fence of a season: each line and draw, built every way, readings `spacing` (in) apart.

    `style`, `low_ground`, `chance` (most_chance) and `aim` are keys of the job.
    """
    with tempfile.TemporaryDirectory() as made:
        job = job_of(Path(made), style=style, low_ground=low_ground, chance=chance, aim=aim)
        for ground in grounds(folder, level=style == "level"):
            for draw in range(draws):
                crew = a_crew(ground, draw)
                at = grid(ground, spacing)
                bought, top = as_printed(plan_of(job, at, crew.reads(ground, at)), len(at))
                left, right = slots(ground)
                top_at = np.interp(at, (left + right) / 2, top)
                least = known(ground, top)
                ways = {
                    "by eye": (by_eye(ground, crew, at, top_at), top),
                    "spreadsheet": (spreadsheet(ground, crew, at, top), top),
                    "as printed": (bought, top),
                }
                if spacing == 48.0:
                    ways["with its advice"] = by_advice(job, ground, crew)
                for way, (what, line) in ways.items():
                    best = least if line is top else known(ground, line)
                    yield Fence(ground.name, draw, way, spacing, build(ground, crew, line, what), best)


COLUMNS: dict[str, Callable[[Fence], float]] = {
    "outside %": lambda f: 100 * f.stands.outside / f.stands.boards,
    "marked %": lambda f: 100 * f.stands.marked / f.stands.boards,
    "cut twice %": lambda f: 100 * f.stands.again / f.stands.boards,
    "thrown": lambda f: f.stands.thrown,
    "2nd trip %": lambda f: 100.0 * f.stands.trips,
    "money": lambda f: f.stands.money / f.known,
    "wasted in/board": lambda f: f.stands.wasted / f.stands.boards,
    "stops": lambda f: f.stands.stops,
    "hours": lambda f: f.stands.hours,
    "low %": lambda f: 100 * f.stands.low / f.stands.boards,
}


def table(fences: list[Fence]) -> Iterator[str]:
    """Means over lines and draws, with the 10th and 90th of a hundred."""
    yield f"{'':22}" + "".join(f"{name:>18}" for name in COLUMNS)
    for way in WAYS:
        mine = [f for f in fences if f.way == way]
        if mine:
            cells = []
            for of in COLUMNS.values():
                values = np.array([of(f) for f in mine], dtype=float)
                low, high = np.quantile(values, [0.1, 0.9])
                cells.append(f"{values.mean():7.2f} ({low:.4g}-{high:.4g})")
            yield f"{way:22}" + "".join(f"{c:>18}" for c in cells)
    eye = {(f.line, f.draw): f.stands.money for f in fences if f.way == "by eye"}
    mine = [f for f in fences if f.way == "as printed"]
    cheaper = np.mean([f.stands.money < eye[f.line, f.draw] for f in mine])
    yield f"as printed is cheaper than by eye in {cheaper:.0%} of {len(mine)} fences"


def stages(folder: Path, draws: int, spacing: float) -> Iterator[str]:
    """Boards outside and marked with one stage at a time given the truth."""
    lines = list(grounds(folder, level=True))
    for stage in STAGES:
        outside = marked = boards = 0
        with tempfile.TemporaryDirectory() as made:
            for ground in lines:
                for draw in range(draws):
                    crew, bought, top = with_truth(stage, Path(made), ground, a_crew(ground, draw), spacing)
                    stands = build(ground, crew, top, bought)
                    outside += stands.outside
                    marked += stands.marked
                    boards += stands.boards
        yield f"{stage:26}outside {outside / boards:6.2%}   marked {marked / boards:6.2%}"


def draw(fences: list[Fence], path: Path) -> None:
    """One figure: how each way does in four of the figures that matter, a dot a fence."""
    import matplotlib

    matplotlib.use("Agg")
    from matplotlib import pyplot as plt

    shown = ("outside %", "marked %", "money", "hours")
    figure, axes = plt.subplots(1, len(shown), figsize=(11, 3.2), sharey=True)
    ways = [way for way in WAYS if any(f.way == way for f in fences)]
    for axis, name in zip(axes, shown, strict=True):
        for k, way in enumerate(ways):
            values = np.array([COLUMNS[name](f) for f in fences if f.way == way], dtype=float)
            spread = np.linspace(-0.25, 0.25, len(values))
            axis.plot(values, k + spread, ".", color="0.6", markersize=3)
            axis.plot([values.mean()], [k], "|", color="black", markersize=22, markeredgewidth=2.5)
        axis.set_title(
            "money for boards over what full knowledge buys" if name == "money" else name, fontsize=9
        )
    axes[0].set_yticks(range(len(ways)), ways)
    axes[0].invert_yaxis()
    figure.tight_layout()
    figure.savefig(path, dpi=150)


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--draws", type=int, default=5)
    parser.add_argument("--style", default="level")
    parser.add_argument("--spacing", type=float, default=4.0, help="feet between readings")
    parser.add_argument("--stages", action="store_true", help="give one stage at a time the truth")
    parser.add_argument("--figure", type=Path)
    parser.add_argument("--soil", action="store_true")
    parser.add_argument("--chance", type=float, default=0.2, help="most_chance of the job")
    parser.add_argument("--aim", default="middle", help="aim of the job: clearance or middle")
    asked = parser.parse_args()
    folder = Path(os.environ["FENCEGRADE_TERRAIN"])
    if asked.stages:
        print("\n".join(stages(folder, asked.draws, 12 * asked.spacing)))
        return
    fences = list(
        season(
            folder,
            style=asked.style,
            draws=asked.draws,
            spacing=12 * asked.spacing,
            low_ground="cheapest" if asked.soil else "boards",
            chance=asked.chance,
            aim=asked.aim,
        )
    )
    print(f"\n{asked.style} top, readings every {asked.spacing:g} ft, {asked.draws} draws")
    print("\n".join(table(fences)))
    if asked.figure:
        draw(fences, asked.figure)


if __name__ == "__main__":
    main()
