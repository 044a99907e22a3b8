"""What the benchmarks share: processor time of a fresh process, long jobs, and a table of how time grows."""

import os
import subprocess
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import log
from pathlib import Path

import numpy as np
import pytest

JOB = """
[job]
title = "Long paddock"
units = "imperial"
[[run]]
name = "far side"
survey = "far.csv"
start = "0 in"
end = "{length:.3f} in"
[top]
style = "level"
least_height = "5 ft"
[pickets]
width = "5-1/2 in"
spacing = "1/4 in"
top_end = "pointed"
[[pickets.stock]]
length = "6 ft"
price = 4.10
[[pickets.stock]]
length = "8 ft"
price = 6.85
"""
MOST_READINGS = 99_999


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """What a process took: `seconds` of processor time, and `memory` in MB at its height.

    A process starts as a copy of this one, so that its memory is never under what this one has.
    """

    seconds: float
    memory: float


@pytest.fixture(scope="session")
def run_once(tmp_path_factory: pytest.TempPathFactory) -> Callable[..., Cost]:
    """What a fresh interpreter takes with some arguments; modules stay compiled from one run to the next."""
    outside = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    compiled = str(tmp_path_factory.mktemp("compiled"))
    environment = outside | {"PYTHONPYCACHEPREFIX": compiled, "OMP_NUM_THREADS": "1"}

    def once(*arguments: str) -> Cost:
        process = subprocess.Popen([sys.executable, *arguments], env=environment, stdout=subprocess.DEVNULL)
        _, status, used = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
        assert process.returncode == 0, arguments
        return Cost(seconds=used.ru_utime + used.ru_stime, memory=used.ru_maxrss / 1024)

    return once


@pytest.fixture(scope="session")
def cost_of(run_once: Callable[..., Cost]) -> Callable[..., Cost]:
    """Least processor time and memory of several runs of a fresh interpreter with some arguments."""

    def cost(*arguments: str, times: int = 5) -> Cost:
        if times > 1:
            run_once(*arguments)  # compiles what it imports
        costs = [run_once(*arguments) for _ in range(times)]
        return Cost(seconds=min(c.seconds for c in costs), memory=min(c.memory for c in costs))

    return cost


@pytest.fixture(scope="session")
def ratio_of(run_once: Callable[..., Cost]) -> Callable[[str, str, str], float]:
    """Processor time of one program over that of another, run in turn seven times; least of each, printed."""

    def ratio(what: str, one: str, other: str) -> float:
        pairs = [[run_once("-c", code).seconds for code in (one, other)] for _ in range(8)]
        least, than = (min(took) for took in zip(*pairs[1:], strict=True))
        print(f"\n{what}: {least * 1000:.0f} ms over {than * 1000:.0f} ms, {least / than:.2f}")
        return float(least / than)

    return ratio


@pytest.fixture
def long_job(tmp_path: Path) -> Callable[[int], Path]:
    """Writes a job of so many pickets on waves of ground, read every few pickets."""

    def write(pickets: int) -> Path:
        folder = tmp_path / f"job{pickets}"
        folder.mkdir()
        length = pickets * 5.75 - 0.25
        stations = np.linspace(0, length, min(MOST_READINGS, max(25, pickets // 9)) + 1)
        ground = 40 + 6 * np.sin(stations / 900) + np.random.default_rng(1).normal(0, 0.3, len(stations))
        rows = "".join(f"{x:.3f},{z:.3f}\n" for x, z in zip(stations, ground, strict=True))
        (folder / "far.csv").write_text(f"station [in],elevation [in]\n{rows}")
        (folder / "job.toml").write_text(JOB.format(length=length))
        return folder

    return write


@pytest.fixture(scope="session")
def growth() -> Callable[[str, Sequence[int], Sequence[float]], float]:
    """Prints times by size; gives the power of the size by which the last step grew."""

    def show(what: str, sizes: Sequence[int], seconds: Sequence[float]) -> float:
        print(f"\n{what}")
        power = 0.0
        for k, (size, took) in enumerate(zip(sizes, seconds, strict=True)):
            if k:
                power = log(took / seconds[k - 1]) / log(size / sizes[k - 1])
            print(f"  {size:>9,}  {took:8.3f} s" + (f"  grows as n^{power:.2f}" if k else ""))
        return power

    return show
