"""One figure, one text: what screen, paper, page, CSV and JSON print of a plan is the same in all of them.

Paper is read from what its pages are set of, tables and paragraphs, before they are laid out.
"""

import csv
import io
import json
import re
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pytest
from examples import few
from hypothesis import example, given
from reportlab.platypus import KeepTogether, Paragraph, Table
from yards import ANY_STYLE, Yard, yards

from fencegrade.job.as_built import AsBuilt, BuiltRun, PicketUp
from fencegrade.planning.buying import buying_list
from fencegrade.planning.families import Family
from fencegrade.planning.plan import FencePlan, plan_fence
from fencegrade.sheets.charts import chart_text, cut_chart_data
from fencegrade.sheets.drawings.picture import known_fonts
from fencegrade.sheets.page.page import phone_page
from fencegrade.sheets.paper.cover import cover
from fencegrade.sheets.paper.field_sheets import sheet_look
from fencegrade.sheets.paper.gate import gates
from fencegrade.sheets.paper.hang import hanging
from fencegrade.sheets.paper.posts import posts, rails
from fencegrade.sheets.paper.saw import at_the_saw
from fencegrade.sheets.paper.setting_out import line_words
from fencegrade.sheets.paper.yard import boards_by_family, yard_list
from fencegrade.sheets.plan_json import write_plan_json
from fencegrade.sheets.schedules import board_table, buying_table, post_table, rail_table
from fencegrade.sheets.screen.summary import summary_lines
from fencegrade.sheets.tables import csv_text
from fencegrade.units import parse_length
from fencegrade.units.words import Words

Row = tuple[str, ...]
SOLD = r"(\d+ (?:ft|in|mm))"
LENGTH = r"(\d[\d/' \"-]*(?:\"| in| mm))"


def set_of(flowables: Iterable[Any]) -> Iterator[list[Row] | str]:
    """The tables, row by row, and the paragraphs that a page is set of, in order."""
    for one in flowables:
        if isinstance(one, Paragraph):
            yield " ".join(one.getPlainText().split())
        elif isinstance(one, KeepTogether):
            yield from set_of(vars(one)["_content"])
        elif isinstance(one, Table):
            cells: list[list[object]] = [list(row) for row in vars(one)["_cellvalues"]]
            inner = [c for row in cells for c in row if isinstance(c, Table)]
            yield from set_of(inner)
            if not inner:
                yield [tuple(cell(c) for c in row) for row in cells]


def cell(one: object) -> str:
    """What a cell of a table says; nothing for a box to tick."""
    if isinstance(one, Paragraph):
        return " ".join(one.getPlainText().split())
    return one if isinstance(one, str) else ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Printed:
    """A plan and what is printed of it: `screen` and `page` as one line of text each, `tree` its JSON."""

    plan: FencePlan
    say: Words
    screen: str
    page: str
    tree: dict[str, Any]

    @staticmethod
    def of(plan: FencePlan) -> "Printed":
        known_fonts()
        out = io.StringIO()
        write_plan_json(plan, out)
        html = re.sub(r"<(style|script)\b.*?</\1>", " ", phone_page(plan, []).decode(), flags=re.DOTALL)
        html = re.sub(r'<span class="whole">([^<]*)</span>', r"\1", html)
        page = re.sub(r"<[^>]+>", " ", html).replace("&#34;", '"').replace("&#39;", "'")
        return Printed(
            plan=plan,
            say=plan.words,
            screen=" ".join(" ".join(summary_lines(plan)).split()),
            page=" ".join(page.split()),
            tree=json.loads(out.getvalue()),
        )

    def paper(self, sheet: Any, *index: int) -> list[list[Row] | str]:
        """A sheet of the paper."""
        return list(set_of(sheet(self.plan, *index, sheet_look(self.plan), "here")))

    def grids(self, sheet: Any, *index: int, first: str) -> Iterator[dict[str, str]]:
        """The rows of those tables of a sheet whose headings begin with a word, by their headings."""
        for table in self.paper(sheet, *index):
            rows = table if isinstance(table, list) else []
            at = next((k for k, row in enumerate(rows) if row[0] == first), len(rows))
            yield from (
                dict(zip(rows[at], row, strict=True)) for row in rows[at + 1 :] if row[0] and any(row[1:])
            )

    def table(self, table: Any) -> list[dict[str, str]]:
        """The rows of a table's CSV by their headings without units."""
        rows = list(csv.reader(io.StringIO(csv_text(table, self.say))))
        heads = [h.partition(" [")[0] for h in rows[0]]
        return [dict(zip(heads, r, strict=True)) for r in rows[1:]]

    def inches(self, number: str | float) -> float:
        """A number of CSV or JSON as inches."""
        return float(number) / (1.0 if self.say.unit == "in" else 25.4)

    def reads(self, text: str, *numbers: str | float, mark: float | None = None) -> bool:
        """Whether a text is what numbers of CSV or JSON, which are rounded to four decimals, read as; marks
        of no whole millimetre are printed as whole ones.
        """
        off = [abs(parse_length(text) - self.inches(n)) for n in numbers]
        return max(off) <= (mark or self.say.mark) / 2 + (2e-4 if self.say.unit == "in" else 0.5 / 25.4)

    def bare(self, text: str) -> str:
        """A length without its unit, as a column whose heading names it has it."""
        return text.removesuffix(f" {self.say.unit}")


