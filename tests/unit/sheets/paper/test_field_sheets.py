"""The field sheets read back from the PDF: they say what the plan says, and nothing covers anything."""

import io
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache
from itertools import islice, pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from in_json import as_json
from kept import as_kept, drawn_as_kept, printed
from msgspec import structs
from pypdf import PageObject, PdfReader
from pypdf.generic import DictionaryObject
from reportlab.platypus import KeepTogether, PageBreak, Table
from stories import stories

from fencegrade.fence.gates.gates import CAUTIONS
from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.fence.stock import NO_STOCK
from fencegrade.ground.survey_line import line_name
from fencegrade.job.choices import PaperSize
from fencegrade.job.in_memory import job_from
from fencegrade.job.read import read_job
from fencegrade.job.records import Gate
from fencegrade.planning.buying import buying_list
from fencegrade.planning.hanging import spaces_to_set
from fencegrade.planning.plan import FencePlan, plan_fence
from fencegrade.sheets.cautions import CHECK_THREE
from fencegrade.sheets.charts import chart_text, cut_chart_data
from fencegrade.sheets.digging import NOT_CHECKED, before_digging
from fencegrade.sheets.drawings.elevation import HIGHEST, elevation_figures
from fencegrade.sheets.drawings.picture import known_fonts, text_width
from fencegrade.sheets.drawings.save import svg_bytes
from fencegrade.sheets.facts import cost_words, unpriced_words, waiting_words
from fencegrade.sheets.hanging import BayToHang, bays_to_come, bays_to_hang, short_side, strings_of_tops
from fencegrade.sheets.mark_in_place import in_place, left_long, lengths_told
from fencegrade.sheets.page.page import phone_page
from fencegrade.sheets.paper import blocks, hang, posts, saw, setting_out
from fencegrade.sheets.paper.blocks import PAD, gap, grid, named, title
from fencegrade.sheets.paper.field_sheets import field_sheets, sheet_look
from fencegrade.sheets.paper.gate import _picture, gate_said, gates
from fencegrade.sheets.paper.layout_strips import story_pole
from fencegrade.sheets.paper.setting_out import line_words
from fencegrade.sheets.paper.sheet import SMALL, sheet_pdf
from fencegrade.sheets.paper.side import SCALES, scaled_strips
from fencegrade.sheets.paper.yard import _leaves
from fencegrade.sheets.plan_cautions import cautions
from fencegrade.sheets.plan_tables import plan_tables
from fencegrade.sheets.rail_lines import rail_lines, rail_marks
from fencegrade.sheets.schedules import buying_table, post_table
from fencegrade.sheets.screen.summary import summary_lines
from fencegrade.sheets.tables import csv_text
from fencegrade.sheets.unbroken import unbroken
from fencegrade.units import UnitSystem
from fencegrade.units.words import Words, numbers_of

from ..conftest import JOB, SURVEY, MakePlan

SAMPLES = Path(__file__).parents[4] / "sample_runs"
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


GATE_TEXT = '[[run.gate]]\nstation = "8 ft"\nwidth = "4 ft"\n'
SLIP = {
    "units": "metric",
    "pickets": 'pattern = "board on board"',
    "bottom": "scribed",
    "style": "stepped",
    "survey": "station [ft],drop [in]\n0,20\n4,20.5\n8,21\n12,33.5\n16,22\n20,22.5\n24,22\n",
}
KEPT = {**{name: VARIED[name] for name in ("two rows", "ripped", "too low", "long names")}, "slip": SLIP}
"""Those of which all that is written is kept."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Word:
    """A text on a page: its left end on the baseline, points up from the foot; its size, and whether bold."""

    x: float
    y: float
    text: str
    size: float
    bold: bool

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, foot, right, head."""
        wide = text_width(self.text, self.size, self.bold)
        return self.x, self.y - 0.2 * self.size, self.x + wide, self.y + 0.74 * self.size


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """A plan and its sheets: what they are made of, the PDF, the text of each page, where every text is, and
    the operators that paint it.
    """

    plan: FencePlan
    story: list[str]
    pdf: bytes
    texts: list[str]
    words: list[list[Word]]
    operators: list[set[bytes]]

    def section(self, name: str) -> str:
        """The text of a section's pages, whole."""
        found, now = [], ""
        for page, text in zip(self.words, self.texts, strict=True):
            heads = [w.text for w in page if w.size > 16]
            if name in {now, *heads}:
                found.append(text)
            now = heads[-1] if heads else now
        return " ".join(found)


def shown(plan: FencePlan) -> Shown:
    with stories() as story:
        pdf = field_sheets(plan)
    read = (read_page(page) for page in PdfReader(io.BytesIO(pdf)).pages)
    texts, words, operators = map(list, zip(*read, strict=True))
    return Shown(plan=plan, story=story, pdf=pdf, texts=texts, words=words, operators=operators)


def kept_lines(sheets: Shown) -> list[str]:
    """Lines about all that is written of a plan."""
    plan = sheets.plan
    files = [("cut_chart.txt", chart_text(plan))]
    files += [(f"{name}.csv", csv_text(table, plan.words)) for name, table in plan_tables(plan)]
    drawn = [svg_bytes(picture) for run in plan.runs for picture in elevation_figures(run, plan)]
    lines = [line for name, text in files for line in printed(name, text.encode(), [text])]
    lines += printed("fence.html", phone_page(plan, drawn))
    lines += [*printed("field_sheets.pdf", sheets.pdf, sheets.texts), *sheets.story]
    lines += printed("layout_strips.pdf", story_pole(plan))
    return [*summary_lines(plan), *lines]


