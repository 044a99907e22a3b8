"""The plan at a glance."""

import re
from collections.abc import Callable, Iterable
from dataclasses import replace

import pytest
from msgspec import structs

from fencegrade.job.read import Job
from fencegrade.planning.plan import FencePlan, plan_fence
from fencegrade.planning.totals import plan_totals
from fencegrade.sheets.facts import waiting_words
from fencegrade.sheets.screen.details import detail_lines
from fencegrade.sheets.screen.summary import summary_lines
from fencegrade.sheets.screen.wrapping import WIDTH

MakePlan = Callable[..., FencePlan]


def test_totals_are_sums_over_the_pickets(make_plan: MakePlan) -> None:
    plan = make_plan(there=5)
    totals, run = plan_totals(plan), plan.runs[0]
    boards = [plan.stock.offered[i].length for i in run.stock]
    trims = [b - k * plan.mark for b, k in zip(boards, run.cuts.kept, strict=True)]
    assert totals.pickets == totals.boards == len(run.slots)
    assert int(plan.stock.bought.sum()) == totals.boards - 5
    assert totals.waste == pytest.approx(sum(trims))
    assert totals.cuts == sum(t > 0 for t in trims)
    prices = {72.0: 4.10, 96.0: 6.85}
    assert totals.cost == pytest.approx(sum(prices[b] for b in boards) - 5 * 4.10)


def test_without_prices_there_is_no_cost(make_plan: MakePlan) -> None:
    job = make_plan().job
    stock = tuple(replace(s, price=None) for s in job.pickets.stock)
    silent = replace(job, pickets=replace(job.pickets, stock=stock))
    assert plan_totals(plan_fence(silent)).cost is None


def test_a_job_that_says_everything_assumes_nothing(make_plan: MakePlan) -> None:
    plan = make_plan()
    said = structs.replace(plan, job=replace(plan.job, defaults=()))
    nothing = "Assumed: nothing, the job says everything itself (all above)."
    assert nothing in joined(summary_lines(said, more="all above"))


def joined(lines: Iterable[str]) -> str:
    """Lines as one text, those that were broken whole again."""
    return re.sub(r"\s+", " ", " ".join(lines))


def test_the_screen_tells_what_a_builder_asks_first(make_plan: MakePlan) -> None:
    plan = make_plan(there=3)
    text = joined(summary_lines(plan))
    run = plan.runs[0]
    assert text.startswith("Herb garden")
    for length, used, bought in zip(("6 ft", "8 ft"), plan.stock.used, plan.stock.bought, strict=True):
        assert re.search(rf"{bought} pickets? of {length}.*{'3 more on hand' if used > bought else ''}", text)
    assert f"{len(run.slots)} pickets" in text
    longest, shortest = int(run.cuts.kept.argmax()), int(run.cuts.kept.argmin())
    assert f"(picket {longest + 1})" in text
    assert f"(picket {shortest + 1})" in text
    assert f"picket {int(run.cuts.gap.argmax()) + 1}" in text
    assert "limit" in text
    for word in ("811", "permit", "boundary"):
        assert word in text


def test_details_hold_all_that_is_assumed_and_every_caution(make_plan: MakePlan) -> None:
    text = joined(detail_lines(make_plan()))
    assert "[pickets] width = 5-1/2 in" in text
    assert "check the first three boards" in text
    for word in ("811", "permit", "engineer", "pool", "dust mask", "Treated wood"):
        assert word.lower() in text.lower()


def test_a_plan_fits_on_a_screen_and_ends_with_what_is_to_decide(make_plan: MakePlan) -> None:
    lines = list(summary_lines(make_plan(top='least_height = "6 ft"'), more="all", written="Written: x"))
    assert len(lines) <= 45
    assert max(map(len, lines)) <= WIDTH
    heads = [line for line in lines if line in ("The fence", "Sure of", "To decide")]
    assert heads == ["The fence", "Sure of", "To decide"]


