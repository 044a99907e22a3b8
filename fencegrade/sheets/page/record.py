"""The record of what stands as the page carries it on: the job's own, and what hanging a board adds to it."""

from dataclasses import replace
from typing import Any

from fencegrade.building.record import as_it_hangs, with_lists
from fencegrade.job.as_built import AsBuilt, BuiltRun
from fencegrade.job.write import file_lines
from fencegrade.planning.plan import FencePlan
from fencegrade.units import UnitSystem

_ROWS = ("picket", "post", "measured")


def record_view(plan: FencePlan) -> dict[str, Any]:
    """The job's record for the page's script.

    Run by run the `text` of what is no numbered row once a board hangs, `bare` as it is without; the numbered
    rows by number, each key with its value as TOML has it; and the boards left.
    """
    built, system = plan.job.built, plan.job.units
    listed = with_lists(built, plan)
    rest = (as_it_hangs(listed, plan, k) for k in range(len(plan.runs)))
    return {
        "runs": {
            run.name: {
                "text": _text(run, system),
                "bare": _text(built.of(run.name), system),
                **{key: _rows(run, key, system) for key in _ROWS},
            }
            for run in rest
        },
        "left": None if built.left is None else [_pairs(AsBuilt(left=(row,)), system) for row in built.left],
    }


def _text(run: BuiltRun, system: UnitSystem) -> str:
    rest = replace(run, picket=(), post=(), measured=())
    return "\n".join(file_lines(AsBuilt(run=(rest,)), system)).strip()


def _rows(run: BuiltRun, key: str, system: UnitSystem) -> dict[int, dict[str, str]]:
    rows: tuple[Any, ...] = getattr(run, key)
    own: list[dict[str, Any]] = [{key: (row,)} for row in rows]
    alone = [AsBuilt(run=(replace(BuiltRun(name=run.name), **one),)) for one in own]
    return {row.number: _pairs(one, system) for row, one in zip(rows, alone, strict=True)}


def _pairs(built: AsBuilt, system: UnitSystem) -> dict[str, str]:
    """The keys of the last table of a record, with their values as they are written."""
    lines = list(file_lines(built, system))
    first = max(k for k, line in enumerate(lines) if line.startswith("[[")) + 1
    pairs = (line.split(" = ", 1) for line in lines[first:])
    return {name: value for name, value in pairs if name != "number"}
