"""Every table of a plan by its name: the CSV files of a folder, and records for other programs."""

from collections.abc import Iterator, Sequence

from fencegrade.ground.survey import RunGround
from fencegrade.job.choices import TopEnd
from fencegrade.planning.plan import FencePlan
from fencegrade.sheets.charts import cut_chart_data
from fencegrade.sheets.facts import grounds_of, provisional_mark
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
from fencegrade.sheets.tables import Column, Table, joined_runs


def plan_tables(plan: FencePlan) -> Iterator[tuple[str, Table]]:
    """The tables of a plan with their names; those of several runs joined, the run's name in front; while a
    run is provisional with a last column that says so.
    """
    return ((name, marked_provisional(table, grounds_of(plan))) for name, table in _tables(plan))


def marked_provisional(table: Table, grounds: Sequence[RunGround]) -> Table:
    """The table of some runs, while one is provisional with a last column that says so: in the rows of that
    run, or in every row where rows belong to no run.
    """
    whole, by_run = provisional_mark(grounds), {g.name: provisional_mark((g,)) or None for g in grounds}
    if not whole:
        return table
    own = table.columns[0].head == "run"
    return Table(
        name=table.name,
        columns=(*table.columns, Column(head="provisional")),
        rows=((*row, by_run[str(row[0])] if own else whole) for row in table.rows),
    )


def _tables(plan: FencePlan) -> Iterator[tuple[str, Table]]:
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
