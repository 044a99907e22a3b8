"""The comparison in words, as a table, and as JSON."""

import json
from collections.abc import Callable
from dataclasses import replace

import pytest

from fencegrade.fence.tops.table import TopStyle
from fencegrade.job.choices import BottomCut
from fencegrade.job.read import Job
from fencegrade.planning.compare import Comparison, compare_tops
from fencegrade.sheets.height_words import counted_words, judged_words
from fencegrade.sheets.screen.compare_text import (
    comparison_json,
    comparison_lines,
    comparison_table,
    top_words,
)
from fencegrade.sheets.tables import csv_text
from fencegrade.units.words import Words, listed

WriteJob = Callable[..., Job]
pytestmark = pytest.mark.usefixtures("no_other_height")

ROLLING = "station [ft],elevation [in]\n0,0\n8,-3\n16,-10\n24,-12\n32,-1\n40,2\n"
STEEP = "station [ft],elevation [in]\n0,0\n8,30\n16,62\n24,90\n"
NARROW = '[rails]\n[[rails.stock]]\nlength = "8 ft"\n[posts]\nhole_diameter = "6 in"\n'
NO_POST = '[[run.no_post]]\nstart = "7 ft"\nend = "14 ft 4 in"'


@pytest.fixture(scope="module")
def rolling(write_once: WriteJob) -> Comparison:
    return compare_tops(write_once('[top]\nmost_height = "6 ft 8 in"', job='currency = "$"', lane=ROLLING))


def test_a_slip_is_told_before_any_price(write_job: WriteJob) -> None:
    drops = enumerate([20, 20.5, 21, 33.5, 22, 22.5, 22])
    lane = "station [ft],drop [in]\n" + "".join(f"{4 * k},{d}\n" for k, d in drops)
    slip = compare_tops(write_job("", lane=lane))
    told = list(comparison_lines(slip))
    assert told[1].startswith("PROVISIONAL: buy, cut and dig nothing for ")
    assert not told[2]


def test_json_holds_every_figure(rolling: Comparison) -> None:
    found = json.loads(json.dumps(comparison_json(rolling), allow_nan=False))
    assert (found["format"], found["length_unit"]) == ("fencegrade-comparison/1", "in")
    assert rolling.cheapest is not None
    assert found["cheapest"] == rolling.cheapest.name
    assert [t["top"] for t in found["tops"]] == list(TopStyle)
    for row, style in zip(found["tops"], rolling.styles, strict=True):
        assert row["feasible"] is True
        assert row["cost"] == style.used.cost
        assert sum(b["count"] for b in row["boards"]) == sum(n for _, n in style.used.boards)
        assert (row["lowest"], row["tallest"]) == (
            round(style.seen.shortest, 4),
            round(style.seen.tallest, 4),
        )
        assert row["breaks"] == list(style.broken)
    dearer = [t["more_than_cheapest"] for t in found["tops"] if not t["breaks"]]
    assert (min(dearer), dearer) == (0, [round(money, 2) for money in dearer])


def test_the_screen_has_a_paragraph_a_top_and_a_verdict(rolling: Comparison) -> None:
    text = "\n".join(comparison_lines(rolling))
    paragraphs = text.split("\n\n")
    assert [p.split(":")[0] for p in paragraphs[1 : 1 + len(TopStyle)]] == list(TopStyle)
    best = rolling.cheapest
    assert best is not None
    assert f"the {best.name} top, ${best.used.cost:.2f}" in paragraphs[-1]
    level = rolling.styles[0]
    assert f"breaks: {', '.join(level.broken)}" in paragraphs[1]
    assert f"${level.price - best.price:.2f} more than the cheapest that keeps every wish" in paragraphs[1]


def test_what_is_best_of_its_kind_is_said_by_the_boards_that_heights_count(rolling: Comparison) -> None:
    """A plan buys more than the search counts: what the proofs under each top hold of stands below them."""
    text = " ".join(" ".join(comparison_lines(rolling)).split())
    counted = counted_words(rolling.job).removesuffix(": the plan counts these too.")
    said = f"What is best of its kind goes by boards as drawn: {counted[0].lower()}{counted[1:]}"
    assert f"{said}." in text
    scribed = replace(rolling.job, pickets=replace(rolling.job.pickets, bottom_cut=BottomCut.SCRIBED))
    assert judged_words(scribed).startswith(f"{said}; under a sloping line a scribed board ")


def test_no_top_is_cheaper_for_what_it_leaves_out(write_job: WriteJob) -> None:
    found = compare_tops(write_job(lane=STEEP, pickets="spare = 0.1"))
    text = "\n".join(comparison_lines(found))
    (level, *_), rows = found.styles, list(comparison_table(found).rows)
    lacking = [f"{m.count} {m.part}s" for m in level.missing]
    assert f"{level.used.cost:,.2f} WITHOUT {listed(lacking)} that no stock serves" in text.split("\n\n")[1]
    assert [row[2] is None for row in rows] == [bool(s.missing) for s in found.styles]
    assert text.endswith("The boards counted are those of the run; spares are in the money.")
    assert "less than the cheapest" not in text
    assert "No top keeps every wish with the stock on offer" in text


def test_a_top_that_cannot_be_built_stays_with_its_reason(write_job: WriteJob) -> None:
    found = compare_tops(write_job(NARROW, lane=(STEEP, NO_POST)))
    rows = comparison_json(found)["tops"]
    assert rows[3]["feasible"] is False
    assert "too short for that bay" in rows[3]["reason"]
    lines = list(comparison_lines(found))
    at = lines.index("racked: cannot be built")
    assert rows[3]["reason"] in lines[at + 1]
    table = list(comparison_table(found).rows)
    assert table[3][0] == "racked"
    assert table[3][-1] == rows[3]["reason"]
    assert len({len(row) for row in table}) == 1


def test_the_table_is_a_csv_of_a_row_a_top(rolling: Comparison) -> None:
    text = csv_text(comparison_table(rolling), Words.of(rolling.job.job))
    lines = text.splitlines()
    assert lines[0].startswith(
        "top,picket boards,cost,more than cheapest,pickets cut,cut off [in],worst gap [in],"
    )
    assert len(lines) == 1 + len(TopStyle)


def test_without_prices_timber_is_compared(write_job: WriteJob) -> None:
    stock = '[[pickets.stock]]\nlength = "6 ft"\n[[pickets.stock]]\nlength = "8 ft"\n'
    found = compare_tops(write_job(stock=stock, lane=ROLLING))
    text = "\n".join(comparison_lines(found))
    assert '" of boards more than the cheapest that keeps every wish' in text
    assert all(t["cost"] is None for t in comparison_json(found)["tops"])


def test_one_line_for_the_drawing(rolling: Comparison) -> None:
    words = Words.of(rolling.job.job)
    line = top_words(rolling.styles[0], words)
    assert line.endswith("; breaks: " + ", ".join(rolling.styles[0].broken))
    assert words.money(rolling.styles[0].price) in line


def test_the_verdict_says_whether_the_posts_pass(write_job: WriteJob, rolling: Comparison) -> None:
    assert "Wind on the posts is not compared" in " ".join(comparison_lines(rolling))
    found = compare_tops(write_job('[site]\nwind_speed = "115 mph"\n', lane=ROLLING))
    best = found.cheapest
    assert best is not None
    assert best.plan is not None
    told = " ".join(comparison_lines(found))
    posts = len(best.plan.runs[0].posts)
    assert f"But {best.plan.posts_failing} of its {posts} posts do not pass the screen" in told
