"""How long each command takes beside the libraries it stands on, of which no answer can be quicker.

Processor time of fresh processes in turn, least of seven:
pytest tests/benchmarks/bench_startup.py -m benchmark -s
"""

from collections.abc import Callable
from pathlib import Path

import pytest

pytestmark = pytest.mark.benchmark

SAMPLES = Path(__file__).parents[2] / "sample_runs"
GARDEN = str(SAMPLES / "herb_garden")
LIBRARIES = "import numpy, scipy.interpolate, scipy.optimize, pydantic"
EMPTY_SHEETS = f"""{LIBRARIES}, jinja2, io
from matplotlib.figure import Figure
from reportlab.pdfgen.canvas import Canvas
figure = Figure()
figure.add_subplot()
for kind in ("svg", "png"):
    figure.savefig(io.BytesIO(), format=kind)
page = Canvas(io.BytesIO())
page.drawString(72, 72, "empty")
page.save()
"""


def command(*words: str) -> str:
    return f"import sys; from fencegrade.cli.main import main; sys.argv = ['fencegrade', *{words!r}]; main()"


ANSWERS = {
    "plan --json": ("plan", GARDEN, "--json"),
    "check": ("check", GARDEN),
    "heights": ("heights", GARDEN),
    "heights --json": ("heights", GARDEN, "--json"),
    "resume": ("resume", GARDEN, "--after", "43", "--at", "18 ft 8-1/2 in"),
    "boards": ("boards", str(SAMPLES / "planter_boards.json")),
}


def test_help(ratio_of: Callable[[str, str, str], float]) -> None:
    """At most 2 x importing typer."""
    assert ratio_of("--help over importing typer", command("--help"), "import typer") < 2


@pytest.mark.parametrize("what", ANSWERS)
def test_answers(ratio_of: Callable[[str, str, str], float], what: str) -> None:
    """At most 1.5 x the libraries for `plan --json`, 1.6 x for the others."""
    most = 1.5 if what == "plan --json" else 1.6
    assert ratio_of(f"{what} over its libraries", command(*ANSWERS[what]), LIBRARIES) < most


def test_sheets(ratio_of: Callable[[str, str, str], float], tmp_path: Path) -> None:
    """At most 2.2 x the libraries with an empty figure and an empty page."""
    words = command("plan", GARDEN, "--out", str(tmp_path / "sheets"))
    assert ratio_of("plan --out over empty sheets", words, EMPTY_SHEETS) < 2.2


def test_python_package(ratio_of: Callable[[str, str, str], float]) -> None:
    """Importing the package alone loads nothing: its names come when they are used."""
    assert ratio_of("import fencegrade over an empty program", "import fencegrade", "pass") < 2
