"""How well the ground between readings is known, measured on real ground profiles.

Takes a directory of profiles (columns station_m, elevation_m; # comments) from FENCEGRADE_TERRAIN and skips
without it. Every profile is read as a builder would, in the ways of `KINDS`; reading error 1/8 to 1/4 in,
rounded to 1/8 in. Run with `pytest -m benchmark -s tests/benchmarks/bench_ground_terrain.py`.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache, partial
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from scipy import special

from fencegrade.ground.advice import FROM_CHART, NARROW, advise, imagined
from fencegrade.ground.band import Spread
from fencegrade.ground.fit import GroundProfile, fit_ground

pytestmark = pytest.mark.benchmark

INCHES = 1000 / 25.4
SEEDS = 4
VISIBLE = 1.25
SPACINGS = (4, 6, 8, 10)
LEVELS = (0.5, 0.8, 0.95)
WIDTH, LEAST, WANTED, MOST, SEEN = 5.5, 1.0, 2.0, 3.0, 1 / 16


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """One real line, the spots read on it, and what the reader read."""

    source: str
    feet: int
    x: np.ndarray
    z: np.ndarray
    rng: np.random.Generator
    error: float

    def read(self, s: np.ndarray) -> np.ndarray:
        noise = self.rng.normal(0, self.error, len(s))
        return np.asarray(np.round(8 * (np.interp(s, self.x, self.z) + noise)) / 8)

    def even(self, spacing: float) -> np.ndarray:
        s = np.arange(self.rng.uniform(0, min(spacing, 24.0)), self.x[-1] + 1e-9, spacing)
        return np.append(s, self.x[-1]) if self.x[-1] - s[-1] > 0.3 * spacing else s

    def breaks(self, s: np.ndarray) -> np.ndarray:
        """Where the ground leaves the line between readings by over 1-1/4 in."""
        leaves = np.abs(self.z - np.interp(self.x, s, np.interp(s, self.x, self.z)))
        found = []
        for a, b in pairwise(s):
            inside = (self.x > a + 6) & (self.x < b - 6)
            if inside.any() and leaves[inside].max() > VISIBLE:
                found.append(self.x[inside][np.argmax(leaves[inside])])
        return np.array(found)


def grounds() -> Iterator[Ground]:
    directory = os.environ.get("FENCEGRADE_TERRAIN")
    if not directory:
        pytest.skip("FENCEGRADE_TERRAIN names no directory of ground profiles")
    for path in sorted(Path(directory).glob("*.csv")):
        rows = [line.split(",") for line in path.read_text().splitlines() if line and line[0].isdigit()]
        x, z = np.array(rows, dtype=float).T * INCHES
        for feet in SPACINGS:
            for seed in range(SEEDS):
                rng = np.random.default_rng([sum(map(ord, path.stem)), feet, seed])
                source = path.stem.split("_")[0].rstrip("0123456789")
                yield Ground(source=source, feet=feet, x=x, z=z, rng=rng, error=rng.uniform(1 / 8, 1 / 4))


def more(s: np.ndarray, read: np.ndarray, new: np.ndarray, ground: Ground) -> tuple[np.ndarray, np.ndarray]:
    """Further readings put in their place among those taken."""
    new = np.setdiff1d(new, s)
    order = np.argsort(np.append(s, new), kind="stable")
    return np.append(s, new)[order], np.append(read, ground.read(new))[order]


def widest(profile: GroundProfile) -> float:
    """The station the advice would name first, whatever it is worth."""
    stations = profile.line.stations
    widths = np.diff(stations)
    weight = np.where(widths >= NARROW, profile.spread.mean_variance() * widths, 0.0)
    k = int(np.argmax(weight))
    return float(stations[k] + stations[k + 1]) / 2


def evenly(ground: Ground) -> GroundProfile:
    s = ground.even(12.0 * ground.feet)
    return fit_ground(s, ground.read(s))


def with_ordinary(ground: Ground) -> GroundProfile:
    s = ground.even(12.0 * ground.feet)
    new = ground.rng.uniform(s[0] + 6, s[-1] - 6, ground.rng.integers(1, 4))
    return fit_ground(*more(s, ground.read(s), new, ground))


def with_middles(ground: Ground) -> GroundProfile:
    s = ground.even(12.0 * ground.feet)
    new = ground.rng.choice((s[1:] + s[:-1]) / 2, min(3, len(s) - 1), replace=False)
    return fit_ground(*more(s, ground.read(s), new, ground))


def with_breaks(ground: Ground, named: bool) -> GroundProfile:
    s = ground.even(12.0 * ground.feet)
    found = np.setdiff1d(ground.breaks(s), s)
    taken = more(s, ground.read(s), found, ground)
    return fit_ground(*taken, breaks=found if named else ())


def after_advice(ground: Ground, rounds: int) -> GroundProfile:
    s = ground.even(12.0 * ground.feet)
    read = ground.read(s)
    for _ in range(rounds):
        profile = fit_ground(s, read)
        told = advise(profile, imagined(profile, s[0], s[-1])).stretches
        s, read = more(s, read, np.array([(t.start + t.end) / 2 for t in told]), ground)
    return fit_ground(s, read)


KINDS: dict[str, Callable[[Ground], GroundProfile]] = {
    "even": evenly,
    "1-3 ordinary readings more": with_ordinary,
    "3 middles more": with_middles,
    "breaks, named": partial(with_breaks, named=True),
    "breaks, not named": partial(with_breaks, named=False),
    "1 round of advice": partial(after_advice, rounds=1),
    "2 rounds of advice": partial(after_advice, rounds=2),
    "4 rounds of advice": partial(after_advice, rounds=4),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """One survey rebuilt: errors (in) and spreads between, at inner readings and at the ends; its boards."""

    ground: Ground
    error: np.ndarray
    spread: Spread
    straight: np.ndarray
    inner: tuple[np.ndarray, object]
    ends: tuple[np.ndarray, object]
    off: np.ndarray
    chance: np.ndarray
    outside: np.ndarray
    excursion: float


def rebuilt(ground: Ground, profile: GroundProfile) -> Outcome:
    s, read, x, z = profile.line.stations, profile.line.elevations, ground.x, ground.z
    at = np.union1d(x[(x > s[0]) & (x < s[-1])], np.arange(s[0] + 3, s[-1] - 3, 5.75))
    line, truth = profile.elevation(at), np.interp(at, x, z)
    i = np.clip(np.searchsorted(s, at, side="right") - 1, 0, len(s) - 2)
    beyond = np.maximum(line - np.maximum(read[i], read[i + 1]), np.minimum(read[i], read[i + 1]) - line)
    spread = profile.spread.at(at)
    chance, outside = boards(ground, profile)
    known = np.interp(s, x, z) - read
    return Outcome(
        ground=ground,
        error=truth - line,
        spread=spread,
        straight=truth - np.interp(at, s, read),
        inner=(known[1:-1], profile.spread.at(s[1:-1])),
        ends=(known[[0, -1]], profile.spread.at(s[[0, -1]])),
        off=2 * spread.beyond(0.5),
        chance=chance,
        outside=outside,
        excursion=float(beyond.max()),
    )


def boards(ground: Ground, profile: GroundProfile) -> tuple[np.ndarray, np.ndarray]:
    """Chance of every board of a side by side fence to stand outside, and whether it did."""
    left = np.arange(profile.start, profile.end - WIDTH, WIDTH)
    right = left + WIDTH
    foot = np.ceil(8 * (profile.highest(left, right) + WANTED)) / 8
    under = np.interp(left[:, None] + WIDTH * np.linspace(0, 1, 12), ground.x, ground.z)
    high, low = under.max(axis=1), under.min(axis=1)
    outside = (foot - high < LEAST - SEEN) | (foot - low > MOST + SEEN)
    return profile.chance_outside(left, right, foot, LEAST, MOST), outside


@cache
def outcomes(kind: str) -> tuple[Outcome, ...]:
    return tuple(rebuilt(ground, KINDS[kind](ground)) for ground in grounds())


def crps(error: np.ndarray, scale: np.ndarray, v: np.ndarray) -> np.ndarray:
    """Continuous ranked probability score of a Student t (Jordan, Krueger & Lerch, J. Stat. Softw. 90,
    2019)."""
    z = error / scale
    density = (1 + z**2 / v) ** (-(v + 1) / 2) / (np.sqrt(v) * special.beta(0.5, v / 2))
    tail = 2 * np.sqrt(v) / (v - 1) * special.beta(0.5, v - 0.5) / special.beta(0.5, v / 2) ** 2
    return np.asarray(scale * (z * (2 * special.stdtr(v, z) - 1) + 2 * density * (v + z**2) / (v - 1) - tail))


def cover(found: tuple[Outcome, ...], part: str = "between") -> dict[float, float]:
    pairs = [(o.error, o.spread) if part == "between" else getattr(o, part) for o in found]
    return {
        level: float(np.mean([np.mean(np.abs(e) <= s.half_width(level)) for e, s in pairs if len(e)]))
        for level in LEVELS
    }


def tenths(said: np.ndarray, happened: np.ndarray) -> list[tuple[float, float, int]]:
    """Said and happened where the chance said lies in each tenth."""
    tenth = np.minimum((10 * said).astype(int), 9)
    return [
        (float(said[tenth == k].mean()), float(happened[tenth == k].mean()), int((tenth == k).sum()))
        for k in range(10)
        if (tenth == k).any()
    ]


def summary(found: tuple[Outcome, ...]) -> dict[str, float]:
    said = np.concatenate([o.off for o in found])
    off = np.concatenate([np.abs(o.error) > 0.5 for o in found])
    chance, outside = (np.concatenate([getattr(o, n) for o in found]) for n in ("chance", "outside"))
    return {
        **{f"cover {int(100 * level)}": share for level, share in cover(found).items()},
        "crps": float(
            np.mean(
                [
                    crps(o.error, o.spread.scale, o.spread.freedom).mean() / np.abs(o.straight).mean()
                    for o in found
                ]
            )
        ),
        "skill": 1 - np.mean((said - off) ** 2) / (off.mean() * (1 - off.mean())),
        "said": said.mean(),
        "happened": off.mean(),
        "rmse mm": 25.4 * np.mean([np.sqrt(np.mean(o.error**2)) for o in found]),
        "straight": 25.4 * np.mean([np.sqrt(np.mean(o.straight**2)) for o in found]),
        "out said": chance.mean(),
        "out": outside.mean(),
    }


def row(name: str, values: dict[str, float]) -> str:
    return f"  {name:28}" + " ".join(f"{v:8.3f}" for v in values.values())


def sent(found: tuple[Outcome, ...]) -> tuple[float, float]:
    """Share of boards cut from the chart, and of those the share that stands outside."""
    chart = np.concatenate([o.chance <= FROM_CHART for o in found])
    outside = np.concatenate([o.outside for o in found])
    return float(chart.mean()), float(outside[chart].mean())


@pytest.mark.parametrize("kind", KINDS)
def test_the_band_holds_for_every_kind_of_survey(kind: str) -> None:
    found = outcomes(kind)
    whole = summary(found)
    print("\n" + row(kind, {}) + " ".join(f"{k:>8}" for k in whole))
    print(row("all", whole))
    for source in dict.fromkeys(o.ground.source for o in found):
        print(row(source, summary(tuple(o for o in found if o.ground.source == source))))
    for part in ("inner", "ends"):
        print(f"  cover at {part}: " + " ".join(f"{v:.3f}" for v in cover(found, part).values()))
    for name, said, happened in (
        ("off by 1/2 in", [o.off for o in found], [np.abs(o.error) > 0.5 for o in found]),
        ("outside", [o.chance for o in found], [o.outside for o in found]),
    ):
        parts = tenths(np.concatenate(said), np.concatenate(happened))
        print(f"  {name}, said>happened by tenths: " + " ".join(f"{a:.2f}>{b:.2f}({n})" for a, b, n in parts))
    unnamed = kind == "breaks, not named"
    assert max(o.excursion for o in found) <= 1e-9
    assert 0.93 <= whole["cover 95"] <= (0.99 if unnamed else 0.97)
    assert 0.77 <= whole["cover 80"] <= (0.90 if unnamed else 0.84)
    assert 0.46 <= whole["cover 50"] <= (0.62 if unnamed else 0.56)
    assert whole["crps"] <= 0.79
    assert abs(whole["said"] - whole["happened"]) <= (0.07 if unnamed else 0.03)
    assert abs(whole["out said"] - whole["out"]) <= (0.06 if unnamed else 0.03)


def test_boards_cut_from_the_chart() -> None:
    """Share cut from the chart and of those the share outside, by spacing, kind of survey and source."""
    print()
    for kind in ("even", "1-3 ordinary readings more", "breaks, named", "2 rounds of advice"):
        for feet in SPACINGS:
            found = tuple(o for o in outcomes(kind) if o.ground.feet == feet)
            chart, outside = sent(found)
            parts = [
                f"{source} {share:.2f} {out:.3f}"
                for source in dict.fromkeys(o.ground.source for o in found)
                for share, out in [sent(tuple(o for o in found if o.ground.source == source))]
            ]
            print(f"  {kind}, every {feet} ft: {chart:.3f} {outside:.3f} of them; {'; '.join(parts)}")
            assert chart >= {4: 0.85, 6: 0.75, 8: 0.70, 10: 0.60}[feet]
            assert outside <= 0.09


@pytest.mark.parametrize("feet", [6, 8, 10])
def test_advised_readings_and_even_respacing(feet: int) -> None:
    """The same number of readings, where the advice says or all along: our own pin, no promise."""
    counts = (0, 1, 2, 4, 8)
    advised: dict[int, list[float]] = {k: [] for k in counts}
    even: dict[int, list[float]] = {k: [] for k in counts}
    for ground in grounds():
        first = ground.even(12.0 * feet)
        s, read = first, ground.read(first)
        for k in range(max(counts) + 1):
            if k in counts:
                advised[k].append(rmse(ground, fit_ground(s, read)))
                again = np.linspace(first[0], first[-1], len(first) + k)
                even[k].append(rmse(ground, fit_ground(again, ground.read(again))))
            s, read = more(s, read, np.array([widest(fit_ground(s, read))]), ground)
    print(f"\n  from every {feet} ft, rmse (mm) after " + "/".join(map(str, counts)))
    for name, rows in (("advised", advised), ("even", even)):
        print(f"  {name:8}" + " ".join(f"{np.mean(v):.1f}" for v in rows.values()))
    assert np.mean(advised[8]) <= 0.75 * np.mean(advised[0])
    assert np.mean(advised[8]) <= 1.05 * np.mean(even[8])


def rmse(ground: Ground, profile: GroundProfile) -> float:
    x = ground.x[(ground.x > profile.start) & (ground.x < profile.end)]
    return 25.4 * float(np.sqrt(np.mean((np.interp(x, ground.x, ground.z) - profile.elevation(x)) ** 2)))


def test_enough_is_true() -> None:
    said, happened = [], []
    for kind in ("even", "1 round of advice", "4 rounds of advice"):
        for ground in grounds():
            profile = KINDS[kind](ground)
            if advise(profile, imagined(profile, profile.start, profile.end)).enough:
                chance, outside = boards(ground, profile)
                said.append(chance.mean())
                happened.append(outside.mean())
    print(
        f"\n  'enough' {len(said)} times: said {np.mean(said):.3f}, happened {np.mean(happened):.3f} outside"
    )
    assert np.mean(happened) <= 0.05
