"""The page for the phone, parsed by the standard library and compared with the plan it shows."""

import base64
import hashlib
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path

import pytest

from fencegrade.fence.pickets.flags import flags_of
from fencegrade.fence.stock import NO_STOCK
from fencegrade.job.read import read_job
from fencegrade.planning.buying import buying_list
from fencegrade.planning.plan import FencePlan, plan_fence
from fencegrade.sheets.cautions import CHECK_THREE, Work
from fencegrade.sheets.drawings.picture import Picture, Shape, Text
from fencegrade.sheets.drawings.save import svg_bytes
from fencegrade.sheets.mark_in_place import in_place, lengths_told
from fencegrade.sheets.page.assets import _unbroken, content_policy
from fencegrade.sheets.page.drawing import inline_svg
from fencegrade.sheets.page.page import phone_page
from fencegrade.sheets.plan_cautions import cautions
from fencegrade.units import parse_length
from fencegrade.units.words import Words

MakePlan = Callable[..., FencePlan]
VOID = {"meta", "link", "input", "br", "img", "hr"}
MARKUP = r"<script>alert(1)</script> & \"Quince\" 'row'</title><b x=\"1\">bold"
PLAIN = MARKUP.replace('\\"', '"')


@dataclass
class Node:
    tag: str
    attrs: dict[str, str] = field(default_factory=dict)
    children: list["Node | str"] = field(default_factory=list)

    def all(self) -> Iterator["Node"]:
        yield self
        for child in self.children:
            if isinstance(child, Node):
                yield from child.all()

    def find(self, tag: str = "", **wanted: str) -> list["Node"]:
        """Nodes inside by tag and attributes; `class_` is one of the classes."""
        name = wanted.pop("class_", "")
        return [
            n
            for n in self.all()
            if (not tag or n.tag == tag)
            and (not name or name in n.attrs.get("class", "").split())
            and all(n.attrs.get(k.replace("_", "-")) == v for k, v in wanted.items())
        ]

    @property
    def raw(self) -> str:
        return "".join(c if isinstance(c, str) else c.raw for c in self.children)

    @property
    def text(self) -> str:
        return " ".join(self.raw.split())


class Reader(HTMLParser):
    """Builds the tree and refuses an end tag that does not match."""

    def __init__(self) -> None:
        super().__init__()
        self.root = Node("")
        self.open = [self.root]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        names = [k for k, _ in attrs]
        assert len(names) == len(set(names)), f"an attribute twice: {tag} {names}"
        node = Node(tag, {k: v or "" for k, v in attrs})
        self.open[-1].children.append(node)
        if tag not in VOID:
            self.open.append(node)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.open.pop()

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop().tag == tag

    def handle_data(self, data: str) -> None:
        self.open[-1].children.append(data)


def parsed(plan: FencePlan, most: int | None = None) -> Node:
    page = phone_page(plan, [] if most else None, **({"most": most} if most else {}))
    reader = Reader()
    reader.feed(page.decode())
    reader.close()
    assert len(reader.open) == 1
    return reader.root


def one(nodes: list[Node]) -> Node:
    assert len(nodes) == 1, f"{len(nodes)} found"
    return nodes[0]


GATE = '[[run.gate]]\nstation = "8 ft"\nwidth = "4 ft"\n'


@pytest.mark.parametrize("bottom", ["square", "scribed"])
def test_every_kept_length_is_the_plans(make_plan: MakePlan, bottom: str) -> None:
    plan = make_plan(bottom=bottom)
    run, page = plan.runs[0], parsed(plan)
    cards = [n for n in page.find("li", class_="picket") if "data-number" in n.attrs]
    assert [int(c.attrs["data-number"]) for c in cards] == list(range(1, len(run.slots) + 1))
    for i, (card, told) in enumerate(zip(cards, lengths_told(plan, 0), strict=True)):
        how, kept = one(card.find(class_="how")).text, one(card.find(class_="kept")).text
        assert one(card.find(class_="number")).text == f"picket {i + 1}"
        if long := bool(in_place(run)[i]):
            assert (kept, one(card.find(class_="expect")).text) == ("LEAVE LONG", f"mark in place, {told}")
            assert not re.search("cut|gap|side", how)
        else:
            assert parse_length(kept) == parse_length(told) == run.cuts.kept[i] * plan.mark
        board = re.search(r"from (\S+ (?:in|ft))", how)
        assert board, how
        assert parse_length(board[1]) == plan.stock.offered[run.stock[i]].length
        sides = {side: re.search(rf"{side} side (\S+ in)", how) for side in ("left", "right")}
        for side, kept in (("left", run.cuts.kept_left[i]), ("right", run.cuts.kept_right[i])):
            found = sides[side]
            slanted = run.cuts.kept_left[i] != run.cuts.kept_right[i]
            assert (found is not None) == (slanted and not long)
            if found:
                assert parse_length(found[1]) == kept * plan.mark
        assert len(card.find(class_="remark")) == len(flags_of(run.flags, i)) - long
        assert ("data-remarks" in card.attrs) == bool(flags_of(run.flags, i))