def printed_posts(now: Printed, index: int) -> None:
    """Station, hole, length and stock of every post, and what findings tell of them."""
    say, run = now.say, now.plan.runs[index]
    listed = [r for r in now.table(post_table(now.plan, index)) if r["post"].isdigit()]
    shown = [r for r in now.grids(posts, index, first="post") if r["post"].isdigit()]
    assert [r["post"] for r in listed] == [r["post"] for r in shown]
    holes, depths, needs = set(), set(), set()
    exact = run.posts.depth.tolist()
    for row, own, node, depth_in in zip(listed, shown, now.tree["runs"][index]["posts"], exact, strict=True):
        station, hole = own["station"], own[f"hole [{say.unit}]"]
        assert now.reads(station, row["station"], node["station"], mark=1 / 16)
        assert now.reads(own["over ground"], row["top above ground"], node["above_ground"], mark=1 / 16)
        told = [row["post"], station, row["kind"]]
        assert bool(hole) == bool(row["hole"])
        if hole:
            hole = f"{hole} {say.unit}"
            assert now.reads(hole, row["hole"], node["hole"])
            assert own["stock"] == (say.sold_length(now.inches(node["stock"])) if node["stock"] else "none")
            needs.add(need := say.length(now.inches(row["length needed"])))
            least = now.inches(row["top above ground"]) + now.inches(row["in ground"])
            over, marks = (
                now.inches(row["length needed"]) - least,
                now.inches(row["length needed"]) / say.mark,
            )
            assert abs(marks - round(marks)) < 1e-3
            assert over > -1e-3
            assert over < say.mark + 1e-3 or "corner" in row["kind"]
            assert now.inches(row["in ground"]) == pytest.approx(depth_in, abs=1e-3)
            depths.add(depth := say.length(depth_in))
            holes.add(hole)
            told += [hole, depth]
            assert need in now.page
        assert " ".join(told) in now.page
    for found in (p.found for p in now.plan.problems if p.place.startswith(f"{run.run.name}, post")):
        for pattern, known in (
            (rf"holes up to {LENGTH} deep", holes),
            (rf"leaves? {LENGTH} in the ground", depths),
            (rf"above the ground and {LENGTH} in it", depths),
            (rf"a post of {LENGTH}; the longest", needs),
            (rf"{LENGTH} of {LENGTH} is in the ground", depths | needs),
        ):
            texts = {t for groups in re.findall(pattern, found) for t in np.atleast_1d(groups)}
            assert texts <= known, (found, known)


