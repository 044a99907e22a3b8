"""Every answer for other programs keeps the format whose schema lies in the package."""

import json
import sys
from collections.abc import Callable
from itertools import product
from pathlib import Path
from typing import Any

import pytest
from formats import NAMES, format_faults, schema_text
from leaning import leaning

from fencegrade.building.lean import Toward
from fencegrade.fence.bays.given_posts import PostKind
from fencegrade.fence.low_ground.gaps import GapAction
from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.fence.pickets.relay import RelayKind
from fencegrade.fence.tops.table import TopStyle
from fencegrade.job.choices import HingePost, LeafShape, LowGround, SwingSide
from fencegrade.job.survey import Side
from fencegrade.problems import Severity
from fencegrade.units import UnitSystem

sys.path.insert(0, str(Path(__file__).parents[1] / "benchmarks" / "fuzz"))

import fuzz_jobs
import fuzz_values

ROOT = Path(__file__).parents[2]
SAMPLES = ROOT / "sample_runs"
Run = Callable[..., Any]


def answer(run: Run, *words: str | Path) -> Any:
    """What a command prints with `--json`, which must be sound."""
    done = run(*words, "--json")
    assert (done.status, done.err) == (0, ""), words
    found = json.loads(done.out)
    assert not list(format_faults(found)), words
    return found


KEPT = {
    "plan": "sheets/plan.json",
    "check": "ground/check.json",
    "compare": "tops/comparison.json",
    "heights": "heights/heights.json",
}
"""What the commands gave on the first sample, which `test_samples.py` holds to what they give now."""


@pytest.mark.parametrize(
    ("sample", "command"),
    # the tops of the other sample are compared in tests/unit/test_study.py
    [*product(["herb_garden"], KEPT), *product(["paddock_lane"], ["plan", "check", "heights"])],
)
def test_every_answer_on_the_samples(run: Run, command: str, sample: str) -> None:
    if sample == "herb_garden":
        found = json.loads((SAMPLES / sample / KEPT[command]).read_text(encoding="utf-8"))
        assert not list(format_faults(found))
    else:
        found = answer(run, command, SAMPLES / sample)
    if command == "plan":
        costs = [round(line["cost"] * 100) for line in found["buying"] if line["cost"] is not None]
        assert (
            round(found["totals"]["cost"] * 100)
            == sum(costs)
            == round(sum(found["totals"]["cost_by_run"]) * 100)
        )
        lengths = sorted(picket["length"] for r in found["runs"] for picket in r["pickets"])
        boards = found["cutting"]["pickets"]["boards"]
        assert sorted(piece for b in boards for piece in b["pieces"] * b["count"]) == lengths


def test_the_other_answers_on_the_samples(run: Run) -> None:
    answer(run, "boards", SAMPLES / "planter_boards.json")
    answer(run, "resume", SAMPLES / "herb_garden", "--after", "43", "--at", "18 ft 8-1/2 in")
    answer(run, "resume", SAMPLES / "paddock_lane", "--after", "12", "--at", "1.30 m", "--left", "1.5 m:40")
    answer(run, "plumb", *leaning("9 mm", "1.2 m", "end"))
    answer(
        run,
        "plumb",
        *leaning("3/8 in"),
        "--job",
        SAMPLES / "herb_garden",
        "--after",
        "9",
    )


@pytest.mark.parametrize("tree", [fuzz_jobs.IMPERIAL, fuzz_jobs.METRIC, fuzz_jobs.POINTS])
def test_odd_jobs(run: Run, tmp_path: Path, tree: Any) -> None:
    """Two set-ups, faces, a level book, points, roots, a site, kickboards, several pieces a board."""
    for name, text in fuzz_jobs.SURVEYS.items():
        (tmp_path / name).write_text(text)
    (tmp_path / "job.toml").write_text(fuzz_values.toml_text(tree))
    for command in ("plan", "check"):
        answer(run, command, tmp_path)


def test_bare_surveys_and_lists(run: Run, tmp_path: Path) -> None:
    for name, text in (fuzz_jobs.SURVEYS | fuzz_jobs.LISTS).items():
        (tmp_path / name).write_text(text)
    answer(run, "check", tmp_path / "e.csv")
    for name in fuzz_jobs.LISTS:
        answer(run, "boards", tmp_path / name)


def at(schema: Any, *path: str) -> Any:
    """A part of a schema by the keys an answer has on the way there."""
    for key in path:
        schema = schema["properties"][key] if key else schema["items"]
    return schema


WORDS: dict[tuple[str, ...], Any] = {
    ("plan", "units"): UnitSystem,
    ("plan", "runs", "", "top"): TopStyle,
    ("plan", "runs", "", "pickets", "", "flags", ""): PicketFlag,
    ("plan", "runs", "", "posts", "", "kind"): PostKind,
    ("plan", "runs", "", "gaps", "", "action"): GapAction,
    ("plan", "runs", "", "gates", "", "swing"): SwingSide,
    ("plan", "runs", "", "gates", "", "hung", "", "hinge"): HingePost,
    ("plan", "runs", "", "gates", "", "hung", "", "leaf"): LeafShape,
    ("plan", "soil", "choice"): LowGround,
    ("plan", "problems", "", "severity"): Severity,
    ("check", "runs", "", "elevations", "", "side"): Side,
    ("resume", "others", "", "kind"): RelayKind,
    ("plumb", "toward"): Toward,
}


@pytest.mark.parametrize("path", WORDS, ids=".".join)
def test_words_of_a_choice_are_all_named(path: tuple[str, ...]) -> None:
    schema = json.loads(schema_text(path[0]))
    assert at(schema, *path[1:])["enum"] == [str(word) for word in WORDS[path]]


@pytest.mark.parametrize("name", NAMES)
def test_everything_described_has_a_description(name: str) -> None:
    def walk(schema: Any, place: str) -> None:
        for key, part in schema.get("properties", {}).items():
            assert part.get("description") or "$ref" in part, f"{place}.{key}"
            walk(part, f"{place}.{key}")
        if isinstance(schema.get("items"), dict):
            walk(schema["items"], f"{place}[]")

    walk(json.loads(schema_text(name)), name)


def test_a_broken_answer_is_found(run: Run) -> None:
    found = answer(run, "plumb", *leaning("9 mm", "1.2 m"))
    for key, value in (("boards", "4"), ("toward", "up"), ("more", 1), ("format", "fencegrade-lean/1")):
        assert list(format_faults(found | {key: value})), key
    del found["taper"]
    assert list(format_faults(found))