def test_a_picket_without_stock_says_so(make_plan: MakePlan) -> None:
    plan = make_plan(survey="station [ft],drop [in]\n0,20\n10,20\n14,60\n18,20\n24,20\n")
    missing = {int(i) + 1 for i, s in enumerate(plan.runs[0].stock) if s == NO_STOCK}
    assert missing
    told = {
        int(card.attrs["data-number"])
        for card in parsed(plan).find("li", class_="picket")
        if "no board is long enough" in card.text
    }
    assert told == missing


def test_every_post_is_the_plans(make_plan: MakePlan) -> None:
    plan = make_plan()
    posts = plan.runs[0].posts
    rows = [n for n in parsed(plan).find("tr") if n.attrs.get("id", "").startswith("o1-")]
    assert len(rows) == len(posts) > 3
    for i, row in enumerate(rows):
        cells = {n.attrs["data-head"]: n.text for n in row.find() if "data-head" in n.attrs}
        assert int(cells["post"]) == i + 1
        for head, value in (
            ("station", posts.station),
            ("hole", posts.depth + plan.job.posts.gravel),
            ("in ground", posts.depth),
        ):
            assert parse_length(cells[head]) == pytest.approx(value[i], abs=plan.mark / 2 + 1e-6)
        assert parse_length(cells["from stock"]) == posts.sold.line[posts.stock[i]].length
    told = [n for row in rows for n in row.find() if "data-head" in n.attrs]
    assert any("/" in n.text for n in told)
    bare = [text for n in told for text in n.children if isinstance(text, str)]
    assert not [text for text in bare if re.search(r"\d-\d+/\d", text)], "a figure that a line may end in"


@pytest.mark.parametrize("bottom", ["square", "scribed"])
def test_a_row_of_the_saw_list_knows_its_pickets(make_plan: MakePlan, bottom: str) -> None:
    page = parsed(make_plan(bottom=bottom))
    members: dict[str, list[int]] = {}
    for card in page.find("li", class_="picket"):
        box = one(card.find("input", data_tick="cut"))
        if "data-row" in box.attrs:
            members.setdefault(box.attrs["data-row"], []).append(int(card.attrs["data-number"]))
    rows = [n for n in page.find("tr") if n.attrs.get("id", "").startswith("s1-")]
    assert {r.attrs["id"] for r in rows} == set(members)
    for row in rows:
        cells = {n.attrs["data-head"]: n.text for n in row.find() if "data-head" in n.attrs}
        listed: list[int] = []
        for part in cells["pickets"].split(", "):
            first, _, last = part.partition("-")
            listed += range(int(first), int(last or first) + 1)
        assert listed == members[row.attrs["id"]]
        assert int(row.attrs["data-count"]) == len(listed) == int(cells["pieces"])


TWO_RUNS = """
[job]
title = "Kitchen garden"
units = "metric"
[[run]]
name = "path side"
survey = "a.csv"
[[run.gate]]
station = "3 m"
width = "1.9 m"
leaves = 2
[[run]]
name = "hedge side"
survey = "b.csv"
[[pickets.stock]]
length = "1.8 m"
price = 3
[[pickets.stock]]
length = "2.4 m"
price = 5
[[pickets.stock]]
length = "3.6 m"
price = 5.5
[pickets]
top_end = "flat"
"""


@pytest.fixture
def two_runs(tmp_path: Path) -> FencePlan:
    (tmp_path / "job.toml").write_text(TWO_RUNS, encoding="utf-8")
    (tmp_path / "a.csv").write_text("station [m],drop [mm]\n0,300\n4,420\n8,350\n", encoding="utf-8")
    (tmp_path / "b.csv").write_text("station [m],drop [mm]\n0,350\n3,300\n5,320\n", encoding="utf-8")
    return plan_fence(read_job(tmp_path))