def test_a_pile_that_serves_alone_leaves_none_to_buy(make_plan: MakePlan) -> None:
    plan = make_plan(there=500)
    line = next(line for line in summary_lines(plan) if " pickets of 6 ft" in line)
    used = int(plan.stock.used[0])
    assert line.lstrip().startswith("- pickets of 6 ft, 1x")
    assert f"{used} on hand" in line


def test_pickets_that_share_boards_are_counted_as_pickets(make_plan: MakePlan) -> None:
    plan = make_plan(top='least_height = "34 in"', pickets='top_end = "flat"')
    totals = plan_totals(plan)
    assert totals.boards < totals.cuts
    boards = "board" if totals.boards == 1 else "boards"
    assert f"  pickets: {totals.cuts} cut, from {totals.boards} {boards};" in "\n".join(summary_lines(plan))


def test_every_warning_is_on_the_screen(make_plan: MakePlan) -> None:
    plan = make_plan(top='least_height = "6 ft"')
    text = joined(summary_lines(plan))
    warnings = [p for p in plan.problems if p.severity != "note"]
    assert warnings
    assert all(str(p) in text for p in warnings)


DROPS = (20, 21, 22, 23, 24, 22.5, 20, 32.5, 33, 34, 35, 35.5, 36)
ONE_FOOT_OFF = "station [ft],drop [in]\n" + "".join(f"{4 * k},{drop}\n" for k, drop in enumerate(DROPS))


@pytest.mark.parametrize(("note", "first"), [("", False), ("confirmed", True)])
def test_doubted_readings_are_told_before_what_another_height_spares(
    make_plan: MakePlan, note: str, first: bool
) -> None:
    heading, *rows = ONE_FOOT_OFF.splitlines()
    survey = "\n".join([f"{heading},note", *(f"{row},{note}" for row in rows)])
    lines = list(summary_lines(make_plan(top='least_height = "74 in"', survey=survey)))
    to_decide = lines[lines.index("To decide") + 1 :]
    assert to_decide[0].startswith("  top ") == first
    assert any(line.startswith("  top ") for line in to_decide)


def test_what_the_job_says_is_not_called_assumed(make_plan: MakePlan) -> None:
    text = joined(detail_lines(make_plan(pickets='width = "5 in"')))
    assert "[pickets] width" not in text
    assert "[pickets] spacing = 1/4 in" in text


def test_the_proof_is_in_the_jobs_money(make_plan: MakePlan) -> None:
    plan = make_plan()
    cost = f"${float(plan.families.pickets.plan.exact_cost):.2f}"
    told = f"  pickets: cost {cost}; no plan can use less, so {cost} is best"
    assert told in list(detail_lines(plan))


def test_pickets_without_a_board_are_counted_apart(make_plan: MakePlan) -> None:
    deep = "station [ft],drop [in]\n0,20\n8,20\n12,70\n16,20\n24,20\n"
    plan = make_plan(survey=deep)
    missing = plan_totals(plan).pickets - plan_totals(plan).boards
    assert missing > 0
    text = "\n".join(summary_lines(plan))
    assert text.index(f"NOT ENOUGH: no stock serves {missing} pickets") < text.index(" posts of ")
    assert "is best" not in text
    assert "still serve" not in text


def test_the_purchase_says_what_waits_for_the_posts(write_job: Callable[..., Job]) -> None:
    """Every post fails 115 mph, and with the depth it asks for no stock serves."""
    for sets_depth in ("false", "true"):
        site = f'[site]\nwind_speed = "115 mph"\nsets_depth = {sets_depth}\n'
        plan = plan_fence(write_job(site))
        text = " ".join("\n".join(summary_lines(plan)).split())
        posts = len(plan.runs[0].posts)
        assert f"DO NOT BUY POSTS YET: {plan.posts_failing} of {posts} posts do not pass" in text
        assert (f"no stock serves {posts} posts;" in text) is (sets_depth == "true")
        assert text.index("DO NOT BUY POSTS YET") < text.index("The fence")
        assert "that is of the ground alone" in text
    calm = plan_fence(write_job())
    assert waiting_words(calm) == ""
