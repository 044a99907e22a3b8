"""The package as other programs use it: jobs in memory, arrays, records, drawings, files and draws."""

import ast
import copy
import csv
import functools
import inspect
import json
import pickle
import re
import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any, get_args

import numpy as np
import pytest
from formats import format_faults
from msgspec import structs

import fencegrade
from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.fence.tops.table import StyleName, TopStyle
from fencegrade.planning.draws import MOST_NUMBERS

ROOT = Path(__file__).parents[2]
GARDEN = ROOT / "sample_runs" / "herb_garden"
LANE = ROOT / "sample_runs" / "paddock_lane"


STANDS = """
[[run]]
name = "south side"
[[run.picket]]
number = 43
far_edge = "18 ft 8-1/2 in"
[[left]]
length = "5 ft"
count = 12
"""


@pytest.fixture(scope="module")
def garden() -> fencegrade.FencePlan:
    return fencegrade.plan_fence(fencegrade.read_job(GARDEN))


@pytest.fixture(scope="module")
def lane() -> fencegrade.FencePlan:
    return fencegrade.plan_fence(fencegrade.read_job(LANE))


@pytest.fixture(scope="module")
def compared(lane: fencegrade.FencePlan) -> fencegrade.Comparison:
    return fencegrade.compare_tops(lane.job)


@pytest.fixture(scope="module")
def garden_heights(garden: fencegrade.FencePlan) -> fencegrade.Heights:
    return fencegrade.heights(garden.job)


