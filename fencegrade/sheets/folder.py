"""Every sheet and drawing of a plan, written into one folder."""

import io
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import BinaryIO, TextIO

import numpy as np
from matplotlib.figure import Figure

from fencegrade.ground.report import GroundReport
from fencegrade.job.choices import Pattern, TopEnd
from fencegrade.planning.boards import ListPlan
from fencegrade.planning.compare import Comparison
from fencegrade.planning.heights import JobHeights, RunHeights
from fencegrade.planning.plan import FencePlan
from fencegrade.planning.run import run_spaces
from fencegrade.sheets.charts import chart_text
from fencegrade.sheets.drawings.canvas import Drawing
from fencegrade.sheets.drawings.comparison import ComparedTop, comparison_figure
from fencegrade.sheets.drawings.cut_boards import CutPattern, cut_board_figures
from fencegrade.sheets.drawings.cut_patterns import family_patterns, list_patterns
from fencegrade.sheets.drawings.elevation import elevation_figures
from fencegrade.sheets.drawings.ground import ground_figures
from fencegrade.sheets.drawings.heights_curve import heights_figure
from fencegrade.sheets.drawings.pattern_plan import Laid, pattern_figure
from fencegrade.sheets.drawings.picture import Picture
from fencegrade.sheets.drawings.save import png_bytes, svg_bytes
from fencegrade.sheets.facts import grounds_of, marked_title
from fencegrade.sheets.files import Writer, record_bytes, text_bytes, write_files
from fencegrade.sheets.height_words import OF_WHAT_LINE, counted_words
from fencegrade.sheets.page.page import phone_page
from fencegrade.sheets.paper.field_sheets import field_sheets
from fencegrade.sheets.paper.layout_strips import story_pole
from fencegrade.sheets.plan_json import write_plan_json
from fencegrade.sheets.plan_tables import marked_provisional, plan_tables
from fencegrade.sheets.reduction import level_table, readings_table
from fencegrade.sheets.run_words import least_overlap, overlap_words
from fencegrade.sheets.screen.boards_text import (
    boards_json,
    boards_lines,
    list_words,
    offcut_table,
    pattern_table,
    stop_table,
)
from fencegrade.sheets.screen.check_text import check_json, check_lines
from fencegrade.sheets.screen.compare_text import (
    comparison_json,
    comparison_lines,
    comparison_table,
    top_words,
)
from fencegrade.sheets.screen.heights_text import heights_json, heights_table
from fencegrade.sheets.shared_boards import LONG
from fencegrade.sheets.tables import Table, csv_text, joined_runs, write_csv
from fencegrade.units import MM_PER_INCH, UnitSystem
from fencegrade.units.words import Words

Drawn = Figure | Picture

MOST_DRAWN = 10_000
"""Pickets, about a mile of them, beyond which a plan is written as tables and data and nothing is drawn."""


def write_plan_sheets(
    plan: FencePlan, folder: Path, force: bool = False, layout_strips: bool = False
) -> list[Path]:
    """Write the plan's files into `folder`, all or none.

    `force`: replace files this program did not write; `layout_strips`: also the strips with the pickets'
    layout at full size. A plan of more than `MOST_DRAWN` pickets gets its tables and `plan.json` alone,
    which are written row by row. Result: the paths written. Errors: JobMistakesError where the folder cannot
    be written or a foreign file stands in the way.
    """
    words = plan.words
    files: dict[str, bytes | Writer] = {
        "plan.json": lambda file: _json(plan, file),
    }
    files |= {f"{name}.csv": _csv(table, words) for name, table in plan_tables(plan)}
    undrawn = undrawn_words(plan)
    files |= _for_reading(plan) if undrawn is None else {"not_drawn.txt": f"{undrawn}\n".encode()}
    if layout_strips:
        files["layout_strips.pdf"] = story_pole(plan)
    return write_files(folder, files, force, "plan")


def undrawn_words(plan: FencePlan) -> str | None:
    """Why a plan has no drawings and nothing to print; None where it has."""
    pickets = plan.picket_count
    if pickets <= MOST_DRAWN:
        return None
    return (
        f"The job has {pickets:,} pickets. Drawings, printed sheets and the page for the phone end at "
        f"{MOST_DRAWN:,}: this plan is written in full as tables (.csv) and as plan.json alone. "
        "Divide the job into shorter ones to have them drawn."
    )


def _for_reading(plan: FencePlan) -> dict[str, bytes | Writer]:
    """What is drawn or laid out for people: chart, drawings, printed sheets and page."""
    files: dict[str, bytes | Writer] = {"cut_chart.txt": chart_text(plan).encode()}
    elevations = [_drawn(name, figure) for name, figure in named_elevations(plan)]
    for drawn in elevations:
        files |= drawn
    for name, figure in [*named_cut_boards(plan), *named_patterns(plan)]:
        files |= _drawn(name, figure)
    files["field_sheets.pdf"] = field_sheets(plan)
    files["fence.html"] = phone_page(
        plan, [v for d in elevations for k, v in d.items() if k.endswith(".svg")]
    )
    return files


