"""How long the command takes before it does anything, beside the libraries it stands on.

Processor time of fresh processes, least of several: pytest tests/benchmarks/bench_startup.py -m benchmark -s
"""

import pytest

pytestmark = pytest.mark.benchmark

MAIN = "from fencegrade.cli.main import main; main()"
LIBRARIES = "import numpy, typer, pydantic, scipy.interpolate, scipy.optimize, scipy.sparse, scipy.special"


def ratio(what, one, other, than):
    found = one.seconds / other.seconds
    print(f"\n{what}: {one.seconds * 1000:.0f} ms, {found:.2f} x {than} ({other.seconds * 1000:.0f} ms)")
    return found


@pytest.mark.parametrize("words", [["--help"], ["plan", "--help"], ["--version"]])
def test_help(cost_of, words):
    """Aim of the first: under 2 x importing typer."""
    took = cost_of("-c", f"import sys; sys.argv = ['fencegrade', *{words!r}]; {MAIN}", times=9)
    found = ratio(" ".join(words), took, cost_of("-c", "import typer", times=9), "importing typer")
    assert words != ["--help"] or found < 2


def test_libraries(cost_of):
    """What the parts of the package add to the libraries they import."""
    libraries = cost_of("-c", LIBRARIES)
    for part in ("job.read", "ground.survey", "cutting", "plan", "compare", "sheets.plan_json"):
        took = cost_of("-c", f"import fencegrade.{part}")
        ratio(f"import fencegrade.{part}", took, libraries, "importing its libraries")


def test_python_package(cost_of):
    """Importing the package alone loads nothing: its names come when they are used."""
    ratio("import fencegrade", cost_of("-c", "import fencegrade"), cost_of("-c", "pass"), "an empty program")
