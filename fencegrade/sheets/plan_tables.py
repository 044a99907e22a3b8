"""Every table of a plan by its name: the CSV files of a folder, and records for other programs."""

from collections.abc import Iterator

from fencegrade.job.choices import TopEnd
from fencegrade.planning.plan import FencePlan
from fencegrade.sheets.charts import cut_chart_data
from fencegrade.sheets.hanging import spacing_table
from fencegrade.sheets.run_words import gate_table
from fencegrade.sheets.schedules import (
    board_table,
    buying_table,
    gap_table,
    post_table,
    rail_table,
    wind_table,
)
from fencegrade.sheets.tables import Table, joined_runs


def plan_tables(plan: FencePlan) -> Iterator[tuple[str, Table]]:
    """The tables of a plan with their names; those of several runs joined, the run's name in front."""
    yield "cut_chart", cut_chart_data(plan)
    for make in (spacing_table, post_table, rail_table, gap_table):
        tables = [make(plan, index) for index in range(len(plan.runs))]
        yield tables[0].name, joined_runs(tables, [r.run.name for r in plan.runs])
    if any(r.layout.gates for r in plan.runs):
        yield "gates", gate_table(plan)
    if plan.job.site is not None:
        winds = [wind_table(plan, index) for index in range(len(plan.runs))]
        yield "wind", joined_runs(winds, [r.run.name for r in plan.runs])
    yield "buying", buying_table(plan)
    for name, family in plan.families.named().items():
        if name in {"posts", "gate_posts", "rails"} or plan.job.pickets.top_end is TopEnd.FLAT:
            yield f"{name}_boards", board_table(plan, name, family)