def write_boards(listed: ListPlan, folder: Path, force: bool = False) -> list[Path]:
    """Write the cutting plan of a list, in words, as tables, as JSON and drawn; as `write_plan_sheets`."""
    files: dict[str, bytes | Writer] = {
        "boards.json": record_bytes({k: v for k, v in boards_json(listed).items() if k != "seconds"}),
        "boards.txt": text_bytes(boards_lines(listed)),
    }
    words = list_words(listed)
    for table in (pattern_table(listed), stop_table(listed), offcut_table(listed)):
        files[f"{table.name}.csv"] = csv_text(table, words).encode()
    figures = cut_board_figures(list_patterns(listed), listed.listed.place, "boards", words)
    for name, figure in _numbered("cut_boards", figures):
        files |= _drawn(name, figure)
    return write_files(folder, files, force, "boards")


def write_comparison(found: Comparison, folder: Path, force: bool = False) -> list[Path]:
    """Write the comparison's table, drawing and JSON into `folder`; as `write_plan_sheets`."""
    words = found.job.words
    files: dict[str, bytes | Writer] = {
        "comparison.json": record_bytes(comparison_json(found)),
        "comparison.csv": _csv(marked_provisional(comparison_table(found), found.grounds), words),
        "comparison.txt": text_bytes(comparison_lines(found)),
    }
    for index in range(len(found.job.runs)):
        stem = "comparison" if len(found.job.runs) == 1 else f"comparison_{index + 1}"
        files |= _drawn(stem, comparison_drawing(found, index))
    return write_files(folder, files, force, "comparison")


def comparison_drawing(found: Comparison, index: int) -> Picture:
    """The tops that can be built, drawn one under another along one run."""
    words = found.job.words
    tops = [
        ComparedTop(name=s.name, plan=s.plan, words=top_words(s, words))
        for s in found.styles
        if s.plan is not None
    ]
    return comparison_figure(tops, index)


def write_heights(found: JobHeights, folder: Path, force: bool = False) -> list[Path]:
    """Write the heights tables, their drawings and JSON into `folder`; as `write_plan_sheets`."""
    words = found.job.words
    files: dict[str, bytes | Writer] = {"heights.json": record_bytes(heights_json(found))}
    names = [run.name for run in found.job.runs]
    for entry in found.tables:
        number = "" if len(names) == 1 else f"_{names.index(entry.run) + 1}"
        stem = f"heights_{entry.style}{number}"
        own = [g for g in found.grounds if g.name == entry.run]
        files[f"{stem}.csv"] = _csv(marked_provisional(heights_table(found, entry), own), words)
        if len(entry.table) > 1:
            files |= _drawn(stem, heights_drawing(found, entry))
    return write_files(folder, files, force, "heights")


def heights_drawing(found: JobHeights, entry: RunHeights) -> Drawing:
    """What a board list costs by the height of the line, for one run under one top."""
    table, own = entry.table, [g for g in found.grounds if g.name == entry.run]
    named = {0, len(table) - 1, table.row_at(0.0) if table.sharpest is None else table.sharpest}
    further = [k for k in np.flatnonzero(table.knee).tolist() if k not in named]
    level = float(table.shortest[table.row_at(0.0)] - table.offset[table.row_at(0.0)])
    what = f"least height of the {entry.style} line over the ground, {entry.run}"
    imperial = found.job.units is UnitSystem.IMPERIAL
    unit, inches = ("ft", 12.0) if imperial else ("m", 1000 / MM_PER_INCH)
    return heights_figure(
        table.shortest,
        table.cost if found.priced else table.cost / inches,
        replace(found.job.job, title=marked_title(found.job.title, own)),
        knees=sorted(named),
        further=further,
        now=level,
        what=what,
        notes=(counted_words(found.job), OF_WHAT_LINE),
        told=None if found.priced else lambda length: f"{round(length, 1):,g} {unit}",
    )


def write_check(
    plan: FencePlan, reports: Sequence[GroundReport], folder: Path, force: bool = False
) -> list[Path]:
    """Write the check's words, JSON and ground drawings into `folder`; as `write_plan_sheets`."""
    files: dict[str, bytes | Writer] = {
        "check.json": record_bytes(check_json(plan, reports)),
        "check.txt": text_bytes(check_lines(plan, reports)),
    }
    files |= dict(_reduced(plan, reports))
    figures = [
        figure
        for run, report in zip(plan.runs, reports, strict=True)
        for figure in ground_figures(
            run.ground, plan.job.job, [(s.start, s.end) for s in report.advice.stretches]
        )
    ]
    for name, figure in _numbered("ground", figures):
        files |= _drawn(name, figure)
    return write_files(folder, files, force, "check")


