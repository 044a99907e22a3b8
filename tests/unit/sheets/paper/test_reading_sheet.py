"""The blank reading sheet, and the layout strips at full size, measured on the page."""

import io
import re
from collections import Counter
from dataclasses import replace

import numpy as np
import pytest
from kept import as_kept, printed
from msgspec import structs
from pypdf import PdfReader

from fencegrade.fence.slots import Slots
from fencegrade.planning.plan import FencePlan
from fencegrade.planning.run import run_spaces
from fencegrade.sheets.drawings.picture import PALE, Shape, Text
from fencegrade.sheets.paper import layout_strips
from fencegrade.sheets.paper.layout_strips import pole_layouts, pole_paper, story_pole
from fencegrade.sheets.paper.page import SIZES, Paper
from fencegrade.sheets.paper.reading_sheet import ROWS, reading_paper, reading_sheet
from fencegrade.units import UnitSystem, layout_mark

from ..conftest import MakePlan
from .test_field_sheets import ROUGH


def nothing_covered(paper: Paper) -> None:
    """No two lines of text touch, and none leaves the margins."""
    wide, high = paper.size
    for page in paper.pages:
        texts = [item for item in page.items if isinstance(item, Text) and item.text.strip()]
        boxes = np.array([t.box for t in texts])
        left, top, right, bottom = boxes.T
        outside = (left < 30) | (right > wide - 30) | (top < 20) | (bottom > high - 50)
        assert not outside.any(), (page.heading, [t.text for t, o in zip(texts, outside, strict=True) if o])
        across = np.minimum(right[:, None], right) - np.maximum(left[:, None], left)
        down = np.minimum(bottom[:, None], bottom) - np.maximum(top[:, None], top)
        touching = np.argwhere(np.triu((across > 0.3) & (down > 0.3), 1))
        assert not len(touching), (page.heading, [(texts[a].text, texts[b].text) for a, b in touching])


DRAWN = ("Layout strip",)
"""Pages on which lines may run behind words."""


def nothing_struck_through(paper: Paper) -> None:
    """No level line runs through a text, but in drawings."""
    for page in paper.pages:
        if page.heading.startswith(DRAWN):
            continue
        boxes = np.array([t.box for t in page.items if isinstance(t, Text) and t.text.strip()])
        for item in page.items:
            if isinstance(item, Shape) and len(item.points) == 2 and item.points[0][1] == item.points[1][1]:
                (a, y), (b, _) = item.points
                hit = (
                    (boxes[:, 0] < b) & (boxes[:, 2] > a) & (boxes[:, 1] < y - 0.3) & (boxes[:, 3] > y + 0.3)
                )
                assert not hit.any(), (page.heading, y)


@pytest.mark.parametrize("system", UnitSystem)
class TestReadingSheet:
    """One page, in either units."""

    def test_is_one_page_of_its_paper(self, system: UnitSystem) -> None:
        read = PdfReader(io.BytesIO(reading_sheet(system)))
        (page,) = read.pages
        assert read.metadata is not None
        assert read.metadata.subject == "Blank sheet for string readings"
        width, height = SIZES[system]
        assert float(page.mediabox.width) == pytest.approx(width, abs=0.01)
        assert float(page.mediabox.height) == pytest.approx(height, abs=0.01)

    def test_has_the_columns_and_lines_of_the_survey_file(self, system: UnitSystem) -> None:
        text = PdfReader(io.BytesIO(reading_sheet(system))).pages[0].extract_text()
        drop = "drop (in)" if system is UnitSystem.IMPERIAL else "drop (mm)"
        for word in ("station", drop, "side", "note", "job", "run", "date"):
            assert word in text
        words = " ".join(text.split())
        for reminder in (
            "LEVEL OFF",
            "read the first stake again",
            "two readings at one station",
            "split the",
        ):
            assert reminder in words

    def test_has_rows_tall_enough_for_a_pencil(self, system: UnitSystem) -> None:
        lines = [
            item.points[0][1]
            for item in reading_paper(system).pages[0].items
            if isinstance(item, Shape) and item.points[0][1] == item.points[1][1]
        ]
        steps = Counter(np.round(np.diff(sorted(lines)), 1).tolist())
        (height, count), *_ = steps.most_common(1)
        assert count == ROWS
        assert height >= 20

    def test_names_figures_of_its_units_alone(self, system: UnitSystem) -> None:
        text = PdfReader(io.BytesIO(reading_sheet(system))).pages[0].extract_text()
        imperial = system is UnitSystem.IMPERIAL
        assert ("50 ft" in text, "15 m" in text) == (imperial, not imperial)
        assert "{" not in text

    def test_nothing_covers_anything(self, system: UnitSystem) -> None:
        nothing_covered(reading_paper(system))
        nothing_struck_through(reading_paper(system))

    def test_is_the_same_every_time(self, system: UnitSystem) -> None:
        sheet = reading_sheet(system)
        assert sheet == reading_sheet(system)
        as_kept(f"reading_sheet_{system}", printed("reading_sheet.pdf", sheet))