def test_runs_gates_rails_and_the_buying_list_are_whole(two_runs: FencePlan) -> None:
    page = parsed(two_runs)
    for number, run in enumerate(two_runs.runs, start=1):
        cards = [n for n in page.find("li") if n.attrs.get("id", "").startswith(f"p{number}-")]
        texts = [one(c.find(class_="kept")).text for c in cards]
        marked, told = in_place(run).tolist(), lengths_told(two_runs, number - 1)
        assert texts == ["LEAVE LONG" if m else text for m, text in zip(marked, told, strict=True)]
        rails = [n for n in page.find("tr") if n.attrs.get("id", "").startswith(f"l{number}-")]
        assert len(rails) == len(run.rails)
        assert run.run.name in [n.text for n in page.find("h3")]
    where = {c.attrs["id"]: one(c.find(class_="how")).text for c in page.find("li", class_="picket")}
    shared = [names for b in two_runs.families.pickets.traced() if len(names := b.names) > 1]
    assert shared
    for names in shared:
        for name in names:
            run_name, _, own = name.rpartition(" picket ")
            card = where[f"p{[r.run.name for r in two_runs.runs].index(run_name) + 1}-{own}"]
            mates = card.partition("same board as ")[2]
            assert all(other.rpartition(" ")[2] in mates for other in names if other != name)
    leaves = [c for n in one(page.find("section", id="gates")).find("li", class_="picket") for c in [n]]
    kept = [parse_length(one(c.find(class_="kept")).text) for c in leaves]
    wanted = [k * two_runs.mark for run in two_runs.runs for leaf in run.leaves for k in leaf.kept.tolist()]
    assert kept == pytest.approx(wanted)
    every = [leaf for run in two_runs.runs for leaf in run.leaves]
    rips = [dict(leaf.ripped()).get(k + 1) for leaf in every for k in range(len(leaf.kept))]
    assert {width is None for width in rips} == {True, False}
    say = two_runs.words
    assert ["" if w is None else f"rip to {say.fine(w)} wide" for w in rips] == [
        " ".join(n.text for n in c.find(class_="remark")) for c in leaves
    ]
    lines = buying_list(two_runs).lines
    rows = [n for n in page.find("tr") if n.attrs.get("id", "").startswith("b-")]
    for row, line in zip(rows, lines, strict=True):
        cells = {n.attrs["data-head"]: n.text for n in row.find() if "data-head" in n.attrs}
        assert cells["part"] == line.part
        if line.unit in {"board", "box", "bag"}:
            assert float(cells["to buy"]) == line.to_buy


def test_every_caution_stands_whole_where_its_work_is_listed(make_plan: MakePlan) -> None:
    plan = make_plan()
    page = parsed(plan)
    sections = {s.attrs["id"]: s.text for s in page.find("section") if "id" in s.attrs}
    places = {
        Work.DIGGING: "dig",
        Work.PLANNING: "dig",
        Work.CUTTING: "cut",
        Work.POSTS: "posts",
        Work.SOIL: "low",
    }
    for caution in cautions(plan):
        whole = " ".join(caution.whole.split())
        assert whole in page.text
        if caution.work in places:
            assert whole in sections[places[caution.work]]
    assert CHECK_THREE in one(page.find("header")).text
    assert CHECK_THREE in sections["cut"]
    assert "not checked yet" in one(page.find("header")).text


def test_what_was_assumed_is_told(make_plan: MakePlan) -> None:
    plan = make_plan()
    assumed = {n.find("dt")[0].text: n.find("dd")[0].text for n in parsed(plan).find("div") if n.find("dt")}
    for a in plan.job.assumed:
        assert assumed[a.key] == a.value


def test_markup_in_a_job_stays_text(make_plan: MakePlan) -> None:
    page = parsed(make_plan(title=MARKUP, name=MARKUP))
    assert one(page.find("h1")).text == PLAIN
    assert one(one(page.find("head")).find("title")).text.startswith(PLAIN)
    assert PLAIN in [n.text for n in page.find("h3")]
    assert len(page.find("script")) == 1
    assert not page.find("b")
    svg = page.find("svg")
    assert svg
    assert not [n for s in svg for n in s.find("b")]


def test_no_line_ends_within_a_fraction() -> None:
    told = _unbroken("4' 4-1/4\" to 5' <b>, 3 in, 3 inside")
    whole = "4'_<span class=\"whole\">4-1/4</span>&#34; to 5' &lt;b&gt;, 3_in, 3 inside"
    assert told == whole.replace("'", "&#39;").replace("_", "\N{NO-BREAK SPACE}")