def printed_boards(now: Printed, index: int) -> None:
    """Every board's length and left edge, and the longest and the shortest."""
    say, run = now.say, now.plan.runs[index]
    name = run.run.name
    listed = [r for r in now.table(cut_chart_data(now.plan)) if r["run"] == name]
    hung = [_with_units(row) for row in now.grids(hanging, index, first="no.")]
    chart = re.split(rf"CUT CHART, {name.upper()}\n", chart_text(now.plan))[1].split("\n\n")[0].splitlines()
    chart = [line for line in chart if not line.startswith("PROVISIONAL: ")]
    assert len(listed) == len(hung) == len(chart) - 2
    lengths, nodes = [], now.tree["runs"][index]["pickets"]
    for row, own, line, node in zip(
        listed,
        sorted(hung, key=lambda r: int(r["no."])),
        chart[2:],
        nodes,
        strict=True,
    ):
        kept, edge = row["kept as the tape reads"], own["left edge"]
        length = say.length(now.inches(node["length"]))
        if "mark in place" in row["flags"]:
            assert (row["cut"], "LEAVE LONG" in line) == ("LEAVE LONG", True)
            assert own["keep"].removeprefix("LEAVE ").removesuffix(f" {say.unit}") == "LONG"
            low, _, high = kept.removeprefix("about ").rpartition(" to ")
            assert (
                parse_length((low and f"{low} {say.unit}") or high)
                <= parse_length(length)
                <= parse_length(high)
            )
        else:
            assert kept == own["keep"] == length
        assert re.match(rf"\s*{own['no.']}\s+{re.escape(kept)}\s", line)
        assert now.reads(edge, row["left edge"], node["left"], mark=1 / 16)
        assert f"{kept} " in now.page
        assert f"left edge {edge}" in now.page
        lengths.append(length)
    gaps = now.plan.runs[index].cuts.gap[[n["number"] - 1 for n in nodes]].tolist()
    assert [now.inches(n["gap"]) for n in nodes] == pytest.approx(gaps, abs=1e-3)
    under = {f"{say.length(g)} open, at picket {n['number']}" for g, n in zip(gaps, nodes, strict=True)}
    for found in (p.found for p in now.plan.problems if p.place.startswith(f"{name}, picket")):
        assert "open, at picket" not in found or any(text in found for text in under), found
    short, long = min(lengths, key=parse_length), max(lengths, key=parse_length)
    between = (
        f"all {short}" if short == long else rf"{re.escape(short)} \(picket \d+\) to {re.escape(long)} \("
    )
    told = " ".join(t for t in now.paper(cover) if isinstance(t, str))
    assert re.search(rf"boards {between}", now.screen)
    assert re.search(rf"Boards {between}", told)
    saw = sum(int(r["count"]) for r in now.grids(at_the_saw, index, first="stop at"))
    left = sum(int(r["count"]) for r in now.grids(at_the_saw, index, first="pickets"))
    assert saw + left == len(run.slots) - int(run.boards.unserved.sum())


def _with_units(row: dict[str, str]) -> dict[str, str]:
    """A row of a chart, with units that stand in its headings beside its figures."""
    named = ((*head.removesuffix("]").partition(" [")[::2], cell) for head, cell in row.items())
    return {head: f"{cell} {unit}".rstrip() for head, unit, cell in named}


