"""Two runs round a corner, read from strings at different heights, flat boards that give several pickets."""

import io
from pathlib import Path

import numpy as np
import pytest
from kept import as_kept
from msgspec.structs import replace
from pypdf import PdfReader
from reportlab.platypus import KeepTogether

from fencegrade.job.read import read_job
from fencegrade.planning.hanging import pickets_over_line
from fencegrade.planning.plan import FencePlan, plan_fence
from fencegrade.sheets.cautions import Work
from fencegrade.sheets.drawings.picture import known_fonts
from fencegrade.sheets.hanging import bay_lines, bays_to_hang
from fencegrade.sheets.mark_in_place import in_place
from fencegrade.sheets.page.views import run_views
from fencegrade.sheets.paper.blocks import Drawn, taken
from fencegrade.sheets.paper.cover import cover
from fencegrade.sheets.paper.field_sheets import field_sheets, sheet_look
from fencegrade.sheets.plan_cautions import work_cautions
from fencegrade.sheets.schedules import post_table
from fencegrade.sheets.shared_boards import pieces_words, shared_boards
from fencegrade.units.words import Words
from tests.unit.sheets.paper.test_field_sheets import kept_lines, shown

JOB = """
[job]
title = "Two sides"
units = "imperial"
[[run]]
name = "lane"
survey = "lane.csv"
style = "racked"
[[run.string]]
id = "A"
end = "14 ft"
height = "0 in"
[[run.string]]
id = "B"
start = "14 ft"
[[run]]
name = "orchard"
survey = "orchard.csv"
join = "lane"
[[run.gate]]
station = "3 ft"
width = "6 ft"
leaves = 2
[[run.string]]
id = "C"
height = "-20-1/4 in"
[top]
least_height = "33 in"
[pickets]
width = "3-1/2 in"
spacing = "2 in"
top_end = "flat"
[[pickets.stock]]
length = "6 ft"
[[pickets.stock]]
length = "8 ft"
"""
LANE = """station [ft],drop [in],string
0,38,A
4,39,A
8,41.5,A
14,42,A
14,27.75,B
17,26,B
20,33,B
24,34,B
"""
ORCHARD = "station [ft],drop [in],string\n0,28,C\n4,29,C\n8,33,C\n12,32,C\n"


@pytest.fixture(scope="module")
def yard(tmp_path_factory: pytest.TempPathFactory) -> FencePlan:
    """The plan of both sides."""
    place: Path = tmp_path_factory.mktemp("yard")
    for name, text in (("job.toml", JOB), ("lane.csv", LANE), ("orchard.csv", ORCHARD)):
        (place / name).write_text(text, encoding="utf-8")
    return plan_fence(read_job(place))


def test_each_end_of_a_bay_is_told_over_the_string_that_hangs_there(yard: FencePlan) -> None:
    """String B hangs 14-1/4 in below A; a bay under both names each at its own post."""
    told = 0
    for bay in bays_to_hang(yard, 0):
        text = " ".join(bay_lines(yard, 0, bay))
        for station in (bay.start, bay.end):
            assert f"string {'A' if station <= 168 else 'B'}" in text
        told += "string A" in text and "string B" in text
    assert told == 1
    table = post_table(yard, 0)
    at = {head: k for k, head in enumerate(table.heads)}
    for row in table.rows:
        assert row[at["string"]] == ("A" if float(str(row[at["station"]])) <= 168 else "B")


def test_the_page_names_string_and_side_of_every_top(yard: FencePlan) -> None:
    say, run, view = Words.of(yard.job.job), yard.runs[0], next(iter(run_views(yard)))
    cards = [card for bay in view.bays for card in bay.cards]
    over = pickets_over_line(run)
    assert len(cards) == len(over)
    assert over.min() < -1
    for card, top, middle in zip(cards, over.tolist(), run.slots.centre.tolist(), strict=True):
        way = "under" if top < -say.fine_mark / 2 else "over"
        name = "A" if middle <= 168 else "B"
        assert card.where[1] == f"top {say.fine(abs(top))} {way} string {name}"


def test_what_is_marked_in_place_is_never_listed_as_cut(yard: FencePlan) -> None:
    """Every piece of a board that gives several stands once: cut from the chart, or left long."""
    say = Words.of(yard.job.job)
    doubted = {
        f"{r.run.name} picket {i + 1}" for r in yard.runs for i in np.flatnonzero(in_place(r)).tolist()
    }
    found = shared_boards(yard)
    cut = [name for boards in found for _, names in boards.cuts for name in names]
    left = [name for boards in found for _, name in boards.long]
    leaves = yard.families.gate_pickets
    assert leaves is not None
    several = [b for f in (yard.families.pickets, leaves) for b in f.traced() if len(b.pieces) > 1]
    assert left
    assert set(left) <= doubted
    assert not doubted & set(cut)
    assert sorted(cut + left) == sorted(name for board in several for name in board.names)
    assert sum(b.count for b in found) == len(several)
    for boards in found:
        assert ("♦" in pieces_words(boards, say)) == bool(boards.long)
        assert boards.count == 1 or not boards.long


def test_every_caution_stands_once_in_the_job_and_all_else_is_as_it_was_kept(yard: FencePlan) -> None:
    sheets = shown(yard)
    as_kept("sheets_two_runs", kept_lines(sheets))
    text = " ".join(sheets.texts)
    works = (Work.PLANNING, Work.DIGGING, Work.POSTS, Work.LIFTING, Work.FIXING, Work.CUTTING, Work.SITE)
    for caution in work_cautions(yard, *works):
        assert text.count(" ".join(caution.whole.split())[:40]) == 1, caution.whole
    assert text.count("Take care as on this sheet of lane.") == 3


def test_the_answer_of_several_runs_is_on_one_page(yard: FencePlan) -> None:
    """On a lower page drawings are smaller, on a still lower one none; where nothing helps they stay as large
    as they are. What is measured is what the page takes."""
    known_fonts()
    usual = sheet_look(yard)

    def pictures(height: float) -> list[float]:
        look = replace(usual, size=(usual.size[0], usual.size[1] - usual.height + height))
        parts = list(cover(yard, look, "all runs"))
        inner = [one for p in parts for one in (vars(p)["_content"] if isinstance(p, KeepTogether) else [p])]
        assert taken(parts, look) <= height or height < 100
        return [one.wrap(look.width, look.height)[1] for one in inner if isinstance(one, Drawn)]

    whole = taken(list(cover(yard, usual, "all runs")), usual)
    large = pictures(whole + 1)
    assert len(large) == len(yard.runs)
    small = pictures(whole - 20)
    assert len(small) == len(large)
    assert all(a < b for a, b in zip(small, large, strict=True))
    assert pictures(whole - sum(large)) == []
    assert pictures(50.0) == large
    first, second = PdfReader(io.BytesIO(field_sheets(yard))).pages[:2]
    assert "To buy" in first.extract_text()
    assert "Setting out" in second.extract_text()