def test_the_policy_allows_this_page_alone(make_plan: MakePlan) -> None:
    page = parsed(make_plan())
    policy = one(page.find("meta", http_equiv="Content-Security-Policy")).attrs["content"]
    rules = dict(rule.split(" ", 1) for rule in policy.split("; "))
    assert rules["default-src"] == "'none'"
    for name, tag in (("style-src", "style"), ("script-src", "script")):
        text = one(page.find(tag)).children[0]
        assert isinstance(text, str)
        digest = base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
        assert rules[name] == f"'sha256-{digest}'"
    for node in page.all():
        assert not [k for k in node.attrs if k == "style" or k.startswith("on") or k in {"src", "srcset"}]
        assert node.attrs.get("href", "#").startswith("#")
        assert node.tag not in {"link", "img", "iframe", "object", "embed"}
    assert content_policy("a", "b") != content_policy("a", "c")


def test_every_reference_meets_one_id(make_plan: MakePlan) -> None:
    page = parsed(make_plan(top='style = "level"'))
    ids = [n.attrs["id"] for n in page.all() if "id" in n.attrs]
    assert len(ids) == len(set(ids))
    wanted: set[str] = set()
    for node in page.all():
        for key, value in node.attrs.items():
            if key == "href":
                wanted.add(value[1:])
            elif key in {"for", "aria-labelledby", "aria-describedby"}:
                wanted |= set(value.split())
            else:
                wanted |= set(re.findall(r"url\(#([^)]+)\)", value))
    assert wanted <= set(ids)
    keys = [n.attrs["data-key"] for n in page.all() if "data-key" in n.attrs]
    assert len(keys) == len(set(keys)) > 30


def test_headings_go_down_one_step_at_a_time(make_plan: MakePlan) -> None:
    levels = [int(n.tag[1]) for n in parsed(make_plan()).all() if re.fullmatch("h[1-6]", n.tag)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(b <= a + 1 for a, b in pairwise(levels))


def test_the_same_plan_gives_the_same_bytes(make_plan: MakePlan) -> None:
    assert phone_page(make_plan()) == phone_page(make_plan())


def test_a_tick_is_kept_by_run_number_and_length(make_plan: MakePlan) -> None:
    """A price that changes moves no tick; a new length is a new tick."""
    first, dearer = parsed(make_plan()), parsed(make_plan(there=3))
    cut = [n.attrs["data-key"] for n in first.all() if n.attrs.get("data-tick") == "cut"]
    assert cut == [n.attrs["data-key"] for n in dearer.all() if n.attrs.get("data-tick") == "cut"]
    plan = make_plan()
    kept = Words.of(plan.job.job).length(float(plan.runs[0].cuts.kept[0] * plan.mark))
    assert cut[0] == f"cut|{plan.runs[0].run.name}|1|{kept}"


def test_a_page_of_too_many_pickets_says_so(make_plan: MakePlan) -> None:
    plan = make_plan()
    page, count = parsed(plan, most=10), len(plan.runs[0].slots)
    assert len([n for n in page.all() if "data-number" in n.attrs]) == 10
    assert f"shows 10 of {count} pickets" in one(page.find("section", id="cut")).text
    assert "This page shows" not in parsed(plan, most=count).text
    rows = sum(int(n.attrs["data-count"]) for n in page.all() if "data-count" in n.attrs)
    assert rows == count - int(in_place(plan.runs[0]).sum())


def test_a_drawing_is_made_fit_for_the_page() -> None:
    """Sized by the page, without styles, and announced by words that are its own."""
    line = Shape(points=((0.0, 1.5), (4.0, 2.0)), width=0.5)
    text = Text(x=1, y=2, text="a & b", size=10)
    picture = Picture(width=7, height=5, items=(line, text), title="x <b>", description="told")
    assert inline_svg(svg_bytes(picture), "d") == (
        '<svg role="img" viewBox="0 0 7 5" font-family="DejaVu Sans, Verdana, sans-serif" '
        'stroke-linejoin="round" stroke-linecap="butt" aria-labelledby="d-title d-desc">\n'
        '<title id="d-title">x &lt;b&gt;</title>\n<desc id="d-desc">told</desc>\n'
        '<path d="M0 0H7V5H0Z" fill="#ffffff" />\n'
        '<path d="M0 1.5L4 2" fill="none" stroke="#000000" stroke-width="0.5" />\n'
        '<text x="1" y="2" font-size="10" textLength="26.63" lengthAdjust="spacingAndGlyphs">'
        "a &amp; b</text>\n"
        "</svg>"
    )
