"""One job in several datums, units and chainages: the cuts are the same to the tape mark.

A survey in a national datum has elevations such as 41234.56789 m; its last digits are what the fence is cut
by, and nothing on the way may lose them.
"""

import math
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from in_json import as_json

from fencegrade.job.read import read_job
from fencegrade.planning.plan import FencePlan, plan_fence

pytestmark = pytest.mark.usefixtures("soil_by_volume")
"""Half a metre is another order of soil than half a yard, and may make another choice the cheaper."""

STYLES = ["level", "sloped", "stepped", "racked", "contour"]
STATIONS = [Decimal(n) / 10 for n in (0, 12, 25, 37, 51, 64, 73, 88, 100, 116, 130)]
HEIGHTS = [
    Decimal(n) / 100_000
    for n in (51234, 46789, 38121, 29987, 12345, 10111, 16543, 29999, 35353, 40404, 41441)
]
DATUMS = ["0", "41234.56789", "-41234.56789", "123456.78901", "8848.86"]


def written(
    folder: Path,
    survey: str,
    units: str = "metric",
    tables: str = "",
    soil: float = 40.0,
    style: str | None = None,
) -> FencePlan:
    folder.mkdir()
    stock = ("1.5 m", "1.8 m", "2.1 m", "2.4 m")
    (folder / "lane.csv").write_text(survey)
    (folder / "job.toml").write_text(
        f'[job]\ntitle = "Herb garden"\nunits = "{units}"\ntape = "1 mm"\nkerf = "3 mm"\n'
        '[[run]]\nname = "lane"\nsurvey = "lane.csv"\n'
        f'{tables}[top]\nleast_height = "1.5 m"\nmost_height = "2 m"\n'
        '[pickets]\nwidth = "90 mm"\nspacing = "12 mm"\nclearance = "50 mm"\nmost_gap = "80 mm"\n'
        + "".join(f'[[pickets.stock]]\nlength = "{s}"\nprice = {k + 2.5}\n' for k, s in enumerate(stock))
        + '[posts]\nwidth = "90 mm"\nspacing = "2.4 m"\nheight = "-150 mm"\nhole_diameter = "250 mm"\n'
        'least_depth = "600 mm"\n[[posts.stock]]\nlength = "2.4 m"\n[[posts.stock]]\nlength = "3.6 m"\n'
        '[rails]\nheight = "90 mm"\n[[rails.stock]]\nlength = "3 m"\n[[rails.stock]]\nlength = "3.6 m"\n'
        f'[soil]\nlow_ground = "cheapest"\nprice = {soil}\nmost_depth = "150 mm"\ncrest = "300 mm"\n'
        'least_length = "600 mm"\n'
    )
    return plan_fence(read_job(folder), style)


def survey(datum: str = "0", chainage: str = "0", scale: int = 1) -> str:
    """Elevations in metres with five decimals, in a datum and from a chainage."""
    rows = zip(STATIONS, HEIGHTS, strict=True)
    return "station [m],elevation [m]\n" + "".join(
        f"{x * scale + Decimal(chainage)},{z + Decimal(datum):.5f}\n" for x, z in rows
    )


@cache
def told(plan: FencePlan) -> dict[str, Any]:
    """The plan in JSON, told once."""
    return as_json(plan)


def cuts(plan: FencePlan) -> list[tuple[int, int, list[str]]]:
    """What is done at the saw, picket by picket: tape marks kept, the board it comes from, its flags."""
    found = told(plan)["runs"][0]["pickets"]
    kept = plan.runs[0].cuts.kept.tolist()
    return [(k, p["stock"], p["flags"]) for k, p in zip(kept, found, strict=True)]


@pytest.fixture(scope="module")
def at_zero(tmp_path_factory: pytest.TempPathFactory) -> dict[str, FencePlan]:
    folder = tmp_path_factory.mktemp("zero")
    plan = written(folder / "job", survey())
    return {style: plan_fence(plan.job, style) for style in STYLES}


@pytest.mark.parametrize("style", STYLES)
@pytest.mark.parametrize("datum", DATUMS[1:])
def test_a_large_datum_changes_no_cut(
    tmp_path: Path, at_zero: dict[str, FencePlan], datum: str, style: str
) -> None:
    moved = written(tmp_path / "job", survey(datum), style=style)
    here = at_zero[style]
    assert cuts(moved) == cuts(here)
    assert told(moved)["totals"] == told(here)["totals"]
    assert told(moved)["cutting"] == told(here)["cutting"]
    for run, other in zip(told(moved)["runs"], told(here)["runs"], strict=True):
        assert run["rails"] == other["rails"]
        for one, two in zip(run["posts"], other["posts"], strict=True):
            for key in ("station", "above_ground", "depth", "stock"):
                assert one[key] == pytest.approx(two[key], abs=2e-4)
        shift = float(Decimal(datum)) * 1000
        for (x, z), (u, w) in zip(run["top_line"], other["top_line"], strict=True):
            assert (x, z - shift) == (pytest.approx(u, abs=2e-4), pytest.approx(w, abs=2e-3))