def printed_tops(plan: FencePlan, index: int) -> set[str]:
    """Every tip's height as paper gives it, by itself or by a line through the marks at the posts; which."""
    known_fonts()
    run, say, look = plan.runs[index], plan.words, sheet_look(plan)
    at_posts = next(t for t in set_of(posts(plan, index, look, "here")) if t[0][0] == "post")
    column = next(k for k, name in enumerate(at_posts[0]) if name.startswith("tops over "))
    ways, tips = set(), np.full(len(run.slots), np.nan)
    (_, told) = next(iter(line_words(plan, index, say)))
    for table in set_of(hanging(plan, index, look, "here")):
        if isinstance(table, str) or not table[0][0].startswith("Bay "):
            continue
        bay, first, second = map(int, re.findall(r"\d+", table[0][0])[:3])
        tops = next(row[0] for row in table if row[0].startswith("tops "))
        found = re.findall(rf"{LENGTH}(?: at (?:post )?\d+)?(?: (under|over))?", tops.partition(";")[0])
        ends = [parse_length(t) * (-1 if (way or found[-1][1]) == "under" else 1) for t, way in found]
        head = next(k for k, row in enumerate(table) if row[0] == "no.")
        rows = [row for row in table[head + 1 :] if row[0]]
        picked = [int(row[0]) - 1 for row in rows]
        own = [
            row["top"]
            for row in (_with_units(dict(zip(table[head], row, strict=True))) for row in rows)
            if "top" in row
        ]
        if own:
            tips[picked] = [
                parse_length(re.sub(" (under|over)", "", t)) * (-1 if "under" in t else 1) for t in own
            ]
            off, way = say.fine_mark / 2, "by itself"
        else:
            a, b = run.layout.bays.left[bay - 1], run.layout.bays.right[bay - 1]
            share = (run.slots.centre[picked] - a) / (b - a)
            tips[picked] = ends[0] + share * (ends[-1] - ends[0])
            off, way = say.fine_mark, "touches it from below"
            if "the sheet Posts" in told:
                marked = {row[0]: row[column] for row in at_posts}
                marks = [re.sub(" (under|over)", "", f"{marked[f'{n}']} {say.unit}") for n in (first, second)]
                assert [parse_length(m) for m in marks] == [abs(ends[0]), abs(ends[-1])]
        assert np.abs(tips - run.cuts.top)[picked].max() <= off + 1e-6, (way, tops)
        ways.add(way)
    assert np.isfinite(tips).all()
    assert {way for way in ("by itself", "touches it from below") if way in told} == ways
    return ways | ({"bay by bay"} if "bay by bay" in told.lower() else set())


def printed_bags(now: Printed) -> None:
    """The column of bags adds up to what the sheet of posts tells beside the bags of the whole fence."""
    runs = range(len(now.plan.runs))
    rows = [r for k in runs for r in now.grids(posts, k, first="post") if r["post"].isdigit()]
    each, in_all = sum(int(r["bags"] or 0) for r in rows), now.plan.concrete.bags_in_all
    told = f"takes {in_all} bags of concrete where what is left of one goes on to the next hole; whole bags "
    for k in runs:
        text = " ".join(t for t in now.paper(posts, k) if isinstance(t, str))
        assert (f"{told}for each hole would be {each}." in text) == (each > in_all)


def printed_rails(now: Printed) -> None:
    """Every rail as it is cut: on paper, in its table, in JSON, and in the boards it is cut from."""
    say, cut, told = now.say, Counter[str](), Counter[str]()
    for index, tree in enumerate(now.tree["runs"]):
        shown = list(now.grids(rails, index, first="bays"))
        one = Counter({(r[f"cut to [{say.unit}]"], r["stock"]): 0 for r in shown})
        for r in shown:
            one[r[f"cut to [{say.unit}]"], r["stock"]] += int(r["pieces"])
        listed = [r["cut to"] for r in now.table(rail_table(now.plan, index)) if r["cut to"]]
        assert Counter(now.bare(say.length(now.inches(x))) for x in listed) == Counter(
            {length: sum(n for (x, _), n in one.items() if x == length) for length, _ in one}
        )
        down = [np.floor(now.inches(r["length"]) / say.mark + 1e-6) * say.mark for r in tree["rails"]]
        stock = [say.sold_length(now.inches(r["stock"])) if r["stock"] else "none" for r in tree["rails"]]
        assert one == Counter(zip([now.bare(say.length(x)) for x in down], stock, strict=True))
        cut.update({length: 0 for length, _ in one})
        for (length, board), n in one.items():
            cut[length] += n if board != "none" else 0
    family = now.plan.families.rails
    told.update(
        now.bare(say.length(now.inches(r["cut to"])))
        for r in now.table(board_table(now.plan, "rails", family))
        if "leaf" not in r["for"]
    )
    assert told == +cut
    paper = Counter[str]()
    for table in set_of(boards_by_family(now.plan, 400.0)):
        rows = [row for row in table if row[0].isdecimal()] if isinstance(table, list) else []
        for _, boards, _, pieces, *_ in rows:
            paper.update({p: int(boards) * n for p, n in Counter(pieces.split(", ")).items()})
    assert all(paper[length] >= n for length, n in told.items())
    whole = " ".join(" ".join(row) for table in set_of(boards_by_family(now.plan, 400.0)) for row in table)
    for name in labels(family):
        front = re.escape(name.rpartition(" ")[0])
        assert re.search(rf"{front} \d|{re.escape(name)}", whole), name


