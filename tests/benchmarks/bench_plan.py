"""How long a typical plan takes, alone, compared, and with every sheet, and what its ten slowest parts are.

Processor time of fresh processes, least of several: pytest tests/benchmarks/bench_plan.py -m benchmark -s
"""

import cProfile
import io
import pstats
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from fencegrade.planning.layout import read_and_survey
from fencegrade.planning.plan import plan_on
from fencegrade.planning.tops import styles_asked
from fencegrade.sheets.folder import write_plan_sheets
from fencegrade.sheets.plan_json import write_plan_json

pytestmark = pytest.mark.benchmark

MAIN = "from fencegrade.cli.main import main; main()"
LIBRARIES = "import numpy, typer, pydantic, scipy.interpolate, scipy.optimize, scipy.sparse, scipy.special"
EMPTY_PAGE = f"""
{LIBRARIES}
import io, jinja2
from matplotlib.figure import Figure
from reportlab.pdfgen.canvas import Canvas
figure = Figure()
figure.add_subplot()
figure.savefig(io.BytesIO(), format="svg")
figure.savefig(io.BytesIO(), format="png", dpi=150)
page = Canvas(io.BytesIO())
page.drawString(72, 72, "page")
page.save()
"""
HUNDRED_FEET = 209
"""Pickets of 5-1/2 in with 1/4 in between, in 100 ft."""
LongJob = Callable[[int], Path]


@pytest.fixture
def run(cost_of: Callable[..., Any]) -> Callable[..., Any]:
    def fencegrade(*words: object, times: int = 5) -> Any:
        return cost_of(
            "-c", f"import sys; sys.argv = ['fencegrade', *{list(map(str, words))!r}]; {MAIN}", times=times
        )

    return fencegrade


def told(what: str, one: Any, other: Any, than: str, aim: float) -> float:
    found: float = one.seconds / other.seconds
    print(f"\n{what}: {one.seconds:.2f} s, {found:.2f} x {than} ({other.seconds:.2f} s), aim {aim}")
    return found


def test_plan_of_a_hundred_feet(
    run: Callable[..., Any], cost_of: Callable[..., Any], long_job: LongJob
) -> None:
    plan, libraries = run("plan", long_job(HUNDRED_FEET), "--json"), cost_of("-c", LIBRARIES)
    told("plan --json", plan, libraries, "importing its libraries", 1.5)


def test_compare_of_a_hundred_feet(run: Callable[..., Any], long_job: LongJob) -> None:
    job = long_job(HUNDRED_FEET)
    found = told(
        "compare --json", run("compare", job, "--json"), run("plan", job, "--json"), "plan --json", 3
    )
    assert found < 3


def test_every_sheet_of_a_hundred_feet(
    run: Callable[..., Any], cost_of: Callable[..., Any], long_job: LongJob, tmp_path: Path
) -> None:
    sheets = run("plan", long_job(HUNDRED_FEET), "--out", tmp_path / "sheets", "--force", times=3)
    empty = cost_of("-c", EMPTY_PAGE, times=3)
    told("plan --out", sheets, empty, "importing its libraries and drawing an empty page", 2.5)


def slowest(what: str, work: Callable[[], object]) -> None:
    profile = cProfile.Profile()
    profile.runcall(work)
    lines = io.StringIO()
    pstats.Stats(profile, stream=lines).sort_stats("tottime").print_stats(10)
    print(f"\nslowest of {what}\n" + "\n".join(x for x in lines.getvalue().splitlines() if x.strip())[:2000])


def test_ten_slowest(long_job: LongJob, tmp_path: Path) -> None:
    job, grounds, found = read_and_survey(long_job(HUNDRED_FEET))
    plans = []
    slowest("planning", lambda: plans.append(plan_on(job, grounds, styles_asked(job), found)))
    slowest("plan.json", lambda: write_plan_json(plans[0], io.StringIO()))
    slowest("every sheet", lambda: write_plan_sheets(plans[0], tmp_path / "sheets"))