def read_page(page: PageObject) -> tuple[str, list[Word], set[bytes]]:
    """The text of a page, every word of it with its place, as it was set, and the operators that paint it;
    what goes on after another stands behind it.
    """
    found: list[Word] = []
    operators: set[bytes] = set()

    def keep(text: str, cm: list[float], tm: list[float], font: Any, size: float) -> None:
        for k, line in enumerate(text.strip("\n").split("\n")):
            if line.strip():
                bold = bool(font) and "Bold" in str(font.get("/BaseFont", ""))
                x, y = tm[4] * cm[0] + cm[4], tm[5] * cm[3] + cm[5] - k * 1.22 * size
                if found and not k and abs(found[-1].y - y) < 0.1 and abs(found[-1].x - x) < 0.1:
                    x = found[-1].box[2] + 1
                found.append(Word(x=x, y=y, text=line.strip(), size=size, bold=bold))

    text = page.extract_text(visitor_operand_before=lambda op, *_: operators.add(op), visitor_text=keep)
    return " ".join(text.split()), found, operators


@pytest.fixture(scope="module")
def shown_of(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], Shown]:
    """The sheets of a plan of those that vary, drawn and read once."""

    @cache
    def sheets(name: str) -> Shown:
        parts = {"title": "Herb garden", "name": "lane side", "bottom": "square", "pickets": "", "top": ""}
        parts |= {"units": "imperial", "survey": SURVEY, "there": "0"} | (VARIED | KEPT)[name]
        folder = tmp_path_factory.mktemp("job")
        (folder / "job.toml").write_text(JOB.format(**parts), encoding="utf-8")
        (folder / "lane.csv").write_text(parts["survey"], encoding="utf-8")
        return shown(plan_fence(read_job(folder), parts.get("style")))

    return sheets


@pytest.fixture(scope="module", params=VARIED)
def varied(request: pytest.FixtureRequest, shown_of: Callable[[str], Shown]) -> Shown:
    """Plans that differ in what their sheets must hold."""
    return shown_of(request.param)


@pytest.fixture(scope="module")
def plain(shown_of: Callable[[str], Shown]) -> Shown:
    """The sheets of the small yard as it is."""
    return shown_of("plain")


@pytest.fixture(scope="module")
def garden() -> Shown:
    """The sheets of the sample with a gate."""
    return shown(plan_fence(read_job(SAMPLES / "herb_garden")))


@pytest.mark.parametrize("varied", KEPT, indirect=True)
def test_all_that_is_written_is_as_it_was_kept(varied: Shown, request: pytest.FixtureRequest) -> None:
    name = request.node.callspec.params["varied"].replace(" ", "_")
    as_kept(f"sheets_{name}", kept_lines(varied))


@pytest.mark.parametrize("up", [0.4, 1.0], ids=["some", "all"])
def test_sheets_of_a_fence_that_stands_are_as_they_were_kept(
    make_plan: MakePlan, tmp_path: Path, up: float, request: pytest.FixtureRequest
) -> None:
    run = make_plan(top=GATE_TEXT).runs[0]
    last = int(up * len(run.slots))
    built = f'[[run]]\nname = "lane side"\n[[run.picket]]\nnumber = {last}\n'
    edge = float(run.slots.right[last - 1])
    built += f'far_edge = "{edge!r} in"\n'
    for k, x in enumerate(run.posts.station.tolist(), 1):
        if up == 1.0 or x < edge:
            built += f'[[run.post]]\nnumber = {k}\nstation = "{x!r} in"\n'
    (tmp_path / "built.toml").write_text(built, encoding="utf-8")
    sheets = shown(plan_fence(read_job(tmp_path)))
    assert sheets.plan.runs[0].layout.coming.sum() == len(run.slots) - last
    assert any("'Hanging'" in line for line in kept_lines(sheets)) == (up < 1.0)
    as_kept(f"sheets_{request.node.callspec.id}_up", kept_lines(sheets))


def test_no_heading_of_a_narrow_chart_is_broken() -> None:
    """Boards with tops of their own that are looked at, over and under the line: units go to the headings."""
    plan = plan_fence(read_job(SAMPLES / "herb_garden"), "contour")
    for bay in bays_to_come(plan, 0):
        table: Any = hang.bay_table(plan, 0, bay, 240.0, plan.words)
        (heads,) = [row for row in table._cellvalues if getattr(row[0], "text", "").endswith("no.")]
        for head, width in zip(heads, table._colWidths, strict=True):
            told = getattr(head, "text", "").split()
            assert max((text_width(w, SMALL, True) for w in told), default=0.0) <= width - PAD


def test_a_gate_leaf_that_no_board_reaches_says_so_on_the_page(make_plan: MakePlan) -> None:
    plan = make_plan(
        top=f'least_height = "78 in"\n{GATE_TEXT}', survey=SURVEY.replace("10,24", "8,60\n10,60\n12,60")
    )
    page = phone_page(plan, []).decode()
    assert plan.families.gate_pickets is not None
    lacking = sum(not stock for stock in plan.families.gate_pickets.sold_of().tolist())
    outgrown = int((plan.runs[0].stock == NO_STOCK).sum())
    assert lacking
    assert page.count("no board is long enough") == lacking + outgrown


