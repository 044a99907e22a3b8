"""A plan as `plan.json` holds it."""

import io
import json
from typing import Any

from fencegrade.planning.plan import FencePlan
from fencegrade.sheets.plan_json import write_plan_json


def json_text(plan: FencePlan) -> str:
    """Its text."""
    out = io.StringIO()
    write_plan_json(plan, out)
    return out.getvalue()


def as_json(plan: FencePlan) -> dict[str, Any]:
    """Its tree; what no JSON may hold, such as NaN, is refused."""

    def refuse(constant: str) -> None:
        raise AssertionError(f"{constant} is no JSON")

    found: dict[str, Any] = json.loads(json_text(plan), parse_constant=refuse)
    return found
