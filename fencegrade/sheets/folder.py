"""Every sheet and drawing of a plan, written into one folder."""

import io
from pathlib import Path
from typing import BinaryIO

from matplotlib.figure import Figure

from fencegrade.plan import FencePlan
from fencegrade.sheets.charts import chart_text, cut_chart_data
from fencegrade.sheets.elevation import elevation_figures
from fencegrade.sheets.files import Writer, write_files
from fencegrade.sheets.plan_json import write_plan_json
from fencegrade.sheets.save import png_bytes, svg_bytes
from fencegrade.sheets.tables import csv_text
from fencegrade.sheets.words import Words


def write_plan_sheets(plan: FencePlan, folder: Path, force: bool = False) -> list[Path]:
    """Write the plan's files into `folder`, all or none.

    `force`: replace files this program did not write. Result: the paths written. Errors:
    JobMistakesError where the folder cannot be written or a foreign file stands in the way.
    """
    files: dict[str, bytes | Writer] = {
        "plan.json": lambda file: _json(plan, file),
        "cut_chart.csv": csv_text(cut_chart_data(plan), Words.of(plan.job.job)).encode(),
        "cut_chart.txt": chart_text(plan).encode(),
    }
    for name, figure in named_elevations(plan):
        files[f"{name}.svg"] = svg_bytes(figure)
        files[f"{name}.png"] = png_bytes(figure)
    return write_files(folder, files, force)


def named_elevations(plan: FencePlan) -> list[tuple[str, Figure]]:
    """Each elevation drawing with its file name: `elevation` alone, or numbered where there are several."""
    figures = [figure for run in plan.runs for figure in elevation_figures(run, plan)]
    if len(figures) == 1:
        return [("elevation", figures[0])]
    return [("elevation" if k == 0 else f"elevation_{k + 1}", f) for k, f in enumerate(figures)]


def _json(plan: FencePlan, file: BinaryIO) -> None:
    text = io.TextIOWrapper(file, encoding="utf-8", newline="\n")
    write_plan_json(plan, text)
    text.detach()