def edges_on_paper(paper: Paper, overlap: float) -> list[float]:
    """Every picket edge of the pieces put together (in), each once, from lines drawn across."""
    found: set[float] = set()
    before = 0.0
    for page in paper.pages:
        frames = [
            i for i in page.items if isinstance(i, Shape) and i.closed and i.fill is None and i.width == 0.7
        ]
        for frame in frames:
            (x, top), (right, _), (_, foot), _ = frame.points
            for item in page.items:
                if not isinstance(item, Shape) or item.closed or item.width != 1.3:
                    continue
                (a, y), (b, _) = item.points
                if abs(a - x) < 0.01 and abs(b - right) < 0.01:
                    found.add(round(before + (y - top) / 72, 4))
            before += (foot - top) / 72 - overlap
    return sorted(found)


def test_the_strip_marks_every_edge_at_full_size(make_plan: MakePlan) -> None:
    plan = make_plan(survey=ROUGH)
    layout = pole_layouts(plan.runs[0])[0]
    paper, (space, *_) = pole_paper(plan), run_spaces(plan.runs[0])
    told = [i.text for i in paper.pages[0].items if isinstance(i, Text)]
    spacer = plan.words.space(space.spacer(layout_mark(plan.units)))
    assert spacer != plan.words.length(space.gap)
    assert any(f" {spacer} apart" in text for text in told), "the spacer of the sheet Hanging"
    marked = edges_on_paper(paper, 0.5)
    expected = np.sort(np.concatenate([layout.left, layout.right]))
    assert np.allclose(marked, expected, atol=2e-4)
    slots = plan.runs[0].slots
    count = len(layout.left)
    assert np.allclose(slots.left[:count] - slots.left[0], layout.left, atol=1e-6)
    assert layout.length == pytest.approx(slots.left[count] - slots.left[0])


def test_a_join_lies_at_one_place_on_both_its_pieces(make_plan: MakePlan) -> None:
    """Laid join on join, the pieces make one strip: their joins are as far apart as the strip says."""
    found: dict[str, list[float]] = {}
    before, overlap = 0.0, 0.5
    for page in pole_paper(make_plan(survey=ROUGH)).pages:
        frames = [i for i in page.items if isinstance(i, Shape) and i.closed and i.width == 0.7]
        names = [i for i in page.items if isinstance(i, Text) and i.text.startswith("join ")]
        joins = [i for i in page.items if isinstance(i, Shape) and i.dashes]
        assert len(names) == len(joins)
        for frame in frames:
            (x, top), (right, _), (_, foot), _ = frame.points
            for name, join in zip(names, joins, strict=True):
                if x < name.x <= right:
                    found.setdefault(name.text, []).append(before + (join.points[0][1] - top) / 72)
            before += (foot - top) / 72 - overlap
    assert found
    for places in found.values():
        first, second = places
        assert first == pytest.approx(second)


@pytest.mark.parametrize(("system", "inches"), [(UnitSystem.IMPERIAL, 4.0), (UnitSystem.METRIC, 100 / 25.4)])
def test_the_ruler_measures_what_it_says(make_plan: MakePlan, system: UnitSystem, inches: float) -> None:
    plan = make_plan()
    plan = structs.replace(plan, job=replace(plan.job, job=replace(plan.job.job, units=system)))
    for page in pole_paper(plan).pages:
        said = next(i for i in page.items if isinstance(i, Text) and "this ruler must measure" in i.text)
        rule = next(
            i for i in page.items if isinstance(i, Shape) and i.width == 1.2 and i.points[0][1] == said.y
        )
        assert (rule.points[1][0] - rule.points[0][0]) / 72 == pytest.approx(inches)


