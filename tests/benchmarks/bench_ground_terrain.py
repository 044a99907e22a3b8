"""How well the ground between readings is known, measured on real ground profiles.

Takes a directory of profiles (columns station_m, elevation_m; # comments) from FENCEGRADE_TERRAIN and skips
without it. Every profile is read as a builder would: every 4, 6, 8 and 10 ft, and again with one more
reading wherever the ground leaves the line between readings by over 1-1/4 in; reading error 1/8 to 1/4 in,
rounded to 1/8 in. Run with `pytest -m benchmark -s tests/benchmarks/bench_ground_terrain.py`.
"""

from __future__ import annotations

import os
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from scipy import special

from fencegrade.ground.band import Spread
from fencegrade.ground.fit import fit_ground

pytestmark = pytest.mark.benchmark

INCHES = 1000 / 25.4
SEEDS = 3
VISIBLE = 1.25


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """One survey rebuilt: errors of the line and of straight lines, spread told, and excursions (in)."""

    profile: str
    error: np.ndarray
    straight: np.ndarray
    spread: Spread
    excursion: float


def profiles() -> dict[str, tuple[np.ndarray, np.ndarray]]:
    directory = os.environ.get("FENCEGRADE_TERRAIN")
    if not directory:
        pytest.skip("FENCEGRADE_TERRAIN names no directory of ground profiles")
    found = {}
    for path in sorted(Path(directory).glob("*.csv")):
        rows = [line.split(",") for line in path.read_text().splitlines() if line and line[0].isdigit()]
        x, z = np.array(rows, dtype=float).T * INCHES
        found[path.stem] = x, z
    return found


def survey(
    x: np.ndarray, z: np.ndarray, spacing: float, breaks: bool, rng: np.random.Generator
) -> tuple[np.ndarray, np.ndarray]:
    first = rng.uniform(0, min(spacing, 24.0))
    s = np.arange(first, x[-1] + 1e-9, spacing)
    if x[-1] - s[-1] > 0.3 * spacing:
        s = np.append(s, x[-1])
    if breaks:
        leaves = np.abs(z - np.interp(x, s, np.interp(s, x, z)))
        more = []
        for a, b in pairwise(s):
            inside = (x > a + 6) & (x < b - 6)
            if inside.any() and leaves[inside].max() > VISIBLE:
                more.append(x[inside][np.argmax(leaves[inside])])
        s = np.sort(np.append(s, more))
    error = rng.uniform(1 / 8, 1 / 4)
    return s, np.round(8 * (np.interp(s, x, z) + rng.normal(0, error, len(s)))) / 8


def outcomes(breaks: bool) -> list[Outcome]:
    results = []
    for name, (x, z) in profiles().items():
        for feet in (4, 6, 8, 10):
            for seed in range(SEEDS):
                rng = np.random.default_rng([sum(map(ord, name)), feet, int(breaks), seed])
                s, read = survey(x, z, 12.0 * feet, breaks, rng)
                at = np.union1d(x[(x > s[0]) & (x < s[-1])], np.arange(s[0] + 3, s[-1] - 3, 5.75))
                truth, profile = np.interp(at, x, z), fit_ground(s, read)
                line = profile.elevation(at)
                i = np.clip(np.searchsorted(s, at, side="right") - 1, 0, len(s) - 2)
                beyond = np.maximum(
                    line - np.maximum(read[i], read[i + 1]), np.minimum(read[i], read[i + 1]) - line
                )
                results.append(
                    Outcome(
                        profile=name,
                        error=truth - line,
                        straight=truth - np.interp(at, s, read),
                        spread=profile.spread.at(at),
                        excursion=float(beyond.max()),
                    )
                )
    return results


def crps(error: np.ndarray, spread: Spread) -> np.ndarray:
    """Continuous ranked probability score of a Student t (Jordan, Krueger & Lerch, J. Stat. Softw. 90,
    2019)."""
    scale, v = spread.scale, spread.freedom
    z = error / scale
    density = (1 + z**2 / v) ** (-(v + 1) / 2) / (np.sqrt(v) * special.beta(0.5, v / 2))
    tail = 2 * np.sqrt(v) / (v - 1) * special.beta(0.5, v - 0.5) / special.beta(0.5, v / 2) ** 2
    return scale * (z * (2 * special.stdtr(v, z) - 1) + 2 * density * (v + z**2) / (v - 1) - tail)


@pytest.mark.parametrize("breaks", [False, True], ids=["regular", "with breaks"])
def test_goals_on_real_ground(breaks: bool) -> None:
    found = outcomes(breaks)
    inside = {
        level: [np.mean(np.abs(o.error) <= o.spread.half_width(level)) for o in found]
        for level in (0.95, 0.8, 0.5)
    }
    cover = {level: float(np.mean(shares)) for level, shares in inside.items()}
    by_line: dict[str, list[float]] = {}
    for o, share in zip(found, inside[0.95], strict=True):
        by_line.setdefault(o.profile, []).append(float(share))
    worst = min(float(np.mean(v)) for v in by_line.values())
    sharp = np.mean([crps(o.error, o.spread).mean() / np.abs(o.straight).mean() for o in found])
    said = np.concatenate([2 * o.spread.beyond(0.5) for o in found])
    off = np.concatenate([np.abs(o.error) > 0.5 for o in found])
    skill = 1 - np.mean((said - off) ** 2) / (off.mean() * (1 - off.mean()))
    rmse = np.mean([np.sqrt(np.mean(o.error**2)) for o in found])
    straight = np.mean([np.sqrt(np.mean(o.straight**2)) for o in found])
    print(
        f"\n{'with breaks' if breaks else 'regular'}: rmse {25.4 * rmse:.1f} mm (straight "
        f"{25.4 * straight:.1f}), "
        f"cover {cover[0.95]:.3f} {cover[0.8]:.3f} {cover[0.5]:.3f}, worst line {worst:.3f}, CRPS ratio "
        f"{sharp:.3f}, "
        f"said {said.mean():.3f} happened {off.mean():.3f}, Brier skill {skill:.3f}"
    )
    assert max(o.excursion for o in found) <= 1e-9
    assert 0.90 <= cover[0.95] <= 0.98
    assert 0.74 <= cover[0.8] <= 0.88
    assert 0.42 <= cover[0.5] <= 0.65
    assert worst >= 0.80
    assert sharp <= (0.95 if breaks else 0.80)
    assert abs(said.mean() - off.mean()) <= 0.07
    assert skill >= 0.10
    assert rmse / straight <= 1.02
