"""The package for other programs: plans, comparisons and heights with all that can be asked of them.

Each record here is the one of `planning/` with its tables, drawings, files and draws within reach. Lengths
are inches unless a name or an argument says millimetres; money is the job's currency.
"""

import io
import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, TypeVar

import numpy as np
from numpy.typing import NDArray

from fencegrade.fence.stock import NO_STOCK
from fencegrade.fence.tops.table import USUAL, StyleName, TopStyle
from fencegrade.ground.fit import GroundProfile
from fencegrade.job.read import Job
from fencegrade.planning import compare, plan
from fencegrade.planning import heights as line_heights
from fencegrade.planning.buying import BuyingList, buying_list
from fencegrade.planning.draws import PlanDraws, plan_draws
from fencegrade.planning.hanging import pickets_over_line
from fencegrade.planning.layout import survey_grounds
from fencegrade.planning.run import RunPlan
from fencegrade.sheets.tables import Cell, table_records
from fencegrade.units import MM_PER_INCH

if TYPE_CHECKING:
    from fencegrade.sheets.drawings.canvas import Drawing

Kind = TypeVar("Kind")
Unit = Literal["in", "mm"]
Records = list[dict[str, Cell]]

_LENGTHS = (
    "left", "right", "top", "bottom_left", "bottom_right", "length", "stock", "trim", "gap", "height",
    "tallest", "top_over_string",
)  # fmt: skip
"""Columns of pickets that are lengths, stations and elevations among them."""


