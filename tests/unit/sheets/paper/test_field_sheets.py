"""The field sheets read back from the PDF: they say what the plan says, and nothing covers anything."""

import io
import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

import numpy as np
import pytest
from pypdf import PdfReader
from pypdf.generic import DictionaryObject

from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.fence.stock import NO_STOCK
from fencegrade.job.read import read_job
from fencegrade.planning.plan import FencePlan, plan_fence
from fencegrade.sheets.cautions import CHECK_THREE, cautions
from fencegrade.sheets.charts import charted_bays
from fencegrade.sheets.digging import BEFORE_DIGGING, NOT_CHECKED
from fencegrade.sheets.paper import cut_pages
from fencegrade.sheets.paper.field_sheets import field_paper, field_sheets
from fencegrade.sheets.paper.page import Paper, Shape, Text
from fencegrade.sheets.paper.strips import SCALES, fitting_scale
from fencegrade.sheets.schedules import buying_table, post_table, rail_table
from fencegrade.units import UnitSystem
from fencegrade.units.words import Words

from ..conftest import JOB, SURVEY, MakePlan

ROUGH = "station [ft],drop [in]\n" + "".join(
    f"{4 * k},{40 + 14 * np.sin(k / 1.7) - k:.1f}\n" for k in range(11)
)
LONG = "The long hedge <b>by the old canal</b> &amp; the ${x}$ lane " * 3
WORD = "Gartenzaunbretterstapel" * 7
VARIED: dict[str, dict[str, str]] = {
    "plain": {},
    "scribed": {"bottom": "scribed", "survey": ROUGH},
    "stepped": {"style": "stepped", "survey": ROUGH},
    "racked": {"style": "racked", "survey": ROUGH, "bottom": "scribed"},
    "two rows": {"pickets": 'pattern = "shadowbox"\nspacing = "3 in"', "survey": ROUGH},
    "ripped": {"pickets": 'fit = "rip last"\ntop_end = "flat"', "survey": ROUGH},
    "too low": {"top": 'least_height = "6 ft 5 in"', "survey": ROUGH},
    "long names": {"title": LONG, "name": WORD, "survey": ROUGH},
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """A plan and its sheets: pages, PDF, and the text of every page."""

    plan: FencePlan
    paper: Paper
    pdf: bytes
    texts: list[str]


@pytest.fixture(scope="module", params=VARIED)
def varied(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Shown:
    """Plans that differ in what their sheets must hold."""
    parts = {"title": "Herb garden", "name": "lane side", "bottom": "square", "pickets": "", "top": ""}
    parts |= {"survey": SURVEY, "there": "0"} | VARIED[request.param]
    folder = tmp_path_factory.mktemp("job")
    (folder / "job.toml").write_text(JOB.format(**parts), encoding="utf-8")
    (folder / "lane.csv").write_text(parts["survey"], encoding="utf-8")
    plan = plan_fence(read_job(folder), parts.get("style"))
    paper = field_paper(plan)
    pdf = paper.pdf("sheets")
    return Shown(plan=plan, paper=paper, pdf=pdf, texts=texts_of(pdf))


def pages_of(plan: FencePlan) -> list[str]:
    """The text of every page of a plan's field sheets."""
    return texts_of(field_sheets(plan))


def texts_of(pdf: bytes) -> list[str]:
    """The text of every page, spaces as one."""
    reader = PdfReader(io.BytesIO(pdf))
    return [" ".join(page.extract_text().split()) for page in reader.pages]


def chart_rows(paper: Paper) -> dict[int, list[str]]:
    """The cells of each picket's row on the cut chart pages, in reading order, by its number."""
    rows: dict[int, list[str]] = {}
    for page in paper.pages:
        if not page.heading.startswith("Cut chart"):
            continue
        lines: dict[float, list[Text]] = {}
        for item in page.items:
            if isinstance(item, Text):
                lines.setdefault(round(item.y, 2), []).append(item)
        for line in lines.values():
            cells = [t.text for t in sorted(line, key=lambda t: t.box[0])]
            if re.fullmatch(r"\d+", cells[0]):
                assert int(cells[0]) not in rows
                rows[int(cells[0])] = cells
    return rows


def test_every_picket_stands_on_the_chart_with_its_kept_length(varied: Shown) -> None:
    words, run = Words.of(varied.plan.job.job), varied.plan.runs[0]
    rows = chart_rows(varied.paper)
    assert sorted(rows) == list(range(1, len(run.slots) + 1))
    for i, kept in enumerate(run.cuts.kept.tolist()):
        assert words.length(kept * varied.plan.mark) in rows[i + 1]
        short = min(int(run.cuts.kept_left[i]), int(run.cuts.kept_right[i]))
        if short < kept:
            toward = "start" if run.cuts.kept_left[i] < run.cuts.kept_right[i] else "end"
            assert rows[i + 1][rows[i + 1].index(toward) - 1] == words.length(short * varied.plan.mark)


def test_the_pdf_says_every_kept_length_in_the_order_of_the_chart(varied: Shown) -> None:
    words, run = Words.of(varied.plan.job.job), varied.plan.runs[0]
    text = " ".join(p for p in varied.texts if "Cut chart" in p)
    at = 0
    for i, kept in enumerate(run.cuts.kept.tolist()):
        length = re.escape(words.length(kept * varied.plan.mark))
        row = rf"(?<![\w'-]){i + 1} (back |front |first face |other face )?{length}"
        found = re.compile(row).search(text, at)
        assert found, f"picket {i + 1}"
        at = found.end()


def test_the_pdf_lists_every_post(varied: Shown) -> None:
    words = Words.of(varied.plan.job.job)
    text = " ".join(p for p in varied.texts if " Posts" in p)
    table = post_table(varied.plan, 0)
    kinds = {c.head: k for k, c in enumerate(table.columns)}
    for row in table.written(words):
        cells = [row[kinds[h]] for h in ("post", "station", "kind", "hole", "top above ground")]
        assert " ".join(cells) in text
        assert " ".join([row[kinds["length needed"]], row[kinds["from stock"]]]) in text


def test_the_pdf_lists_every_rail_mark(varied: Shown) -> None:
    text = " ".join(p for p in varied.texts if "Rail marks" in p)
    for row in rail_table(varied.plan, 0).written(Words.of(varied.plan.job.job)):
        assert " ".join(row[:6]) in text


def test_the_saw_list_counts_every_picket_once(varied: Shown) -> None:
    paper = varied.paper
    listed: list[int] = []
    for page in paper.pages:
        if page.heading.startswith("Saw list"):
            texts = [i for i in page.items if isinstance(i, Text)]
            head = next(t for t in texts if t.text == "pickets")
            for cell in (t for t in texts if abs(t.x - head.x) < 0.01 and t.y > head.y):
                for part in filter(None, re.split(r", ?", cell.text)):
                    a, _, b = part.partition("-")
                    listed += range(int(a), int(b or a) + 1)
    assert sorted(listed) == list(range(1, len(varied.plan.runs[0].slots) + 1))


def test_what_is_bought_and_assumed_stands_in_the_pdf(varied: Shown) -> None:
    text = " ".join(varied.texts)
    for row, column in (
        (r, c) for r in buying_table(varied.plan).written(Words.of(varied.plan.job.job)) for c in (6, 8)
    ):
        assert row[column] in text
    for taken in varied.plan.job.assumed:
        assert taken.key in text
        assert taken.value in text


def test_every_flag_stands_in_words_beside_its_picket_with_a_shape(varied: Shown) -> None:
    words, run = Words.of(varied.plan.job.job), varied.plan.runs[0]
    said = {
        PicketFlag.NO_STOCK: "no stock long enough",
        PicketFlag.OVER_HEIGHT: "over height",
        PicketFlag.GAP: "scribe or fill",
        PicketFlag.RIPPED: "rip to",
        PicketFlag.SLIVER: "sliver",
        PicketFlag.MARK_IN_PLACE: "mark in place",
    }
    paper = varied.paper
    pages = [p for p in paper.pages if p.heading.startswith("Cut chart, bay") or p.heading == "Cut chart"]
    notes = [(i.text, i) for p in pages for i in p.items if isinstance(i, Text) and i.bold and i.size <= 12.0]
    for flag, text in said.items():
        expected = int(run.flags[flag].sum())
        assert sum(text in note for note, _ in notes if not note.startswith("Mark in place")) == expected, (
            flag
        )
    shapes = sum(
        isinstance(i, Shape) and i.closed and i.fill == 0.0 and len(i.points) in {3, 4}
        for p in pages
        for i in p.items
    )
    assert shapes == sum(int(which.sum()) for which in run.flags.values())
    assert words.system is varied.plan.job.job.units


def test_the_bays_of_the_chart_hold_every_picket_between_their_posts(varied: Shown) -> None:
    run = varied.plan.runs[0]
    bays = charted_bays(run)
    assert np.array_equal(np.sort(np.concatenate([b.pickets for b in bays])), np.arange(len(run.slots)))
    for bay in bays:
        centre = run.slots.centre[bay.pickets]
        assert centre.min() >= run.layout.bays.left[bay.bay - 1] - run.slots.width.max()
        assert centre.max() <= run.layout.bays.right[bay.bay - 1] + run.slots.width.max()


def test_pickets_beside_a_gate_stay_in_the_bay_they_close(make_plan: MakePlan) -> None:
    plan = make_plan(pickets='width = "1 in"\nspacing = "1 in"')
    gate = replace(plan.job.runs[0], gate=(_gate(),))
    run = plan_fence(replace(plan.job, runs=(gate,))).runs[0]
    left = [b for b in charted_bays(run) if run.layout.bays.right[b.bay - 1] < 121]
    assert run.slots.right[left[-1].pickets].max() == pytest.approx(120.0)


def _gate() -> object:
    from fencegrade.job.records import Gate

    return Gate(station=120.0, width=48.0)


def test_a_gate_has_a_page_with_every_picket_of_its_leaf(make_plan: MakePlan) -> None:
    job = make_plan().job
    plan = plan_fence(replace(job, runs=(replace(job.runs[0], gate=(_gate(),)),)))
    words, leaf = Words.of(plan.job.job), plan.runs[0].leaves[0]
    (text,) = [p for p in pages_of(plan) if "Pickets of the leaf" in p]
    for k, kept in enumerate(leaf.kept.tolist()):
        assert f" {k + 1} {words.length(kept * plan.mark)}" in text
    assert "pool barrier" in text


class TestEveryPage:
    """What holds for each page of the sheets."""

    def test_says_job_run_and_its_number(self, make_plan: MakePlan) -> None:
        texts = pages_of(make_plan())
        for number, text in enumerate(texts, start=1):
            assert f"page {number} of {len(texts)}" in text
            assert "Herb garden" in text
            assert "lane side" in text

    def test_says_not_checked_until_the_job_says_so(self, make_plan: MakePlan) -> None:
        plan = make_plan()
        assert all(NOT_CHECKED in text for text in pages_of(plan))
        done = replace(plan, job=replace(plan.job, job=replace(plan.job.job, dig_checked=True)))
        texts = pages_of(done)
        assert not any("NOT CHECKED" in text for text in texts)
        assert "this list is done" in texts[1]

    def test_nothing_covers_anything_or_leaves_the_paper(self, varied: Shown) -> None:
        nothing_covered(varied.paper)

    def test_is_letter_or_a4(self, make_plan: MakePlan) -> None:
        plan = make_plan()
        metric = replace(plan.job.job, units=UnitSystem.METRIC, tape=1 / 25.4)
        for shown, size in (
            (plan, (612, 792)),
            (replace(plan, job=replace(plan.job, job=metric)), (595, 842)),
        ):
            for page in PdfReader(io.BytesIO(field_sheets(shown))).pages:
                assert (round(page.mediabox.width), round(page.mediabox.height)) == size

    def test_has_embedded_fonts_and_no_colour(self, varied: Shown) -> None:
        for page in PdfReader(io.BytesIO(varied.pdf)).pages:
            fonts = page["/Resources"]["/Font"]  # type: ignore[index]
            assert isinstance(fonts, DictionaryObject)
            for font in fonts.values():
                described = font.get_object()["/FontDescriptor"].get_object()
                assert "/FontFile2" in described
            contents = page.get_contents()
            assert contents is not None
            operators = {operator for _, operator in contents.operations}
            assert not operators & {b"rg", b"RG", b"k", b"K", b"sc", b"scn", b"SC", b"SCN", b"sh"}


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


DRAWN = ("The fence from the side", "Layout strip")
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


def test_no_rule_runs_through_a_text(varied: Shown) -> None:
    nothing_struck_through(varied.paper)


def test_the_check_of_touching_texts_sees_one() -> None:
    paper = Paper(system=UnitSystem.IMPERIAL, title="a")
    paper.new_page("page")
    paper.text(100, 300, "first")
    paper.text(110, 304, "second")
    with pytest.raises(AssertionError, match="second"):
        nothing_covered(paper)


def test_the_first_three_boards_are_named_where_it_is_read(make_plan: MakePlan) -> None:
    texts = pages_of(make_plan())
    assert CHECK_THREE in texts[0]
    assert all(
        CHECK_THREE in t for t in texts if " Cut chart Measured" in t or " Saw list, longest first " in t[:90]
    )
    assert sum(CHECK_THREE in t for t in texts) >= 3


def test_every_caution_and_every_line_of_the_list_before_digging_is_there(varied: Shown) -> None:
    text = " ".join(varied.texts)
    text = re.sub(r" Buried lines: NOT CHECKED YET| page \d+ of \d+", "", text)
    for caution in cautions(varied.plan):
        assert caution.whole in text
    for line in BEFORE_DIGGING:
        assert line in text


def test_the_same_plan_gives_the_same_bytes(make_plan: MakePlan) -> None:
    first, second = (field_sheets(make_plan(survey=ROUGH)) for _ in range(2))
    assert first == second
    assert b"D:20000101000000" in first


def test_markup_in_names_is_text(make_plan: MakePlan) -> None:
    title, name = "Beds <b>1</b> &amp; 2", "<i>lane</i> ${x}"
    reader = PdfReader(io.BytesIO(field_sheets(make_plan(title=title, name=name))))
    assert reader.metadata is not None
    assert reader.metadata.title == title
    for page in reader.pages:
        assert title in page.extract_text()
        assert name in page.extract_text()


def test_kept_lengths_are_large(varied: Shown) -> None:
    words, run = Words.of(varied.plan.job.job), varied.plan.runs[0]
    lengths = {words.length(k * varied.plan.mark) for k in run.cuts.kept.tolist()}
    pages = [p for p in varied.paper.pages if p.heading.startswith("Cut chart, bay")]
    sizes = [i.size for p in pages for i in p.items if isinstance(i, Text) and i.bold and i.text in lengths]
    assert pages
    assert min(sizes) >= 14.0


def test_a_job_too_large_for_paper_charts_says_so_in_words(
    make_plan: MakePlan, monkeypatch: pytest.MonkeyPatch
) -> None:
    plan = make_plan()
    monkeypatch.setattr(cut_pages, "MOST_CHARTED", len(plan.runs[0].slots) - 1)
    assert chart_rows(field_paper(plan)) == {}
    assert any(
        "cut_chart.txt" in text and f"{len(plan.runs[0].slots)} pickets" in text for text in pages_of(plan)
    )


def stations_on_paper(paper: Paper) -> Iterator[tuple[float, float]]:
    """Stations in feet under the drawings, and where on the paper they stand (points)."""
    for page in paper.pages:
        if page.heading.startswith("The fence from the side"):
            for item in page.items:
                if (
                    isinstance(item, Text)
                    and item.anchor == 0.5
                    and (m := re.fullmatch(r"(\d+) ft", item.text))
                ):
                    yield float(m[1]), item.x


def test_the_drawing_keeps_the_scale_it_states(make_plan: MakePlan) -> None:
    plan = make_plan(survey=ROUGH)
    paper = field_paper(plan)
    scale = fitting_scale(paper, plan.runs[0], plan)
    assert SCALES[paper.system][scale] in " ".join(pages_of(plan))
    marks = list(stations_on_paper(paper))
    steps = [(b - a, y - x) for (a, x), (b, y) in pairwise(marks) if 0 < b - a < 9]
    inner = [along * scale / 72 / 12 - feet for feet, along in steps]
    assert len(inner) > 3
    assert np.median(np.abs(inner)) < 1e-6


def test_the_words_of_scales_are_true() -> None:
    for scale, said in SCALES[UnitSystem.IMPERIAL].items():
        inches = Fraction(said.removesuffix(" in = 1 ft"))
        assert 12 / inches == scale
    assert all(said == f"1 : {scale}" for scale, said in SCALES[UnitSystem.METRIC].items())


def test_pickets_without_stock_have_no_board(make_plan: MakePlan) -> None:
    deep = "station [ft],drop [in]\n0,20\n8,20\n12,70\n16,20\n24,20\n"
    plan = make_plan(survey=deep)
    rows = chart_rows(field_paper(plan))
    missing = np.flatnonzero(plan.runs[0].stock == NO_STOCK)
    assert len(missing)
    assert all({"no board", "none"} <= set(rows[int(i) + 1]) for i in missing)