def test_each_space_of_a_stepped_fence_has_its_strip(make_plan: MakePlan) -> None:
    run = make_plan(survey=ROUGH, style="stepped").runs[0]
    layouts = pole_layouts(run)
    named = {k for layout in layouts for k in layout.pickets}
    whole = np.flatnonzero(run.slots.width > run.slots.width.max() - 1 / 64) + 1
    assert named <= set(range(1, len(run.slots) + 1))
    assert len(named) > 0.9 * len(whole)
    for layout in layouts:
        gaps = [
            run.slots.left[k] - run.slots.right[k - 1] for k in layout.pickets[:-1] if k + 1 in layout.pickets
        ]
        assert min(abs(g - layout.spacing) for g in gaps) < 1 / 64


@pytest.mark.parametrize("style", ["level", "stepped"])
def test_strips_cover_nothing_and_are_the_same_every_time(make_plan: MakePlan, style: str) -> None:
    plan = make_plan(survey=ROUGH, style=style)
    nothing_covered(pole_paper(plan))
    strips = story_pole(plan)
    assert strips == story_pole(plan)
    texts = [page.extract_text() for page in PdfReader(io.BytesIO(strips)).pages]
    assert all("page" in text for text in texts)
    as_kept(f"layout_strips_{style}", printed("layout_strips.pdf", strips, texts))
    shaded = [i for i in pole_paper(plan).pages[0].items if isinstance(i, Shape) and i.fill == PALE]
    assert shaded


def written(plan: FencePlan) -> list[str]:
    """Every text of the layout strips."""
    return [item.text for page in pole_paper(plan).pages for item in page.items if isinstance(item, Text)]


def test_a_strip_names_its_row_and_stretches_and_numbers_no_board(make_plan: MakePlan) -> None:
    """It is moved along and used again, so its third board is the third of the fence but once."""
    plan = make_plan(pickets='pattern = "shadowbox"\nspacing = "3 in"')
    run = plan.runs[0]
    first, last = np.flatnonzero(run.layout.row == 0)[[0, -1]] + 1
    told = written(plan)
    assert f"apart: first face, {first}-{last}. Print" in " ".join(told)
    assert "picket" in told
    assert not [text for text in told if re.search(r"picket \d", text)]


def test_a_run_without_two_whole_pickets_has_no_strip_and_says_so(make_plan: MakePlan) -> None:
    plan = make_plan()
    run = plan.runs[0]
    one = Slots(left=run.slots.left[:1], right=run.slots.right[:1])
    alone = structs.replace(run, layout=structs.replace(run.layout, slots=one, row=run.layout.row[:1]))
    text = " ".join(written(structs.replace(plan, runs=(alone,))))
    assert "No two whole pickets stand side by side on this run: there is nothing to lay out." in text


@pytest.mark.parametrize(
    ("most", "told"),
    [(3, ""), (2, "1 more space occurs on this run"), (1, "2 more spaces occur on this run")],
)
def test_spaces_past_the_most_that_are_laid_out_are_counted(
    make_plan: MakePlan, monkeypatch: pytest.MonkeyPatch, most: int, told: str
) -> None:
    plan = make_plan()
    run = plan.runs[0]
    gaps = np.array([0.25] * 4 + [0.5] * 3 + [0.75] * 2)
    left = np.concatenate([[0.0], np.cumsum(gaps + 5.5)])
    layout = structs.replace(
        run.layout, slots=Slots(left=left, right=left + 5.5), row=np.zeros(len(left), dtype=int)
    )
    monkeypatch.setattr(layout_strips, "MOST_STRIPS", most)
    plan = structs.replace(plan, runs=(structs.replace(run, layout=layout),))
    headings = [page.heading for page in pole_paper(plan).pages]
    assert headings.count("Layout strip at full size") == min(3, most)
    assert headings.count("Layout strip") == bool(told)
    assert (f"{told}; take the edges from cut_chart.csv." in " ".join(written(plan))) == bool(told)