def _reduced(plan: FencePlan, reports: Sequence[GroundReport]) -> Iterator[tuple[str, bytes]]:
    """The readings reduced, and level books, those of several runs joined."""
    words, grounds = plan.words, [r.ground for r in reports]
    points = any(g.reduction.farthest for g in grounds)
    tables = [readings_table(g, points) for g in grounds]
    yield "readings.csv", csv_text(joined_runs(tables, [g.name for g in grounds]), words).encode()
    books = [(g.name, level_table(g, page)) for g in grounds if (page := g.reduction.page) is not None]
    if books:
        joined = joined_runs([t for _, t in books], [name for name, _ in books])
        yield "level_book.csv", csv_text(joined, words).encode()


def _drawn(stem: str, figure: Drawn) -> dict[str, bytes]:
    return {f"{stem}.svg": svg_bytes(figure), f"{stem}.png": png_bytes(figure)}


def named_elevations(plan: FencePlan) -> list[tuple[str, Drawn]]:
    """Each elevation drawing with its file name: `elevation` alone, or numbered where there are several."""
    return _numbered("elevation", [figure for run in plan.runs for figure in elevation_figures(run, plan)])


def named_cut_boards(plan: FencePlan) -> list[tuple[str, Drawn]]:
    """Each drawing of cut boards with its file name: rails, and pickets where a board may give several."""
    words, title = plan.words, marked_title(plan.job.job.title, grounds_of(plan))
    drawn = []
    for name, family in plan.families.named().items():
        shared = plan.job.pickets.top_end is TopEnd.FLAT and name not in {"posts", "gate_posts"}
        if name == "rails" or shared:
            patterns = family_patterns(plan, family)
            what = name.replace("_", " ") + _about_bars(plan, name, patterns)
            figures = cut_board_figures(patterns, title, what, words) if patterns else []
            drawn += _numbered(f"{name}_boards", figures)
    return drawn


def _about_bars(plan: FencePlan, name: str, patterns: Sequence[CutPattern]) -> str:
    """What the bars of a part do not show of themselves, in brackets."""
    told = []
    if any(n.startswith(LONG) for p in patterns for n in p.names):
        told.append(f"{LONG}: left long, marked in place")
    slanted = {
        "pickets": any((r.cuts.kept_left != r.cuts.kept_right).any() for r in plan.runs),
        "gate_pickets": any(f.slant for r in plan.runs for f in r.frames),
    }
    if slanted.get(name):
        told.append("slants drawn square, by the longer side")
    return f" ({'; '.join(told)})" if told else ""


def named_patterns(plan: FencePlan) -> list[tuple[str, Drawn]]:
    """The drawing that defines the patterns, where the job's has two rows."""
    pickets, words = plan.job.pickets, plan.words
    if pickets.pattern is Pattern.SIDE_BY_SIDE:
        return []
    laid = [s for run in plan.runs for s in run_spaces(run) if s.row == 0 and s.gap > 0]
    commonest = max(laid, key=lambda s: s.spaces, default=None)
    least, most = (words.space(f((s.gap for s in laid), default=pickets.spacing)) for f in (min, max))
    overlap = least_overlap(plan)
    told = Laid(
        width=pickets.width,
        space=commonest.gap if commonest else pickets.spacing,
        spaces=least if least == most else f"{least} to {most}",
        overlap=overlap_words(overlap, words) if overlap else "none",
    )
    title = marked_title(plan.job.job.title, grounds_of(plan))
    return [("pattern", pattern_figure(told, words, title, pickets.pattern))]


def _numbered(stem: str, figures: Sequence[Drawn]) -> list[tuple[str, Drawn]]:
    """Figures with their file names: the stem alone, then numbered."""
    return [(stem if k == 0 else f"{stem}_{k + 1}", figure) for k, figure in enumerate(figures)]


def _json(plan: FencePlan, file: BinaryIO) -> None:
    with _as_text(file) as text:
        write_plan_json(plan, text)


def _csv(table: Table, words: Words) -> Writer:
    """What writes a table row by row."""

    def write(file: BinaryIO) -> None:
        with _as_text(file) as text:
            write_csv(table, words, text)

    return write


@contextmanager
def _as_text(file: BinaryIO) -> Iterator[TextIO]:
    """The file for text; it stays open afterwards."""
    text = io.TextIOWrapper(file, encoding="utf-8", newline="\n")
    yield text
    text.detach()