def printed_money(now: Printed) -> None:
    """What is bought, how many and for how much."""
    say, bought = now.say, buying_list(now.plan)
    listed = now.table(buying_table(now.plan))
    shown = list(now.grids(yard_list, first="part"))
    assert [(r["part"], r["to buy"], r["total"] and say.money(float(r["total"]))) for r in listed] == [
        (r["part"], r["to buy"], r["total"]) for r in shown
    ]
    for row in (r for r in listed if r["unit"] in ("board", "post")):
        used, had = (
            sum(int(row[key] or 0) for key in keys) for keys in (("need", "spare"), ("on hand", "to buy"))
        )
        assert used == had, row
    nodes = now.tree["buying"]
    assert [(r["part"], float(r["to buy"])) for r in listed] == [(n["what"], n["count"]) for n in nodes]
    total = say.money(sum(round(float(r["total"] or 0) * 100) for r in listed) / 100)
    told = " ".join(t for t in now.paper(cover) if isinstance(t, str))
    if bought.cost is not None:
        assert total == say.money(bought.cost) == say.money(now.tree["totals"]["cost"])
        assert f"To buy, {total}" in told
        assert f"To buy, {total}" in now.screen
        assert f"cost of what has a price {total}" in now.page


def printed_leaves(now: Printed, index: int) -> None:
    """Every board of a leaf, on paper as on the page, under the name that its frame has too."""
    own, run, paper = now.plan.leaf_names[index], now.plan.runs[index], now.paper(gates, index)
    for row in now.grids(gates, index, first="no."):
        assert re.search(rf"picket {row['no.']} {re.escape(row['keep'])} ", now.page)
        assert f"left edge {row['left edge']} along the leaf" in now.page
    told = " ".join(t for t in paper if isinstance(t, str)).lower()
    rows = [row for table in paper if isinstance(table, list) for row in table]
    heads = [row[0] for row in rows if row[0].startswith("Boards of ")]
    cut = {p for f in (now.plan.families.rails, now.plan.families.gate_pickets) if f for p in labels(f)}
    frames, names = iter(run.frames), iter(own)
    for gate in run.layout.gates:
        several = len(gate.chosen) > 1
        for name, frame in zip([next(names) for _ in gate.chosen], frames, strict=False):
            brace = now.say.length(frame.brace)
            assert f"Pickets of {name} " in now.page
            assert (f"Boards of {name}" if several else "Boards of the leaf") in heads
            assert {f"{name} brace", f"{name} picket 1"} <= cut
            assert f"{brace} for {name} brace" in now.page
            hung = re.escape(name if several else "hang it")
            assert re.search(rf"{hung} a (?:(?! a ).)*?brace {re.escape(brace)} ", now.page)
            assert not several or name.lower() in told


def labels(family: Family) -> Iterator[str]:
    """The names of the pieces of a family."""
    return (name for board in family.traced() for name in board.names)


LANE = Yard(
    runs=(
        ((0.0, 60.0, 120.0, 190.0, 260.0), (0.0, 5.0, -3.0, -12.0, -10.0)),
        ((0.0, 70.0, 150.0, 230.0), (-10.0, -14.0, -20.0, -8.0)),
    ),
    join=True,
    metric=True,
    gate=True,
    pairs=True,
)


YARD = Yard(
    runs=(
        ((0.0, 60.0, 130.0, 180.0, 240.0, 300.0, 390.0, 480.0), (0.0, 2.0, -5.0, -4.0, 3.0, 2.0, 0.0, -2.0)),
    )
)