@pytest.fixture
def no_pixels(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is drawn is written as SVG alone."""
    monkeypatch.setattr("fencegrade.sheets.folder.png_bytes", lambda figure: b"")


class TestAJobInMemory:
    @pytest.mark.parametrize("as_tables", [True, False])
    def test_is_the_job_of_the_folder(self, garden: fencegrade.FencePlan, as_tables: bool) -> None:
        text = (GARDEN / "job.toml").read_text()
        survey = (GARDEN / "south.csv").read_text().replace("\n", "\r\n")
        job = fencegrade.job_from(tomllib.loads(text) if as_tables else text, {"south.csv": survey})
        assert fencegrade.plan_fence(job).as_dict() == garden.as_dict()

    def test_takes_columns(self) -> None:
        stations, drops = np.arange(0, 44, 4), 20 + np.sin(np.arange(11))
        tables: dict[str, Any] = {
            "job": {"title": "Columns", "units": "imperial"},
            "run": [{"name": "north", "survey": "n"}],
            "pickets": {"stock": [{"length": "6 ft"}, {"length": "8 ft"}]},
        }
        notes = ['a "quoted", word', *[None] * 10]
        job = fencegrade.job_from(
            tables, {"n": {"station [ft]": stations, "drop [in]": drops, "note": notes}}
        )
        assert "top" not in tables
        ground = fencegrade.plan_fence(job).ground("north")
        assert ground.elevation(stations * 12.0) == pytest.approx(-drops)

    @pytest.mark.parametrize(
        ("surveys", "found"),
        [
            ({}, "no such survey was given"),
            ({"south.csv": ""}, "south.csv"),
            ({"south.csv": {"station [ft]": [0, 1], "drop [in]": [1]}}, "columns of 1 and 2 values"),
            ({"south.csv": {"station": [0, 60], "drop": [20, 21]}}, "has no unit"),
        ],
    )
    def test_has_the_same_mistakes(self, surveys: Any, found: str) -> None:
        with pytest.raises(fencegrade.JobMistakesError, match=found):
            fencegrade.job_from((GARDEN / "job.toml").read_text(), surveys)

    @pytest.mark.parametrize("as_tables", [True, False])
    def test_takes_what_stands(self, tmp_path: Path, as_tables: bool) -> None:
        for name in ("job.toml", "south.csv"):
            (tmp_path / name).write_text((GARDEN / name).read_text())
        (tmp_path / "built.toml").write_text(STANDS)
        job, survey = (GARDEN / "job.toml").read_text(), (GARDEN / "south.csv").read_text()
        made = fencegrade.job_from(job, {"south.csv": survey}, tomllib.loads(STANDS) if as_tables else STANDS)
        assert made.built == fencegrade.read_job(tmp_path).built
        assert made.built.run[0].picket[0].far_edge == 224.5

    def test_finds_mistakes_in_what_stands(self) -> None:
        job, survey = (GARDEN / "job.toml").read_text(), (GARDEN / "south.csv").read_text()
        with pytest.raises(fencegrade.JobMistakesError) as raised:
            fencegrade.job_from(job, {"south.csv": survey}, STANDS.replace("south side", "south slope"))
        (problem,) = raised.value.problems
        assert 'no run is called "south slope"' in problem.found
        assert "built.toml" in problem.place

    def test_changed_in_memory_is_doubted_and_assumed_anew(self) -> None:
        """What follows from a job's values follows from those it now has."""
        tables = {
            "job": {"title": "x", "units": "imperial", "kerf": "1 in"},
            "run": [{"name": "n", "survey": "n"}],
            "pickets": {"stock": [{"length": "6 ft"}]},
        }
        job = fencegrade.job_from(tables, {"n": "station [ft],drop [in]\n0,20\n8,20\n"})
        taken = {a.key: a.value for a in job.assumed}
        assert (taken["[posts] spacing"], taken["[soil] crest"]) == ("8 ft", "12 in")
        assert [p.place for p in job.notes] == ["job.toml [job] kerf"]
        other = replace(
            job, job=replace(job.job, kerf=0.125), posts=replace(job.posts, spacing=20.0, gravel=6.0)
        )
        assert [p.place for p in other.notes] == ["job.toml [posts] spacing"]
        assert taken.keys() - {a.key for a in other.assumed} == {"[posts] spacing"}
        (run,) = job.runs
        wrong = replace(job, runs=(replace(run, join="nowhere"),), top=replace(job.top, most_height=10.0))
        for planned in (fencegrade.plan_fence, fencegrade.compare_tops, fencegrade.heights):
            with pytest.raises(fencegrade.JobMistakesError) as raised:
                planned(wrong)
            places = [p.place for p in raised.value.problems]
            assert places == ["job.toml run 1, join", "job.toml [top] most_height"], "all of them at once"

    def test_is_changed_by_replacing(self, garden: fencegrade.FencePlan) -> None:
        job = garden.job
        higher = replace(job, top=replace(job.top, least_height=job.top.least_height + 2))
        tall, low = fencegrade.plan_fence(higher).pickets(), garden.pickets()
        assert (tall["top_in"] - low["top_in"]).min() == pytest.approx(2, abs=0.13)


class TestPickets:
    def test_are_those_of_the_json(self, lane: fencegrade.FencePlan) -> None:
        table, found = lane.pickets("mm"), lane.as_dict()["runs"][0]
        assert list(table["number"]) == [p["number"] for p in found["pickets"]]
        assert set(table["run"]) == {found["name"]}
        for key in ("left", "right", "bottom_left", "length", "stock", "trim", "gap", "height", "tallest"):
            values = [np.nan if p[key] is None else p[key] for p in found["pickets"]]
            assert table[f"{key}_mm"] == pytest.approx(values, abs=1e-3, nan_ok=True)

    def test_say_their_unit(self, garden: fencegrade.FencePlan) -> None:
        inches, millimetres = garden.pickets(), garden.pickets("mm")
        for name in inches.dtype.names or ():
            if name.endswith("_in"):
                other = name.removesuffix("_in") + "_mm"
                assert millimetres[other] == pytest.approx(inches[name] * 25.4, nan_ok=True)
        assert not [n for n in millimetres.dtype.names or () if n.endswith("_in")]

    def test_of_an_unknown_run(self, garden: fencegrade.FencePlan) -> None:
        with pytest.raises(KeyError) as refused:
            garden.pickets(run="nowhere")
        assert refused.value.args == ("no run is called 'nowhere'; there are south side",)


class TestTables:
    @pytest.mark.usefixtures("no_pixels")
    def test_are_the_csv_files_and_every_cell_is_clean(
        self, garden: fencegrade.FencePlan, tmp_path: Path
    ) -> None:
        """A column holds numbers alone or words alone; a heading with a unit holds numbers."""
        garden.save(tmp_path)
        assert {p.stem for p in tmp_path.glob("*.csv")} == set(garden.tables)
        for name in garden.tables:
            with (tmp_path / f"{name}.csv").open(newline="") as file:
                rows = list(csv.DictReader(file))
            records = garden.table(name)
            assert len(rows) == len(records) > 0
            for head in rows[0]:
                cells = [(row[head], record[head]) for row, record in zip(rows, records, strict=True)]
                kinds = {isinstance(value, str) for _, value in cells if value is not None}
                assert len(kinds) <= 1, (name, head)
                assert not (head.endswith("]") and True in kinds), (name, head)
                for cell, value in cells:
                    if value is None:
                        assert cell == ""
                    else:
                        assert (
                            cell == value if isinstance(value, str) else float(cell) == pytest.approx(value)
                        )

    def test_of_another_name(self, garden: fencegrade.FencePlan) -> None:
        with pytest.raises(KeyError) as refused:
            garden.table("cut chart")
        assert refused.value.args == (
            f"no table is called 'cut chart'; there are {', '.join(garden.tables)}",
        )

    def test_money_adds_up(self, garden: fencegrade.FencePlan) -> None:
        totals = [line.total for line in garden.buying.lines if line.total is not None]
        assert garden.buying.cost == pytest.approx(sum(totals), abs=0.001)
        assert garden.buying.cost == garden.as_dict()["totals"]["cost"]


class TestAnswers:
    def test_keep_their_formats(
        self,
        garden: fencegrade.FencePlan,
        compared: fencegrade.Comparison,
        garden_heights: fencegrade.Heights,
    ) -> None:
        for answer in (garden, compared, garden_heights):
            assert not list(format_faults(json.loads(json.dumps(answer.as_dict()))))

    @pytest.mark.usefixtures("no_pixels")
    def test_compared_tops_are_plans_to_go_on_with(
        self, lane: fencegrade.FencePlan, compared: fencegrade.Comparison, tmp_path: Path
    ) -> None:
        found = compared
        assert [row["top"] for row in found.table()] == [s.name for s in found.styles]
        best = found.cheapest
        assert best is not None
        assert best.plan is not None
        assert len(best.plan.pickets()) == len(lane.pickets())
        assert {"comparison.csv", "comparison.json"} <= {p.name for p in found.save(tmp_path)}
        assert found.draw().axes

    def test_heights_by_top(
        self, garden_heights: fencegrade.Heights, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        found = garden_heights
        monkeypatch.setattr("fencegrade.sheets.folder.write_heights", lambda *asked: asked)
        asked: Any = found.save("there", force=True)
        assert asked == (found, Path("there"), True)
        with pytest.raises(KeyError) as refused:
            structs.replace(found, tables=()).table("racked")
        assert refused.value.args == ("no racked line of south side can be planned",)
        moved: list[Any] = [row["moved by [in]"] for row in found.table("sloped")]
        assert moved == sorted(moved, key=float)
        assert found.draw("sloped").axes

    def test_a_figure_of_the_fence(self, garden: fencegrade.FencePlan) -> None:
        assert len(garden.draw().axes[0].texts) > 10
        with pytest.raises(KeyError):
            garden.draw("nowhere")


def doubtful() -> fencegrade.FencePlan:
    """Rough ground of our own, seldom read, under a top that follows it: many boards are marked in place."""
    stations = np.arange(0, 121, 12)
    drops = 40 + 8 * np.sin(stations / 9) + np.where(np.arange(len(stations)) % 2, 3, -3)
    tables: dict[str, Any] = {
        "job": {"title": "Rough", "units": "imperial"},
        "run": [{"name": "far side", "survey": "far", "reading_error": "1 in"}],
        "top": {"style": "contour", "least_height": "5 ft"},
        "pickets": {"stock": [{"length": f"{n} ft", "price": n - 1} for n in (5, 6, 8)]},
    }
    columns = {"station [ft]": stations, "drop [in]": drops}
    return fencegrade.plan_fence(fencegrade.job_from(tables, {"far": columns}))


class TestDraws:
    @pytest.mark.parametrize("sample", ["garden", "lane"])
    def test_as_many_stand_outside_as_their_chances_say(
        self, sample: str, request: pytest.FixtureRequest
    ) -> None:
        """Two ways to one number: the law of each board by itself, and whole grounds drawn."""
        plan: fencegrade.FencePlan = request.getfixturevalue(sample)
        pickets = plan.pickets()
        expected = pickets["chance_outside"][pickets["from_chart"]].sum()
        assert plan.draws(2000).outside.mean() == pytest.approx(expected, rel=0.2)

    def test_boards_are_short_where_they_are_and_cost_their_price(self) -> None:
        plan = doubtful()
        found = plan.draws(100, seed=3)
        prices = np.array([s.price for s in plan.stock.offered])
        assert found.lengths.tolist() == [s.length for s in plan.stock.offered]
        assert found.cost == pytest.approx((plan.buying.cost or 0) + found.short @ prices)
        assert np.array_equal(found.short, plan.draws(100, seed=3).short)
        expected = sum(float(run.doubt.short.sum()) for run in plan.runs)
        many = plan.draws(2000)
        assert (many.short.sum(axis=1) + many.unserved).mean() == pytest.approx(expected, rel=0.2)
        assert expected > 0.2
        (k, longer), there = np.flatnonzero(many.short.any(axis=0))[:2], list(plan.stock.offered)
        there[k] = replace(there[k], price=99.0)
        dear = structs.replace(plan, stock=structs.replace(plan.stock, offered=tuple(there))).draws(2000)
        assert not dear.short[:, k].any()
        assert dear.short[:, longer].tolist() == many.short[:, [k, longer]].sum(axis=1).tolist()

    def test_boards_cut_from_the_chart_are_bought_as_planned(self) -> None:
        plan = doubtful()
        runs = [
            structs.replace(
                run, flags={**run.flags, PicketFlag.MARK_IN_PLACE: np.zeros(len(run.slots), bool)}
            )
            for run in plan.runs
        ]
        found = structs.replace(plan, runs=tuple(runs)).draws(400)
        assert not found.short.any()
        assert not found.unserved.any()

    def test_sure_ground_brings_nothing_new(self, garden: fencegrade.FencePlan) -> None:
        run, profile = garden.runs[0], garden.ground()
        spread = structs.replace(
            profile.spread, variance=0 * profile.spread.variance, middle=0 * profile.spread.middle
        )
        ground = structs.replace(run.ground, profile=structs.replace(profile, spread=spread))
        sure = structs.replace(run, layout=structs.replace(run.layout, ground=ground))
        found = structs.replace(garden, runs=(sure,)).draws(5)
        assert not found.short.any()
        assert set(found.cost) == {garden.buying.cost}

    def test_no_gap_of_a_board_on_soil_is_drawn(self, garden: fencegrade.FencePlan) -> None:
        (run,) = garden.runs
        closed = structs.replace(run.closing, on_soil=np.ones(len(run.slots), dtype=bool))
        found = structs.replace(garden, runs=(structs.replace(run, closing=closed),))
        assert garden.draws(200).outside.any()
        assert not found.draws(200).outside.any()

    @pytest.mark.parametrize("count", [0, MOST_NUMBERS])
    def test_a_count_beyond_reason(self, garden: fencegrade.FencePlan, count: int) -> None:
        with pytest.raises(ValueError, match="number of draws"):
            garden.draws(count)


@pytest.mark.parametrize("copied", [lambda plan: pickle.loads(pickle.dumps(plan)), copy.deepcopy])
def test_a_plan_goes_to_another_process_whole(copied: Any) -> None:
    """Two runs with a gate and two rows of boards each, some of them up: what comes back tells the same."""
    told = tomllib.loads((GARDEN / "job.toml").read_text())
    told["pickets"]["pattern"] = "board on board"
    told["run"].append(told["run"][0] | {"name": "north side"})
    surveys = {"south.csv": (GARDEN / "south.csv").read_text()}
    stands = {"run": [{"name": "north side", "picket": [{"number": 9, "far_edge": "22 in"}]}]}
    plan = fencegrade.plan_fence(fencegrade.job_from(told, surveys, built=stands))
    again = copied(plan)
    assert again is not plan
    assert again.as_dict() == plan.as_dict()
    assert all(run.leaves and run.layout.row.any() for run in again.runs)
    boards = [list(p.families.pickets.traced()) for p in (plan, again)]
    assert boards[0] == boards[1]
    north = {name for board in boards[1] for name in board.names if name.startswith("north side")}
    assert north == {f"north side picket {k}" for k in range(10, len(again.runs[1].slots) + 1)}


def test_a_type_checker_knows_every_style() -> None:
    assert list(get_args(StyleName)) == [str(style) for style in TopStyle]
    for ask in (fencegrade.plan_fence, fencegrade.Heights.table, fencegrade.Heights.draw):
        assert set(get_args(inspect.get_annotations(ask)["style"])) >= {StyleName, TopStyle}


DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
PAGE = DEVELOPERS.partition("## Python reference")[2].partition("\n## ")[0]
STUDIED = {"fencegrade.study", "fencegrade.planning.draws", "fencegrade.ground.fit"}


def public_names() -> list[str]:
    """Every public name, and what the records of the study have of their own."""
    names = list(fencegrade.__all__)
    for name in fencegrade.__all__:
        kind = getattr(fencegrade, name)
        if inspect.isclass(kind) and not issubclass(kind, Exception):
            own = [n for n in vars(kind) if not n.startswith("_")] if kind.__module__ in STUDIED else []
            names += [f"{name}.{n}" for n in own]
    return names


def test_the_page_of_reference_is_complete() -> None:
    told = re.findall(r"^\| `([\w.]+)", PAGE, re.MULTILINE)
    assert sorted(told) == sorted(public_names())


def test_the_page_tells_what_is_taken_where_an_argument_is_left_out() -> None:
    """Each default in the reference is the function's own; a choice that is none stands there as None."""
    told = re.findall(r"^\| `([\w.]+)\(([^)]*=[^)]*)\)`", PAGE, re.MULTILINE)
    assert len(told) > 10
    for name, arguments in told:
        function: Any = functools.reduce(getattr, name.split("."), fencegrade)
        own = {k: p.default for k, p in inspect.signature(function).parameters.items()}
        for argument, default in re.findall(r"(\w+)=([^,]+)", arguments):
            assert own[argument] == ast.literal_eval(default), f"{name}({argument}={default})"


@pytest.mark.parametrize("name", [n for n in fencegrade.__all__ if n != "StyleName"])
def test_every_public_name_explains_itself(name: str) -> None:
    assert len(inspect.getdoc(getattr(fencegrade, name)) or "") > 40