class TestHanging:
    """The chart a crew hangs by."""

    def test_every_board_has_its_left_edge_and_length(self, varied: Shown) -> None:
        say, run = Words.of(varied.plan.job.job), varied.plan.runs[0]
        text = varied.section("Hanging")
        at = 0
        for bay in bays_to_hang(varied.plan, 0):
            for i in map(int, bay.pickets):
                long, told = in_place(run)[i], lengths_told(varied.plan, 0)[i]
                kept = r"(LEAVE )?LONG ♦" if long else re.escape(told)
                edge = re.escape(say.station(float(run.slots.left[i])))
                found = re.compile(rf"(?<![\w'-]){i + 1} (first |other )?{edge} {kept}").search(text, at)
                assert found, f"picket {i + 1}"
                at = found.end()
                assert not long or re.match(rf"[▲ ]*(leave it long, )?{re.escape(told)}", text[at:].lstrip())

    def test_where_board_29_starts_and_what_stands_over_its_bay_are_those_of_plan_json(
        self, garden: Shown
    ) -> None:
        """Its left edge, its bay's spacer, and how high the tops pass the string there, all from one page."""
        say, tree = Words.of(garden.plan.job.job), as_json(garden.plan)["runs"][0]
        board = tree["pickets"][28]
        (page,) = [t for t in garden.texts if f" 29 {say.station(board['left'])} " in t]
        bay = next(b for b in bays_to_hang(garden.plan, 0) if 28 in b.pickets)
        space = next(s for s in tree["spacing"] if s["first"] <= 29 <= s["last"])
        posts = [tree["posts"][k - 1]["tops_over_string"] for k in bay.posts]
        low, high = (say.fine(top) for top in posts)
        both = low if low == high else f"{low} at post {bay.posts[0]}, {high} at {bay.posts[1]}"
        where = f"{say.station(bay.start)} to {say.station(bay.end)}"
        wanted = f"Bay {bay.bay}, posts {bay.posts[0]}-{bay.posts[1]} {where} "
        spacer = f"spacer {say.space(space['gap'])}, the last {say.space(last_of(tree, bay, space))}"
        assert f"{wanted}{spacer} tops {both} over string" in page
        assert f"{say.station(board['left'])} {say.length(board['length'])}" in page

    def test_every_flag_stands_in_words_beside_its_board(self, varied: Shown) -> None:
        run, text = varied.plan.runs[0], varied.section("Hanging")
        said = {
            PicketFlag.NO_STOCK: "no stock long enough",
            PicketFlag.OVER_HEIGHT: "over height: ",
            PicketFlag.GAP: "open: scribe",
            PicketFlag.RIPPED: "rip to",
            PicketFlag.SLIVER: "sliver",
            PicketFlag.MARK_IN_PLACE: "♦",
        }
        told = text.split("look at it first.")[1]
        for flag, words in said.items():
            assert told.count(words) == int(run.flags[flag].sum()), flag

    def test_the_bays_hold_every_board_between_their_posts(self, varied: Shown) -> None:
        run = varied.plan.runs[0]
        bays = bays_to_hang(varied.plan, 0)
        assert np.array_equal(np.sort(np.concatenate([b.pickets for b in bays])), np.arange(len(run.slots)))
        for bay in bays:
            centre = run.slots.centre[bay.pickets]
            assert centre.min() >= bay.start - run.slots.width.max()
            assert centre.max() <= bay.end + run.slots.width.max()
            assert sorted(n for _, which in bay.stacks for n in which) == [
                int(i) + 1 for i in bay.pickets if run.stock[i] != NO_STOCK
            ]

    def test_boards_beside_a_gate_stay_in_the_bay_they_close(self, make_plan: MakePlan) -> None:
        plan = make_plan(pickets='width = "1 in"\nspacing = "1 in"')
        plan = plan_fence(replace(plan.job, runs=(replace(plan.job.runs[0], gate=(GATE,)),)))
        left = [b for b in bays_to_hang(plan, 0) if b.end < 121 + 2]
        assert plan.runs[0].slots.right[left[-1].pickets].max() == pytest.approx(120.0)

    def test_a_job_too_large_for_paper_says_so_in_words(
        self, plain: Shown, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        plan = plain.plan
        monkeypatch.setattr(hang, "MOST_CHARTED", len(plan.runs[0].slots) - 1)
        sheets = shown(plan)
        (page,) = [t for t in sheets.texts if "cut_chart.txt" in t]
        assert f"{len(plan.runs[0].slots)} pickets" in page
        assert "left edge keep" not in " ".join(sheets.texts)


def last_of(tree: dict[str, Any], bay: BayToHang, space: dict[str, Any]) -> float:
    """What the spaces after a bay's boards leave for their last where the others are the spacer's."""
    edges = [p["left"] for p in tree["pickets"]]
    first, after = int(bay.pickets[0]), int(bay.pickets[-1]) + 1
    count, spacer = after - first, round(space["gap"] * 32) / 32
    wide = tree["pickets"][0]["right"] - tree["pickets"][0]["left"]
    return float(edges[after] - edges[first] - count * wide - (count - 1) * spacer)


GATE = Gate(station=120.0, width=48.0)


def listed(text: str) -> list[int]:
    """The numbers of a list of ranges, without what they are ripped to."""
    parts = [part.partition("-") for part in re.findall(r"\d+(?:-\d+)?", text.partition(", ripped")[0])]
    return [n for a, _, b in parts for n in range(int(a), int(b or a) + 1)]


class TestAtTheSaw:
    """The saw list agrees with the chart."""

    def test_boards_are_cut_once_and_those_in_doubt_not_at_all(self, varied: Shown) -> None:
        run = varied.plan.runs[0]
        (settings, _, left_long) = varied.section("At the saw").partition("Not at the saw: leave long")
        rows = saw_rows(varied)
        cut = sorted(n for numbers in rows for n in listed(numbers))
        wanted = (run.stock != NO_STOCK) & ~in_place(run)
        assert cut == (np.flatnonzero(wanted) + 1).tolist()
        assert bool(left_long) == bool(in_place(run).any())
        assert "settings of the stop" in settings or "setting of the stop" in settings

    def test_a_slanted_cut_has_its_angle_and_direction(self, varied: Shown) -> None:
        run, text = varied.plan.runs[0], varied.section("At the saw")
        slanted = (run.cuts.kept_left != run.cuts.kept_right) & ~in_place(run) & (run.stock != NO_STOCK)
        assert (" angle short side short to " in text) == bool(slanted.any())
        say = Words.of(varied.plan.job.job)
        for i in np.flatnonzero(slanted):
            off = int(run.cuts.kept_left[i] - run.cuts.kept_right[i]) * varied.plan.mark
            angle = np.degrees(np.arctan(abs(off) / run.slots.width[i]))
            short = say.length(
                min(int(run.cuts.kept_left[i]), int(run.cuts.kept_right[i])) * varied.plan.mark
            )
            kept = say.length(int(run.cuts.kept[i]) * varied.plan.mark)
            assert f"{kept} {angle:.1f}° {short} {'start' if off < 0 else 'end'}" in text

    def test_no_box_says_that_a_board_in_doubt_is_cut(self, garden: Shown) -> None:
        """Its rows carry no stop; the lengths to expect hold the length of the chart."""
        run, say = garden.plan.runs[0], Words.of(garden.plan.job.job)
        assert in_place(run).any()
        block = garden.section("At the saw").split("Not at the saw")[1]
        first = int(np.flatnonzero(in_place(run))[0]) + 1
        assert re.search(rf"length to expect {first}", block)
        assert "stop at" not in block.split("page")[0]
        assert say.length(garden.plan.job.pickets.clearance) in block


def saw_rows(sheets: Shown) -> list[str]:
    """The numbers of pickets of each row of the saw list."""
    found, inside = [], False
    for page in sheets.words:
        heads = [w for w in page if w.text == "pickets" and w.bold and w.size == SMALL]
        inside = inside or any(w.text == "At the saw" for w in page)
        ends = [w.y for w in page if w.text.startswith("Not at the saw") or w.text in {"Low ground", "Gate"}]
        for w in page if inside else []:
            over = min((h for h in heads if h.y > w.y), key=lambda h: h.y, default=None)
            if over is not None and abs(over.x - w.x) < 0.5 and not w.bold and w.y > max(ends, default=0.0):
                found.append(w.text)
        if inside and ends:
            break
    return found


def test_posts_say_where_how_deep_and_how_high(varied: Shown) -> None:
    say, run = Words.of(varied.plan.job.job), varied.plan.runs[0]
    text = varied.section("Posts")
    table = post_table(varied.plan, 0)
    at = {head: k for k, head in enumerate(table.heads)}
    tree = as_json(varied.plan)["runs"][0]["posts"]
    for row, post, station in zip(table.written(say), tree, run.posts.station.tolist(), strict=True):
        hole = row[at["hole"]].removesuffix(f" {say.unit}")
        assert f"{row[0]} {say.station(station)} {row[at['kind']]} {hole}".rstrip() in text
        over, tops = (post[k] for k in ("top_over_string", "tops_over_string"))
        lengths = [say.fine(abs(x)).removesuffix(f" {say.unit}") for x in (over, tops)]
        said = [f"{n}{' under' if x < 0 else ''}" for n, x in zip(lengths, (over, tops), strict=True)]
        assert " ".join([row[at["top above ground"]], *said]) in text


def test_rails_stand_line_by_line_with_marks_at_every_post(varied: Shown) -> None:
    say, run = Words.of(varied.plan.job.job), varied.plan.runs[0]
    text = varied.section("Rails")
    lines = rail_lines(varied.plan, 0)
    assert sum(r.pieces for r in lines) == len(run.rail_pieces)
    for r in lines:
        bays = f"{r.first}" if r.first == r.last else f"{r.first}-{r.last}"
        sizes = (r.length, r.taken) if any(x.angle for x in lines) else (r.length,)
        length = re.escape(" ".join(say.length(x).removesuffix(f" {say.unit}") for x in sizes))
        found = re.findall(rf"(?<!\S){bays} ([\d,-]+|\d+-\d+) (\d+) {r.spans} {length} ", text)
        assert any(r.row in numbers_of(rows, 9) and int(n) >= r.pieces for rows, n in found)
        assert r.spans * r.pieces == r.last - r.first + 1
    before = text.split("Marks at the posts")[0]
    cut = re.findall(r"(?<!\S)[\d-]+ (\d+) \d [\d/-]+(?: [\d/-]+)? \d+ ft ", before)
    assert sum(map(int, cut)) == len(run.rail_pieces)
    marks = rail_marks(run)
    for k in range(len(run.rails)):
        bay, row = int(run.rails.bay[k]), int(run.rails.row[k])
        post = int(run.layout.bays.first[bay]) + 1
        x = np.array([run.layout.bays.left[bay]])
        edge = float(run.top.sides(x)[1][0] - run.rails.drop[k])
        assert min(abs(edge - v) for v in marks[post][row]) < 1e-6
    assert set(marks) == {int(b) + k for b in run.layout.bays.first for k in (1, 2)}


def test_what_is_bought_and_assumed_stands_in_the_pdf(varied: Shown) -> None:
    text = " ".join(varied.texts)
    table = buying_table(varied.plan)
    at = {head: k for k, head in enumerate(table.heads)}
    for row in table.written(Words.of(varied.plan.job.job)):
        assert row[at["to buy"]] in text
        assert row[at["total"]] in text
    for taken in varied.plan.job.assumed:
        assert f"{taken.key.partition('] ')[2]} {taken.value}" in text


def test_a_gate_has_its_drawing_and_every_board_of_its_leaf(make_plan: MakePlan) -> None:
    job = make_plan().job
    plan = plan_fence(replace(job, runs=(replace(job.runs[0], gate=(GATE,)),)))
    say, leaf, sheets = Words.of(plan.job.job), plan.runs[0].leaves[0], shown(plan)
    (text,) = [t for t in sheets.texts if "Boards of the leaf" in t]
    for k, kept in enumerate(leaf.kept.tolist()):
        edge = say.fine(float(leaf.slots.left[k] - leaf.slots.left[0]))
        assert f" {k + 1} {edge} {say.length(kept * plan.mark)}" in text
    assert "4' 0\" clear between posts" in text
    narrowed = dict(gate_said(plan.runs[0].layout.gates[0], 48.25, [""], plan.runs[0].frames, say))["Opening"]
    assert "4' 0\" clear beside the board that is up, 48-1/4 in between posts; one leaf" in narrowed
    assert "the pickets toward you, the frame behind them" in text
    assert "mark both ends and cut them to fit" in text
    assert "pool barrier" in text
    run, wide = plan.runs[0], 60.0
    drawn = _picture(run, run.layout.gates[0], 0, run.frames[0], leaf, plan.job.pickets.top_end, wide)
    assert drawn.width == pytest.approx(wide - 2), "as wide as it has room, where its height asks no less"


def test_what_is_on_hand_does_not_stand_under_what_is_to_buy(make_plan: MakePlan) -> None:
    plan = make_plan(there=200)
    line = next(x for x in buying_list(plan).lines if x.part == "pickets")
    assert (line.to_buy, line.on_hand) == (0, line.need)
    to_buy, there = shown(plan).texts[0].split("On hand, and not to be bought: ")
    told = f"{line.need:g} pickets of 6 ft"
    assert there.startswith(told)
    assert told not in to_buy.partition("To buy")[2]
    assert "rails of" in to_buy.partition("To buy")[2]
    assert "not to be bought" not in shown(make_plan()).texts[0]


class TestThePages:
    """What holds for each page."""

    def test_the_first_page_is_the_answer(self, garden: Shown) -> None:
        page, plan = garden.texts[0], garden.plan
        tree, say = as_json(plan), Words.of(plan.job.job)
        assert f"To buy, {say.money(tree['totals']['cost'])}" in page
        assert f"{tree['totals']['pickets']} pickets, {len(tree['runs'][0]['posts'])} posts to set" in page
        over = [p["top_over_string"] for p in tree["runs"][0]["pickets"]]
        assert f"Picket tops {say.length(min(over))} to {say.length(max(over))} over the string" in page
        sure = [p for p in tree["runs"][0]["pickets"] if "mark in place" not in p["flags"] and p["stock"]]
        assert f"{len(sure)} boards can be cut now" in page
        assert CHECK_THREE in page
        assert "Buried lines: NOT CHECKED YET. Do not dig" in page

    def test_spaces_are_those_of_plan_json_with_spacer_and_what_it_gains(self, garden: Shown) -> None:
        say, (page,) = Words.of(garden.plan.job.job), [t for t in garden.texts if "Setting out" in t]
        for s in as_json(garden.plan)["runs"][0]["spacing"]:
            count, spacer = s["last"] - s["first"], round(s["gap"] * 32) / 32
            off = count * (spacer - s["gap"])
            told = f"{say.space(abs(off))} too {'long' if off > 0 else 'short'}"
            edges = f"{say.station(s['start'])} to {say.station(s['end'])}"
            assert f"{s['first']} to {s['last']} {edges} {count} {say.space(spacer)} {told}" in page

    def test_what_a_shut_leaf_leaves_open_is_told_beside_the_boards(self, garden: Shown) -> None:
        run, say = garden.plan.runs[0], garden.plan.words
        (gate,), widest = run.layout.gates, float(run.cuts.gap.max())
        more = f", {say.length(widest + 1)} under gate 1"
        wide = widest + 1
        for height, leaves, told in ((widest, 1, ""), (wide, 1, more), (wide, 2, f"{more} leaf 1")):
            shut = structs.replace(gate.chosen[0], open_height=height)
            hung = structs.replace(gate, chosen=(shut,) * leaves)
            found = _leaves(structs.replace(run, layout=structs.replace(run.layout, gates=(hung,))), say)
            assert found == (told if leaves == 1 else f"{told}{more} leaf 2")

    def test_there_are_few_and_none_is_left_half_empty_within_a_section(self, garden: Shown) -> None:
        assert len(garden.texts) <= 12
        high = sheet_look(garden.plan).size[1]
        for page, after in zip(garden.words, garden.words[1:], strict=False):
            if not any(w.size > 16 and w.y > 0.8 * high for w in after):
                assert min(w.y for w in page if w.y > 55) < high / 2, page[0].text

    def test_nothing_is_small_covers_anything_or_leaves_the_paper(self, varied: Shown) -> None:
        nothing_covered(varied)

    def test_nothing_is_small_covers_anything_or_leaves_the_paper_of_a_sample(self, garden: Shown) -> None:
        nothing_covered(garden)

    def test_says_job_run_and_its_number(self, plain: Shown) -> None:
        texts = plain.texts
        for number, text in enumerate(texts, start=1):
            assert f"page {number} of {len(texts)}" in text
            assert "Herb garden" in text
            assert "lane side" in text

    def test_says_not_checked_until_the_job_says_so(self, plain: Shown) -> None:
        plan = plain.plan
        assert all(NOT_CHECKED in text for text in plain.texts)
        done = structs.replace(plan, job=replace(plan.job, job=replace(plan.job.job, dig_checked=True)))
        texts = shown(done).texts
        assert not any("NOT CHECKED" in text for text in texts)
        assert "Before you dig: the job file says that this list is done" in " ".join(texts)

    def test_is_the_paper_of_the_units_or_the_one_the_job_names(self, plain: Shown) -> None:
        plan = plain.plan
        metric = replace(plan.job.job, units=UnitSystem.METRIC, tape=1 / 25.4)
        cases = (
            (plan.job.job, (612, 792)),
            (metric, (595, 842)),
            (replace(plan.job.job, paper=PaperSize.A4), (595, 842)),
            (replace(metric, paper=PaperSize.LETTER), (612, 792)),
        )
        for job, size in cases:
            look = sheet_look(structs.replace(plan, job=replace(plan.job, job=job)))
            assert tuple(map(round, look.size)) == size
        boxes = [p.mediabox for p in PdfReader(io.BytesIO(plain.pdf)).pages]
        assert {(float(box.width), float(box.height)) for box in boxes} == {sheet_look(plan).size}

    def test_has_embedded_fonts_and_no_colour(self, varied: Shown) -> None:
        pages: Any = PdfReader(io.BytesIO(varied.pdf)).pages
        for page in pages:
            fonts = page["/Resources"]["/Font"]
            assert isinstance(fonts, DictionaryObject)
            for font in fonts.values():
                described = font.get_object()["/FontDescriptor"].get_object()
                assert "/FontFile2" in described
        for operators in varied.operators:
            assert b"Tj" in operators
            assert not operators & {b"rg", b"RG", b"k", b"K", b"sc", b"scn", b"SC", b"SCN", b"sh"}

    def test_an_outline_names_the_section_each_page_begins(self, garden: Shown) -> None:
        reader: Any = PdfReader(io.BytesIO(garden.pdf))
        assert reader.metadata.subject
        for entry in reader.outline:
            number = reader.get_destination_page_number(entry)
            assert number is not None
            assert entry.title in garden.texts[number]


def nothing_covered(sheets: Shown) -> None:
    """No text under ten points, none over another, none past the margins."""
    wide, high = sheet_look(sheets.plan).size
    for number, page in enumerate(sheets.words, start=1):
        assert min(w.size for w in page) >= SMALL
        boxes = np.array([w.box for w in page])
        left, foot, right, head = boxes.T
        outside = (left < 30) | (right > wide - 28) | (foot < 26) | (head > high - 26)
        assert not outside.any(), (number, [w.text for w, o in zip(page, outside, strict=True) if o])
        across = np.minimum(right[:, None], right) - np.maximum(left[:, None], left)
        up = np.minimum(head[:, None], head) - np.maximum(foot[:, None], foot)
        touching = np.argwhere(np.triu((across > 0.5) & (up > 0.5), 1))
        assert not len(touching), (number, [(page[a].text, page[b].text) for a, b in touching])


def test_the_check_of_touching_texts_sees_one(garden: Shown) -> None:
    page = garden.words[0]
    moved = replace(page[5], x=page[4].x, y=page[4].y + 2)
    with pytest.raises(AssertionError, match=re.escape(page[4].text[:12])):
        nothing_covered(replace(garden, words=[[*page[:5], moved, *page[6:]]]))


def test_every_caution_and_every_line_of_the_list_before_digging_is_there(varied: Shown) -> None:
    text = " ".join(varied.texts)
    for caution in cautions(varied.plan):
        assert caution.whole in text
    for line in before_digging(varied.plan.units):
        assert line in text


def test_no_page_holds_cautions_alone(varied: Shown) -> None:
    whole = " ".join(c.whole for c in cautions(varied.plan))
    for page in varied.words:
        body = [w for w in page if 55 < w.y < sheet_look(varied.plan).size[1] - 48]
        assert [w for w in body if w.text not in whole and w.text != "Take care"]


def test_no_line_tears_a_figure_from_its_unit(varied: Shown) -> None:
    torn = re.compile(r"^(?:mm|in|ft|lb|%)(?!\w)")
    for page in varied.words:
        for a, b in pairwise(page):
            assert not (a.text[-1:].isdigit() and torn.match(b.text) and a.y > b.y), (a.text, b.text)


def begun(sheets: Shown) -> list[tuple[str, bool]]:
    """The text that each page begins with in its first column, and whether its head says that it goes on."""
    look, found = sheet_look(sheets.plan), []
    for page in sheets.words:
        body = [w for w in page if 56 < w.y < look.size[1] - 30 - look.head]
        first = max((w for w in body if w.x < look.size[0] / 2 - 20), key=lambda w: w.y)
        head = [w.text for w in page if w.y > look.size[1] - 42]
        found.append(("" if first.size > 16 else first.text, any("continued; " in text for text in head)))
    return found


def test_a_page_that_begins_within_a_section_says_so_and_no_other(varied: Shown) -> None:
    assert all(bool(first) == told for first, told in begun(varied))


def test_what_is_torn_off_a_section_says_so_though_another_begins_below_it(plain: Shown) -> None:
    look = sheet_look(plain.plan)
    story = [*title("First", "x"), gap(look.height - 30), named("torn", "off"), *title("Second", "y")]
    _, page = PdfReader(io.BytesIO(sheet_pdf(look, "", story))).pages
    assert "First, continued; y" in page.extract_text()


def test_posts_that_wait_are_told_where_boards_are_bought_and_rails_are_a_sheet_of_their_own(
    make_plan: MakePlan,
) -> None:
    plan = make_plan(survey=ROUGH, top='[site]\nwind_speed = "115 mph"')
    sheets, waits, cost = shown(plan), waiting_words(plan), buying_list(plan).cost
    assert all(bool(first) == told for first, told in begun(sheets))
    assert sheets.section("Rails").startswith("Rails Row 1")
    rows = posts.rails(plan, 0, sheet_look(plan), "lane side")
    assert any(isinstance(part, PageBreak) for part in islice(rows, 2)), "other hands, another sheet"
    assert waits
    assert cost is not None
    total, without = cost_words(cost, plan.missing, plan.words), unpriced_words(plan)
    assert "posts" in without
    yard = sheets.section("The yard's list")
    places = [yard.find(text) for text in (waits, "to buy price", f"Together {total}. {without}")]
    assert 0 < places[0] < places[1] < places[2]
    page = " ".join(phone_page(plan, []).decode().partition('<section id="buy"')[2].split())
    assert 0 < page.find(f"<strong>{waits}.</strong>") < page.find("<table")
    assert page.find(total) > 0


def test_the_same_plan_gives_the_same_bytes(make_plan: MakePlan, plain: Shown) -> None:
    assert field_sheets(make_plan()) == plain.pdf
    assert b"D:20000101000000" in plain.pdf


def test_markup_in_names_is_text(make_plan: MakePlan) -> None:
    title, name = "Beds <b>1</b> &amp; 2", "<i>lane</i> ${x}"
    reader = PdfReader(io.BytesIO(field_sheets(make_plan(title=title, name=name))))
    assert reader.metadata is not None
    assert reader.metadata.title == title
    for text in (page.extract_text() for page in reader.pages):
        assert title in text
        assert name in text


def test_the_drawing_keeps_the_scale_it_states(shown_of: Callable[[str], Shown]) -> None:
    sheets = shown_of("ripped")
    plan = sheets.plan
    scale, said, strips = scaled_strips(plan, plan.runs[0], sheet_look(plan))
    (page,) = [k for k, on_it in enumerate(sheets.words) if any(w.text == "From the side" for w in on_it)]
    assert said == SCALES[UnitSystem.IMPERIAL][scale]
    assert said in sheets.texts[page]
    assert {s.along for s in strips} == {s.up for s in strips} == {72 / scale}
    rows: dict[tuple[int, int], list[tuple[float, float]]] = {}
    for number in (page, page + 1):
        for w in sheets.words[number]:
            if m := re.fullmatch(r"(\d+) ft", w.text):
                middle = w.x + text_width(w.text, w.size) / 2
                rows.setdefault((number, round(w.y)), []).append((float(m[1]), middle))
    steps = [
        (x2 - x1) * scale / 72 / 12 - (f2 - f1)
        for marks in rows.values()
        for (f1, x1), (f2, x2) in pairwise(sorted(marks)[1:-1])
    ]
    assert steps
    assert max(map(abs, steps)) < 0.02


@pytest.mark.parametrize(
    ("row", "units"),
    [
        (["177", "other", "13.5745", "1436", "to start", "♦"], (" [m]", " [mm]")),
        (["1770", "13.5745", "1436", "1417 under", "to start", "♦"], (" [m]", " [mm]")),
        (["177", "41' 11-15/16\"", "63-15/16", "20-15/16", "♦"], ("", " [in]")),
    ],
)
def test_no_figure_of_a_narrow_grid_is_broken_over_two_lines(row: list[str], units: tuple[str, str]) -> None:
    """The bays of a slanted pattern, and with tops of their own, are the widest rows of a column."""
    lengths = (f"left edge{units[0]}", f"keep{units[1]}")
    two_rows = row[1] == "other"
    before = ("no.", "face", *lengths) if two_rows else ("no.", *lengths, f"top{units[1]}")
    left = ("face", "short", "look")
    heads = (*before, *left[-(len(row) - 4) :])
    made = grid(253, heads, [row], left=left, bold=("no.", lengths[1]), tick=True, size=10.5)
    assert sum(vars(made)["_argW"]) == pytest.approx(253)
    whole = [k for k, head in enumerate(heads) if two_rows or head not in left]
    assert [vars(made)["_cellvalues"][1][k] for k in whole] == [row[k] for k in whole]


def test_texts_that_would_break_a_figure_stand_under_their_board() -> None:
    """The same bay in a column too narrow for its short sides."""
    plan = plan_fence(read_job(SAMPLES / "paddock_lane"))
    (bay,) = (bay for bay in bays_to_hang(plan, 0) if strings_of_tops(plan.runs[0], bay))
    cells = vars(hang.bay_table(plan, 0, bay, 185, plan.words))["_cellvalues"]
    rows = [k for k, row in enumerate(cells) if str(row[0]).isdigit()]
    assert len(rows) == len(bay.pickets)
    for i, k in zip(bay.pickets.tolist(), rows, strict=True):
        assert all(isinstance(cell, str) for cell in cells[k][:4])
        side = short_side(plan.runs[0], i)
        assert not side or cells[k + 1][1].text.startswith(f"short side to {side}")


def test_tops_count_over_the_string_named_where_two_hang_in_a_bay() -> None:
    """Own tops, two strings and scribed ends in one bay: no cell is broken, each top is the chart's."""
    plan = plan_fence(read_job(SAMPLES / "paddock_lane"))
    (run,), chart = plan.runs, {r[1]: r for r in cut_chart_data(plan).rows}
    bays = [bay for bay in bays_to_hang(plan, 0) if bay.bow]
    changes = [bay for bay in bays if strings_of_tops(run, bay)]
    assert len(changes) == 1
    for bay in bays:
        table = vars(hang.bay_table(plan, 0, bay, 253, plan.words))
        rows = [row for row in table["_cellvalues"] if str(row[0]).isdigit()]
        assert [int(row[0]) for row in rows] == (bay.pickets + 1).tolist()
        named = strings_of_tops(run, bay) or {0: line_name(run.ground, bay.start)}
        for place, row in enumerate(rows):
            assert all(isinstance(cell, str) for cell in row[:5])
            of_chart = chart[int(row[0])]
            assert plan.words.length(float(of_chart[12] or 0)) == f"{row[3]} mm"
            assert named[max(k for k in named if k <= place)] == f"string {of_chart[13]}"
    (line, *_) = vars(hang.bay_table(plan, 0, changes[0], 253, plan.words))["_cellvalues"][0]
    assert line.text.endswith("tops from 104 over string A, from 109 over string B")
    ((_, told),) = line_words(plan, 0, plan.words)
    assert "as high as the sheet Hanging gives its top over the string named there" in told


@pytest.mark.parametrize(
    ("known", "least", "worked"),
    [
        (-40, 2, ("40 in under", "20 in over", "13 in under", "where the rod reads 33 in")),
        (-40, 6, ("40 in under", "20 in over", "35 in over", "15 in over the sight")),
        (100, 2, ("100 in over", "160 in over", "127 in over", "where the rod reads 33 in")),
    ],
)
def test_a_height_over_zero_is_worked_into_a_reading_of_the_rod(
    known: int, least: int, worked: tuple[str, ...]
) -> None:
    """Ground 3 in higher at the far end: the tops there 24 or 72 in over it (own arithmetic)."""
    book = "station [ft],backsight [in],intermediate [in],foresight [in],known [in]\n"
    book += f"0,60,,,{known}\n8,,58,,\n16,,,57,\n"
    run = '[[run]]\nname = "{0}"\nsurvey = "a.csv"\n'
    tables = f'[job]\ntitle = "Book"\nunits = "imperial"\n{run.format("a")}{run.format("b")}'
    tables += f'[top]\nleast_height = "{least} ft"\n[[pickets.stock]]\nlength = "6 ft"\n'
    plan = plan_fence(job_from(tables, {"a.csv": book}))
    first, second = (next(iter(line_words(plan, k, plan.words)))[1] for k in (0, 1))
    ground, sight, mark, found = worked
    assert first.endswith(
        f'Worked: the ground at 0" is {ground} zero; with the rod at 60 in there the sight is {sight} zero, '
        f"and the mark at post 1, {mark} zero, is {found}."
    )
    assert "rod" not in second, "once is enough"


def test_columns_share_a_width_that_none_of_them_fits() -> None:
    """As wide as they like, by one share; with room to spare each takes as much of it as the others."""
    heads, row = ("aaaa", "bb"), ["x" * 30, "y" * 10]
    like = [text_width(text, SMALL) + 1.6 * 4 for text in row]
    made = grid(100, heads, [row], left=heads)
    assert sum(vars(made)["_argW"]) == pytest.approx(100)
    first, second = vars(made)["_argW"]
    assert first / second == pytest.approx(like[0] / like[1], rel=0.2)
    first, second = vars(grid(1000, heads, [row], left=heads, size=10.5))["_argW"]
    wide = [text_width(text, 10.5) for text in row]
    assert first - second == pytest.approx(wide[0] - wide[1])
    first, second = vars(grid(wide[0] + wide[1] + 20, heads, [row], left=heads, size=10.5))["_argW"]
    assert first + second == pytest.approx(wide[0] + wide[1] + 20)


def test_the_words_of_scales_are_true() -> None:
    for scale, said in SCALES[UnitSystem.IMPERIAL].items():
        inches = Fraction(said.removesuffix(" in = 1 ft"))
        assert 12 / inches == scale
    assert all(said == f"1 : {scale}" for scale, said in SCALES[UnitSystem.METRIC].items())


@pytest.mark.parametrize("high", [60, 900])
def test_ground_steeper_than_any_scale_of_a_rule_shows_is_still_drawn_on_a_page(
    make_plan: MakePlan, high: int
) -> None:
    survey = f"station [ft],elevation [ft],side\n0,0,\n12,0,before\n12,{high},after\n24,{high},\n"
    plan = make_plan(survey=survey, style="contour")
    look = sheet_look(plan)
    scale, said, strips = scaled_strips(plan, plan.runs[0], look)
    assert all(s.height < look.height for s in strips)
    assert said == SCALES[UnitSystem.IMPERIAL].get(scale, f"1 : {scale:,}")
    assert len(shown(plan).texts) > 4
    pictures = elevation_figures(plan.runs[0], plan)
    assert all(picture.height < 3 * (HIGHEST + 200) for picture in pictures)
    drawn_as_kept(f"elevation_face_{high}_ft", pictures)


def test_an_opening_wider_than_a_page_at_a_scale_takes_a_smaller_scale(make_plan: MakePlan) -> None:
    """A drive of 16 ft fits no strip at 1/2 in to a foot, and nothing in it can be divided."""
    plan = make_plan()
    gate = Gate(station=24.0, width=192.0, leaves=2)
    wide = plan_fence(replace(plan.job, runs=(replace(plan.job.runs[0], gate=(gate,)),)))
    scale, _, strips = scaled_strips(wide, wide.runs[0], sheet_look(wide))
    assert scale > min(SCALES[UnitSystem.IMPERIAL])
    assert max(s.part.end - s.part.start for s in strips) * 72 / scale < sheet_look(wide).width


@pytest.mark.parametrize(
    ("section", "limit", "counted"),
    [
        (lambda p, look: posts.rails(p, 0, look, ""), (posts, "_WHOLE"), lambda p: rail_marks(p.runs[0])),
        (
            lambda p, look: saw.at_the_saw(p, 0, look, ""),
            (saw, "_KEPT_ROWS"),
            lambda p: left_long(p, 0),
        ),
        (
            lambda p, look: setting_out.setting_out(p, look, ""),
            (setting_out, "_WHOLE"),
            lambda p: spaces_to_set(p.runs[0]),
        ),
    ],
    ids=["marks", "left long", "spaces"],
)
def test_a_long_table_may_go_on_on_the_next_page_a_short_one_stays_with_its_heading(
    shown_of: Callable[[str], Shown],
    monkeypatch: pytest.MonkeyPatch,
    section: Callable[..., Iterable[Any]],
    limit: tuple[Any, str],
    counted: Callable[[FencePlan], Iterable[Any]],
) -> None:
    plan = shown_of("ripped").plan
    count, tables = len(list(counted(plan))), []
    for most in (count - 1, count):
        monkeypatch.setattr(*limit, most)
        story = section(plan, sheet_look(plan))
        parts = [vars(part)["_content"] for part in story if isinstance(part, KeepTogether)]
        tables.append(sum(isinstance(part, Table) for content in parts for part in content))
    assert tables[1] == tables[0] + 1


def test_no_line_of_a_paragraph_goes_on_alone_to_the_next_page() -> None:
    """Six lines part as two and four, three and three, or four and two, however many there is room for."""
    known_fonts()
    parted = []
    for room in range(7):
        whole = blocks.words("word " * 60, small=True)
        _, high = whole.wrap(300, 1000)
        lines = round(high / whole.style.leading)
        parts = whole.split(300, whole.style.leading * room + 1)
        parted.append([round(part.wrap(300, 1000)[1] / whole.style.leading) for part in parts])
        assert lines == 6
    assert parted == [[], [], [2, 4], [3, 3], [4, 2], [4, 2], [6]]


def test_the_cautions_of_a_gate_stand_on_one_page(make_plan: MakePlan) -> None:
    job = make_plan().job
    plan = plan_fence(replace(job, runs=(replace(job.runs[0], gate=(GATE,)),)))
    *_, last = gates(plan, 0, sheet_look(plan), "side")
    assert isinstance(last, KeepTogether)
    (said,) = vars(last)["_content"]
    assert said.getPlainText().endswith(unbroken(CAUTIONS[-1]))