@pytest.mark.parametrize(
    ("style", "ways"),
    [
        ("sloped", {"touches it from below"}),
        ("stepped", {"touches it from below", "bay by bay"}),
        ("racked", {"touches it from below"}),
        ("contour", {"touches it from below", "by itself"}),
    ],
)
def test_paper_gives_each_tip_the_height_it_is_cut_for(style: str, ways: set[str]) -> None:
    assert printed_tops(YARD.plan(style), 0) == ways


def test_a_step_at_the_post_of_a_gate_is_one_of_its_bay() -> None:
    ground = ((0.0, 48.0, 96.0, 144.0, 192.0), (0.0, 0.0, 0.0, 0.125, 0.125))
    plan = Yard(runs=(ground,), kerf=0.0, gate=True).plan("stepped")
    assert printed_tops(plan, 0) == {"touches it from below", "bay by bay"}


@few(3)
@example(yard=LANE, style="stepped")
@given(yard=yards(), style=ANY_STYLE)
def test_a_figure_is_one_text_wherever_it_is_printed(yard: Yard, style: str) -> None:
    now = Printed.of(yard.plan(style))
    for index in range(len(now.plan.runs)):
        printed_posts(now, index)
        printed_boards(now, index)
        printed_leaves(now, index)
        printed_tops(now.plan, index)
    printed_bags(now)
    printed_rails(now)
    printed_money(now)


@pytest.mark.parametrize("up", [4, 17])
def test_boards_begun_are_as_many_in_words_in_the_table_and_in_the_lists(up: int) -> None:
    """Boards that give several, all of them on hand, and some pickets up: the words tell how many are begun,
    the list of boards names what those gave, and what is there is what was not touched and they."""
    job = replace(YARD, top_end="flat").job()
    first = plan_fence(job, "contour")
    held = zip(sorted(job.pickets.stock, key=lambda s: s.length), first.stock.used.tolist(), strict=True)
    stock = tuple(replace(s, on_hand=n) for s, n in held)
    edge_up = PicketUp(number=up, far_edge=float(first.runs[0].slots.right[up - 1]))
    built = AsBuilt(run=(BuiltRun(name="r0", picket=(edge_up,)),))
    now = Printed.of(
        plan_fence(replace(job, pickets=replace(job.pickets, stock=stock), built=built), "contour")
    )
    counts = rf"((?:\d+ of {SOLD}(?:, | and )?)+)"
    ((said, *_),) = re.findall(rf"Boards begun, {counts}, are counted", now.screen)
    begun = Counter({length: int(n) for n, length in re.findall(rf"(\d+) of {SOLD}", said)})
    assert begun.total() > 0
    for place in (
        now.page,
        *(" ".join(t for t in now.paper(s) if isinstance(t, str)) for s in (cover, yard_list)),
    ):
        assert f"Boards begun, {said}, are counted" in place
    given = dict[str, tuple[str, list[bool]]]()
    for row in now.table(board_table(now.plan, "pickets", now.plan.families.pickets)):
        sold = now.say.sold_length(now.inches(row["from stock"]))
        given.setdefault(row["board"], (sold, []))[1].append(int(row["for"].split()[-1]) <= up)
    assert begun == Counter(sold for sold, gave in given.values() if any(gave) and not all(gave))
    listed = Counter[str]()
    for board in now.tree["cutting"]["pickets"]["boards"]:
        listed[now.say.sold_length(now.inches(board["stock"]))] += board["count"]
    assert listed == Counter(sold for sold, _ in given.values())
    untouched = Counter[str]()
    for taken, there, length in re.findall(rf"(\d+|none) of the (\d+) of {SOLD}", now.screen):
        untouched[length] += int(there) - int(taken if taken != "none" else 0)
    for row in now.table(buying_table(now.plan)):
        if row["part"] == "pickets":
            length = now.say.sold_length(now.inches(row["length"]))
            assert int(row["on hand"]) == untouched[length] + begun[length], length
            assert int(row["to buy"]) == 0
