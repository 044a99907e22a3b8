"""Yards drawn at random for laws of the whole plan: one run or two on rough ground, and their job."""

import tempfile
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from hypothesis import strategies as st

from fencegrade.job.read import Job, read_job
from fencegrade.planning.plan import FencePlan, plan_fence

STYLES = ["level", "sloped", "stepped", "racked", "contour"]
MARK = 0.125
LEAST = 72.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Yard:
    """One run or more, in inches, and how its job is written down; `pairs`: two-leaf gates in every run."""

    runs: tuple[tuple[tuple[float, ...], tuple[float, ...]], ...]
    top_end: str = "dog-eared"
    kerf: float = 0.125
    gate: bool = False
    pairs: bool = False
    join: bool = False
    metric: bool = False
    price: float | None = 4.1
    there: int = 3

    def length(self, inches: float) -> str:
        return f"{inches * 25.4:.6f} mm" if self.metric else f"{inches!r} in"

    def _stock(self, table: str, lengths: tuple[float, ...]) -> str:
        rows = []
        for k, length in enumerate(lengths):
            price = "" if self.price is None else f"price = {self.price + 1.37 * k:.2f}\n"
            there = self.there * (1 - k % 2)
            rows.append(f'[[{table}.stock]]\nlength = "{self.length(length)}"\non_hand = {there}\n{price}')
        return "".join(rows)

    def text(self) -> str:
        runs = []
        for k, (stations, _) in enumerate(self.runs):
            keys = f'join = "r{k - 1}"\n' if self.join and k else ""
            if self.gate and (k == 0 or self.pairs):
                near, leaves = stations[-1] * 0.4, "leaves = 2\n" if self.pairs else ""
                keys += f'[[run.gate]]\nstation = "{self.length(near)}"\nwidth = "{self.length(40.0)}"\n'
                keys += leaves
            runs.append(f'[[run]]\nname = "r{k}"\nsurvey = "s{k}.csv"\n{keys}')
        posts = 'bag = "80 lb"\n' + ("" if self.price is None else "bag_price = 5.35\n")
        return (
            f'[job]\ntitle = "x"\nunits = "{"metric" if self.metric else "imperial"}"\n'
            f'tape = "{self.length(MARK)}"\nkerf = "{self.length(self.kerf)}"\n'
            f'least_offcut = "{self.length(12.0)}"\n'
            + "".join(runs)
            + f'[top]\nleast_height = "{self.length(LEAST)}"\n[pickets]\nwidth = "{self.length(5.5)}"\n'
            f'spacing = "{self.length(0.25)}"\nclearance = "{self.length(2.0)}"\n'
            f'most_gap = "{self.length(3.0)}"\ntop_end = "{self.top_end}"\n'
            f'{self._stock("pickets", (72.0, 96.0, 240.0))}[posts]\nwidth = "{self.length(3.5)}"\n'
            f'spacing = "{self.length(96.0)}"\nhole_diameter = "{self.length(10.0)}"\n'
            f'height = "{self.length(-6.0)}"\nleast_depth = "{self.length(24.0)}"\n'
            f'gate_deeper = "{self.length(6.0)}"\n{posts}'
            f'{self._stock("posts", (120.0, 180.0, 300.0))}[rails]\nheight = "{self.length(3.5)}"\n'
            f'top_reveal = "{self.length(6.0)}"\nbottom_reveal = "{self.length(6.0)}"\n'
            f'most_overhang = "{self.length(12.0)}"\n'
            f"{self._stock('rails', (96.0, 144.0))}"
        )

    def job(self) -> Job:
        unit, factor = ("mm", 25.4) if self.metric else ("in", 1.0)
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            (folder / "job.toml").write_text(self.text())
            for k, (stations, elevations) in enumerate(self.runs):
                rows = "".join(
                    f"{x * factor:.9f},{z * factor:.9f}\n" for x, z in zip(stations, elevations, strict=True)
                )
                (folder / f"s{k}.csv").write_text(f"station [{unit}],elevation [{unit}]\n{rows}")
            return read_job(folder)

    def plan(self, style: str) -> FencePlan:
        return plan_fence(self.job(), style)


@st.composite
def grounds(draw: st.DrawFn, first: float = 0.0) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Ground read every 4 to 8 ft, up to 12 in apart from reading to reading, 16 ft or more long."""
    steps = draw(st.lists(st.integers(48, 96).map(float), min_size=4, max_size=6))
    rises = draw(
        st.lists(st.integers(-96, 96).map(lambda n: n / 8), min_size=len(steps), max_size=len(steps))
    )
    return (0.0, *np.cumsum(steps).tolist()), tuple((first + np.cumsum([0.0, *rises])).tolist())


@st.composite
def yards(draw: st.DrawFn, most_runs: int = 2) -> Yard:
    runs = [draw(grounds())]
    for _ in range(draw(st.integers(0, most_runs - 1))):
        runs.append(draw(grounds(first=runs[-1][1][-1])))
    return Yard(
        runs=tuple(runs),
        top_end=draw(st.sampled_from(["dog-eared", "flat"])),
        kerf=draw(st.sampled_from([0.0, 0.125, 0.2])),
        gate=draw(st.booleans()),
        join=draw(st.booleans()),
    )


ANY_STYLE = st.sampled_from(STYLES)