class FencePlan(plan.FencePlan, frozen=True, kw_only=True):
    """A whole fence plan, as `plan_fence` makes it."""

    @property
    def buying(self) -> BuyingList:
        """All there is to buy: `lines`, each with `part`, `to_buy`, `price` and `total`; `cost` of them all.

        Money is the job's; a line without a price has no total, and a list without any has no cost (None).
        """
        return buying_list(self)

    def pickets(self, unit: Unit = "in", run: str | None = None) -> NDArray[Any]:
        """Every picket in order as one structured array (n,), a field a column.

        Parameters
        ----------
        unit : "in" or "mm"
            Of all lengths; it ends their fields' names, so that `length_in` and `length_mm` are never mixed.
        run : str
            Name of one run; all of them if None.

        Returns
        -------
        (n,) structured
            `run` (its name), `number` (from 1 in each run), `left`, `right` (stations of the edges), `top`,
            `bottom_left`, `bottom_right` (elevations), `length` (long side as cut), `stock`, `trim` (nan
            where no board serves), `gap` (largest open height), `height`, `tallest` (top over the highest and
            the lowest ground beneath), `top_over_string` (nan outside it), each of these with `_in` or `_mm`;
            `chance_outside` (0 to 1, that the gap leaves its limits), `from_chart` (whether it is cut so: not
            marked in place, nor in a provisional run). Errors: KeyError for a run that is not
            in the plan.
        """
        runs = self.runs if run is None else (self._run(run),)
        names = [f"{name}_{unit}" for name in _LENGTHS]
        longest = max(len(r.run.name) for r in runs)
        kinds = [
            ("run", f"U{longest}"),
            ("number", "i8"),
            *((n, "f8") for n in names),
            ("chance_outside", "f8"),
            ("from_chart", "?"),
        ]
        table = np.empty(sum(len(r.slots) for r in runs), dtype=kinds)
        first = 0
        for r in runs:
            part = table[first : first + len(r.slots)]
            part["run"], part["number"] = r.run.name, np.arange(len(part)) + 1
            for name, values in zip(names, self._lengths(r), strict=True):
                part[name] = values * (1.0 if unit == "in" else MM_PER_INCH)
            part["chance_outside"] = r.doubt.outside
            part["from_chart"] = r.doubt.from_chart & (not r.ground.provisional)
            first += len(part)
        return table

    def _lengths(self, run: RunPlan) -> Sequence[NDArray[np.floating[Any]]]:
        """The columns of `_LENGTHS` of one run (in)."""
        cuts, slots = run.cuts, run.slots
        offered = np.array([*(s.length for s in self.stock.offered), np.nan])
        stock = offered[np.where(run.stock == NO_STOCK, -1, run.stock)]
        kept, over = cuts.kept * self.mark, pickets_over_line(run)
        edges = (slots.left, slots.right, cuts.top, cuts.bottom_left, cuts.bottom_right)
        return (*edges, kept, stock, run.boards.trim, cuts.gap, cuts.height, cuts.tallest, over)

    def _run(self, name: str) -> RunPlan:
        found = next((r for r in self.runs if r.run.name == name), None)
        if found is None:
            raise KeyError(f"no run is called {name!r}; there are {', '.join(r.run.name for r in self.runs)}")
        return found

    @property
    def tables(self) -> tuple[str, ...]:
        """Names of the tables there are: `cut_chart`, `posts`, `rails`, `gaps`, `buying` and more."""
        from fencegrade.sheets.plan_tables import plan_tables

        return tuple(name for name, _ in plan_tables(self))

    def table(self, name: str) -> Records:
        """One of the `tables` as a list of records, with the headings of the CSV as keys.

        Lengths and weights are numbers in the unit the heading names, money is numbers, empty cells are None.
        Errors: KeyError for a table that the plan has not.
        """
        from fencegrade.sheets.plan_tables import plan_tables

        found = dict(plan_tables(self))
        if name not in found:
            raise KeyError(f"no table is called {name!r}; there are {', '.join(found)}")
        return table_records(found[name], self.job.words)

    def as_dict(self) -> dict[str, Any]:
        """The plan as `plan.json` holds it, by the schema `fencegrade/sheets/schemas/plan.json`."""
        from fencegrade.sheets.plan_json import write_plan_json

        out = io.StringIO()
        write_plan_json(self, out)
        found: dict[str, Any] = json.loads(out.getvalue())
        return found

    def save(self, folder: Path | str, force: bool = False) -> list[Path]:
        """Write every sheet and drawing into a folder, all or none, as the command does.

        `force`: replace files that fencegrade did not write. Result: the paths. Errors: JobMistakesError
        where the folder cannot be written or such a file stands in the way.
        """
        from fencegrade.sheets.folder import write_plan_sheets

        return write_plan_sheets(self, Path(folder), force)

    def draw(self, run: str | None = None) -> "Drawing":
        """The fence from the side as a matplotlib figure: one run, the first if None.

        A long run is drawn in several figures; this is its first. Errors: KeyError for an unknown run.
        """
        from fencegrade.sheets.drawings.elevation import elevation_figures

        chosen = self.runs[0] if run is None else self._run(run)
        return _figure(elevation_figures(chosen, self)[0])

    def ground(self, run: str | None = None) -> GroundProfile:
        """The ground of one run, the first if None, and how sure it is. Errors: KeyError."""
        return (self.runs[0] if run is None else self._run(run)).ground.profile

    def draws(self, count: int = 1000, seed: int = 0) -> PlanDraws:
        """How the plan does on many grounds that its readings leave open; see `PlanDraws`.

        `count` of grounds, `seed` for the same ones again. Errors: ValueError for a count under 1 or too many
        for the memory. Source: own derivation on the band of the ground.
        """
        return plan_draws(self, count, seed)


class ComparedTop(compare.ComparedStyle, frozen=True, kw_only=True):
    """One top of a comparison, its plan with all that can be asked of one."""

    plan: FencePlan | None


class Comparison(compare.Comparison, frozen=True, kw_only=True):
    """The five tops side by side, and mixes of them by run, as `compare_tops` makes it."""

    styles: tuple[ComparedTop, ...]

    @property
    def cheapest(self) -> ComparedTop | None:
        """The sound top of least cost, or of least timber without prices; None where none is sound."""
        return compare.cheapest_of(self.styles)

    @property
    def least(self) -> tuple[ComparedTop, ...]:
        """The sound tops that none is cheaper than: several at a tie."""
        return compare.least_of(self.styles)

    def table(self) -> Records:
        """One record a top, with the headings of `comparison.csv`; lengths in the job's unit."""
        from fencegrade.sheets.screen.compare_text import comparison_table

        return table_records(comparison_table(self), self.job.words)

    def as_dict(self) -> dict[str, Any]:
        """The comparison as `compare` prints it for programs."""
        from fencegrade.sheets.screen.compare_text import comparison_json

        return comparison_json(self)

    def save(self, folder: Path | str, force: bool = False) -> list[Path]:
        """Write its table, drawings and JSON into a folder; as `FencePlan.save`."""
        from fencegrade.sheets.folder import write_comparison

        return write_comparison(self, Path(folder), force)

    def draw(self, run: int = 0) -> "Drawing":
        """The tops drawn one under another along a run, counted from 0. Errors: IndexError."""
        from fencegrade.sheets.folder import comparison_drawing

        return _figure(comparison_drawing(self, run))


