"""The page for the phone: the whole plan as one HTML file that needs nothing else, no network either."""

import json
from collections.abc import Callable, Sequence
from functools import partial
from typing import Any

from markupsafe import Markup

from fencegrade.fence.gates.gates import CAUTIONS as GATE_CAUTIONS
from fencegrade.job.choices import BottomCut
from fencegrade.planning.buying import buying_list
from fencegrade.planning.plan import FencePlan
from fencegrade.planning.run import RunPlan
from fencegrade.problems import Severity
from fencegrade.sheets.cautions import CHECK_THREE, Caution, Work
from fencegrade.sheets.charts import end_to_cut
from fencegrade.sheets.digging import before_digging, is_checked
from fencegrade.sheets.drawings.elevation import elevation_figures
from fencegrade.sheets.drawings.save import svg_bytes
from fencegrade.sheets.facts import before_buying, cost_words, grounds_of, provisional_words
from fencegrade.sheets.page.assets import asset, content_policy, template
from fencegrade.sheets.page.drawing import inline_svg
from fencegrade.sheets.page.record import record_view
from fencegrade.sheets.page.views import (
    MOST_PICKETS,
    TableView,
    board_views,
    chart_words,
    gate_views,
    plan_facts,
    run_views,
    table_view,
)
from fencegrade.sheets.plan_cautions import cautions
from fencegrade.sheets.practice import KICKBOARD
from fencegrade.sheets.rail_lines import slanted_words
from fencegrade.sheets.schedules import (
    buying_table,
    gap_is_closed,
    gap_table,
    nothing_to_buy,
    post_is_set,
    post_table,
    rail_table,
    wind_table,
)
from fencegrade.sheets.sources import sources_used
from fencegrade.sheets.tables import Cell, Table
from fencegrade.units.exact_text import exact_length

MOST_DRAWINGS = 12
"""Drawings one page shows, 80 ft of fence each."""
_MOST_BOARDS = 500
"""Boards of one list that says which board gives which piece."""

_SCRIPTS = ("lengths.js", "kept.js", "measured.js", "page.js")
_PLACES = {
    Work.PLANNING: "dig",
    Work.DIGGING: "dig",
    Work.CUTTING: "cut",
    Work.POSTS: "posts",
    Work.FIXING: "rails",
    Work.SOIL: "low",
    Work.LIFTING: "buy",
    Work.SITE: "glance",
}
"""The section of the page that lists the work a caution belongs to."""


def phone_page(plan: FencePlan, drawings: Sequence[bytes] | None = None, most: int = MOST_PICKETS) -> bytes:
    """The page for the phone, one self-contained HTML file.

    `drawings`: the plan's elevations as SVG files where they are made already; `most`: how many pickets the
    page shows, the rest being named in words. The same plan gives the same bytes.
    """
    css, script = asset("page.css"), "".join(map(asset, _SCRIPTS))
    html = template("page.html.jinja").render(
        css=Markup(css),
        script=Markup(script),
        policy=content_policy(css, script),
        **_content(plan, most),
        drawings=_drawn(plan, drawings),
        most_drawings=MOST_DRAWINGS,
    )
    return html.encode()


def _content(plan: FencePlan, most: int) -> dict[str, Any]:
    """Everything the template shows but the drawings."""
    words, job = plan.words, plan.job
    runs, gates = list(run_views(plan, most)), list(gate_views(plan))
    bought = buying_list(plan)
    return {
        "title": job.title,
        "system": str(job.units),
        "mark": f"{plan.mark:.9g}",
        "clear": f"{job.pickets.clearance:.6g}",
        "scribed": int(job.pickets.bottom_cut is BottomCut.SCRIBED),
        "stock_lengths": [
            (words.sold_length(s.length), exact_length(s.length, words.system)) for s in plan.stock.offered
        ],
        "record": json.dumps(record_view(plan), ensure_ascii=False),
        "facts": list(plan_facts(plan)),
        "check_three": CHECK_THREE,
        "chart_words": [end_to_cut(plan), *chart_words(plan)],
        "runs": runs,
        "shown": sum(len(bay.cards) for run in runs for bay in run.bays),
        "coming": sum(not card.stands for run in runs for bay in run.bays for card in bay.cards),
        "up": sum(card.stands for run in runs for bay in run.bays for card in bay.cards),
        "count": sum(r.count for r in runs),
        "gates": gates,
        "gate_cautions": GATE_CAUTIONS,
        "posts": _per_run(plan, post_table, "o", "set", post_is_set),
        "wind": _per_run(plan, wind_table, "w", "") if plan.job.site else [],
        "rails": _per_run(plan, rail_table, "l", ""),
        "slanted": slanted_words(plan, plan.words),
        "gaps": _per_run(plan, gap_table, "g", "closed", gap_is_closed),
        "kickboard": KICKBOARD if any(r.closing.kickboards for r in plan.runs) else "",
        "buying": table_view(buying_table(plan), words, "b", "bought", nothing_to_buy),
        "cost": None if bought.cost is None else cost_words(bought.cost, plan.missing, words),
        "provisional": list(provisional_words(grounds_of(plan))),
        "unpriced": "; ".join(bought.unpriced),
        "before_buying": list(before_buying(plan)),
        "boards": list(board_views(plan)),
        "most_boards": _MOST_BOARDS,
        "digging": before_digging(job.units),
        "dig_checked": is_checked(plan),
        "sources": list(sources_used(plan)),
        "cautions": _placed(plan),
        "warnings": [p for p in plan.problems if p.severity is not Severity.NOTE],
        "notes": [p for p in plan.problems if p.severity is Severity.NOTE],
        "assumed": job.assumed,
    }


def _placed(plan: FencePlan) -> dict[str, list[Caution]]:
    """The cautions by the section they stand in; those of no section under `other`."""
    found: dict[str, list[Caution]] = {key: [] for key in (*_PLACES.values(), "other")}
    for caution in cautions(plan):
        found[_PLACES.get(caution.work, "other")].append(caution)
    return found


def _per_run(
    plan: FencePlan,
    make: Callable[[FencePlan, int], Table],
    key: str,
    tick: str,
    done: Callable[[RunPlan, Sequence[Cell]], bool] = lambda *_: False,
) -> list[tuple[str, TableView]]:
    """The table of every run, with the run's name; `done`: see `table_view`."""
    words = plan.words
    return [
        (run.run.name, table_view(make(plan, index), words, f"{key}{index + 1}", tick, partial(done, run)))
        for index, run in enumerate(plan.runs)
    ]


def _drawn(plan: FencePlan, drawings: Sequence[bytes] | None) -> list[tuple[str, Markup]]:
    """The drawings, each with its name in the page."""
    if drawings is None:
        drawings = [svg_bytes(f) for run in plan.runs for f in elevation_figures(run, plan)]
    names = [f"drawing-{k}" for k in range(1, len(drawings) + 1)]
    return [
        (name, Markup(inline_svg(drawing, name)))
        for name, drawing in zip(names[:MOST_DRAWINGS], drawings, strict=False)
    ]