@pytest.mark.parametrize("style", STYLES)
def test_a_large_chainage_changes_no_cut(tmp_path: Path, at_zero: dict[str, FencePlan], style: str) -> None:
    """Stations that count from a road's start, 12,345 m away."""
    moved = written(tmp_path / "job", survey(chainage="12345"), style=style)
    assert cuts(moved) == cuts(at_zero[style])
    for one, two in zip(
        told(moved)["runs"][0]["pickets"], told(at_zero[style])["runs"][0]["pickets"], strict=True
    ):
        assert one["left"] - 12_345_000 == pytest.approx(two["left"], abs=2e-4)
        assert one["gap"] == pytest.approx(two["gap"], abs=2e-3)


@pytest.mark.parametrize("style", STYLES)
def test_metric_and_imperial_words_for_one_job_agree(
    tmp_path: Path, at_zero: dict[str, FencePlan], style: str
) -> None:
    """The same yard read in inches and feet to many decimals, cut to the same millimetre marks."""
    inches = Decimal("25.4")
    rows = "".join(
        f"{x * 1000 / inches / 12:.12f},{z * 1000 / inches:.12f}\n"
        for x, z in zip(STATIONS, HEIGHTS, strict=True)
    )
    cubic_yard = 0.9144**3  # soil is priced by it there and by the cubic metre here
    survey = "station [ft],elevation [in]\n" + rows
    other = written(tmp_path / "job", survey, units="imperial", soil=40.0 * cubic_yard, style=style)
    assert other.runs[0].cuts.kept.tolist() == at_zero[style].runs[0].cuts.kept.tolist()
    here, there = told(at_zero[style])["runs"][0]["pickets"], told(other)["runs"][0]["pickets"]
    for one, two in zip(here, there, strict=True):
        for key in ("left", "right", "length", "gap", "height", "stock"):
            assert two[key] * 25.4 == pytest.approx(one[key], abs=2e-3)


def test_points_on_a_national_grid(tmp_path: Path) -> None:
    """x and y of seven digits, z of five decimals: the cuts are those of the same points about zero."""
    ends = '{k} = ["{x} m", "{y} m"]\n'
    found = []
    for number, (east, north, up) in enumerate(
        (("0", "0", "0"), ("3512345.678", "5412345.321", "41234.56789"))
    ):
        rows = "".join(
            f"{Decimal(east) + x * Decimal('0.8')},{Decimal(north) + x * Decimal('0.6')},{z + Decimal(up)}\n"
            for x, z in zip(STATIONS, HEIGHTS, strict=True)
        )
        last = STATIONS[-1]
        keys = ends.format(k="from_xy", x=east, y=north) + ends.format(
            k="to_xy", x=Decimal(east) + last * Decimal("0.8"), y=Decimal(north) + last * Decimal("0.6")
        )
        plan = written(tmp_path / str(number), "x [m],y [m],z [m]\n" + rows, tables=keys)
        found.append(cuts(plan))
    assert found[0] == found[1]


def test_a_level_book_on_a_high_benchmark(tmp_path: Path) -> None:
    """Sights of a few metres from a benchmark at 4,321.98765 m: the cuts are those from one at zero."""
    book = "station [m],backsight [m],intermediate [m],foresight [m],known [m]\n,1.512,,,{b}\n"
    book += "".join(f"{x},,{Decimal('1.9') - z:.5f},,\n" for x, z in zip(STATIONS, HEIGHTS, strict=True))
    book += ",,,1.511,\n"
    plans = [written(tmp_path / b, book.replace("{b}", b)) for b in ("0", "4321.98765", "41234.56789")]
    assert cuts(plans[0]) == cuts(plans[1]) == cuts(plans[2])


@pytest.mark.parametrize("style", STYLES)
def test_every_number_of_the_plan_is_finite(at_zero: dict[str, FencePlan], style: str) -> None:
    def numbers(value: Any) -> list[float]:
        if isinstance(value, dict):
            return [n for v in value.values() for n in numbers(v)]
        if isinstance(value, list):
            return [n for v in value for n in numbers(v)]
        return [value] if isinstance(value, int | float) else []

    found = numbers(told(at_zero[style]))
    assert len(found) > 1000
    assert all(math.isfinite(n) for n in found)