class Heights(line_heights.JobHeights, frozen=True, kw_only=True):
    """What a lower or higher line would change, run by run and top by top, as `heights` makes it."""

    def table(self, style: StyleName | TopStyle = USUAL, run: int = 0) -> Records:
        """Every height at which a board changes stock, lowest line first, with the headings of the CSV.

        `style`: which line; `run`: counted from 0. Lengths in the job's unit. Errors: KeyError where that
        line cannot be planned.
        """
        from fencegrade.sheets.screen.heights_text import heights_table

        return table_records(heights_table(self, self._entry(style, run)), self.job.words)

    def as_dict(self) -> dict[str, Any]:
        """The tables as `heights` prints them for programs."""
        from fencegrade.sheets.screen.heights_text import heights_json

        return heights_json(self)

    def save(self, folder: Path | str, force: bool = False) -> list[Path]:
        """Write its tables, drawings and JSON into a folder; as `FencePlan.save`."""
        from fencegrade.sheets.folder import write_heights

        return write_heights(self, Path(folder), force)

    def draw(self, style: StyleName | TopStyle = USUAL, run: int = 0) -> "Drawing":
        """What the boards cost by the height of one line; `style`, `run` and errors as `table`."""
        from fencegrade.sheets.folder import heights_drawing

        return heights_drawing(self, self._entry(style, run))

    def _entry(self, style: StyleName | TopStyle, run: int) -> line_heights.RunHeights:
        name = self.job.runs[run].name
        for entry in self.tables:
            if entry.run == name and entry.style == TopStyle(style):
                return entry
        raise KeyError(f"no {style} line of {name} can be planned")


def plan_fence(job: Job, style: StyleName | TopStyle | None = None) -> FencePlan:
    """Plan a fence.

    `job`: from `read_job` or `job_from`; `style`: a top for every run instead of the job's. Result: the whole
    plan. Errors: JobMistakesError with every mistake found in surveys, posts or boards; ValueError for an
    unknown style.
    """
    return _as(FencePlan, plan.plan_fence(job, style))


def compare_tops(job: Job) -> Comparison:
    """Plan a job with each of the five tops, the best of its kind.

    Result: `styles`, each with `name`, `plan` or the `reason` why there is none, what it takes
    (`used.boards`, `used.cost` and more) and how it stands (`seen`); `cheapest` of the sound ones. Errors:
    JobMistakesError for mistakes in the job, and where no top can be planned.
    """
    found = compare.compare_tops(job)
    return _as(Comparison, found, styles=tuple(_top(style) for style in found.styles))


def heights(job: Job) -> Heights:
    """Every height of each run's line, in every top, at which a board changes stock.

    Result: tables by style and run. Errors: JobMistakesError for mistakes in the job.
    """
    grounds, _ = survey_grounds(job)
    return _as(Heights, line_heights.heights_on(job, grounds))


def _top(style: compare.ComparedStyle) -> ComparedTop:
    return _as(ComparedTop, style, plan=None if style.plan is None else _as(FencePlan, style.plan))


def _as(kind: type[Kind], record: Any, **changed: Any) -> Kind:
    """A record as one of its own kind with more to ask; the very same fields but those `changed`."""
    return kind(**{name: getattr(record, name) for name in record.__struct_fields__} | changed)


def _figure(drawn: Any) -> "Drawing":
    from fencegrade.sheets.drawings.picture_files import picture_figure

    return picture_figure(drawn)
