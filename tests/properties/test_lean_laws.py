"""Laws of spreading a lean, of drying boards and of boards of unequal width."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from msgspec.structs import replace

from fencegrade.building.lean import (
    Lean,
    LeanQuestion,
    LeanSpread,
    Toward,
    spread_over_next,
    spread_over_slots,
)
from fencegrade.fence.slots import Slots
from fencegrade.fence.wood.drying import (
    forecast_gap,
    forecast_overlap,
    moisture_change,
    width_shrinkage,
)
from fencegrade.fence.wood.widths import off_chance, sample_widths, sliver_chance, spacing_choices
from fencegrade.figures.shrinkage import SpeciesGroup
from fencegrade.job.choices import Fit
from fencegrade.units import UnitSystem

TOWARD = st.sampled_from(Toward)
GROUPS = st.sampled_from(SpeciesGroup)
MOISTURES = st.floats(8.0, 40.0)
SIZES = st.floats(1.0, 12.0)
GAPS = st.floats(0.0, 2.0)


@st.composite
def questions(draw: st.DrawFn) -> LeanQuestion:
    return LeanQuestion(
        lean=Lean(amount=draw(st.floats(0.01, 3.0)), over=draw(st.floats(12.0, 96.0)), toward=draw(TOWARD)),
        width=draw(SIZES),
        spacing=draw(st.one_of(st.just(0.0), st.floats(0.01, 2.0))),
        height=draw(st.floats(12.0, 96.0)),
        limit=draw(st.floats(0.03, 0.5)),
        boards=draw(st.one_of(st.none(), st.integers(1, 60))),
        system=UnitSystem.IMPERIAL,
    )


@st.composite
def rows(draw: st.DrawFn) -> tuple[Slots, int]:
    widths = np.array(draw(st.lists(SIZES, min_size=1, max_size=25)))
    gaps = np.array(draw(st.lists(GAPS, min_size=len(widths), max_size=len(widths))))
    right = np.cumsum(widths + gaps)
    return Slots(left=right - widths, right=right), draw(st.integers(0, len(widths) - 1))


def tapers(spread: LeanSpread) -> np.ndarray:
    return spread.question.lean.sign * (spread.gap_bottom - spread.gap_top)


@given(question=questions())
def test_every_taper_is_within_its_limit_and_they_add_up_to_the_lean(question: LeanQuestion) -> None:
    spread = spread_over_next(question)
    assert np.all(tapers(spread) <= question.limit + 1e-9)
    assert np.all(tapers(spread) >= -1e-9)
    assert tapers(spread).sum() + spread.left_over == pytest.approx(question.lean.at(question.height))


@given(question=questions())
def test_the_lean_is_hidden_exactly_from_the_least_count_on(question: LeanQuestion) -> None:
    spread = spread_over_next(question)
    assert spread.hidden == (spread.boards >= spread.least)
    assert np.all(np.diff(spread.leans) <= 1e-9)
    if spread.hidden:
        assert spread.leans[-1] == 0
        assert spread.top.left[-1] == spread.bottom.left[-1]


@given(row=rows(), question=questions())
def test_boards_keep_their_widths_and_never_overlap(row: tuple[Slots, int], question: LeanQuestion) -> None:
    slots, last = row
    spread = spread_over_slots(slots, last, replace(question, boards=None))
    here = slice(last + 1, last + 1 + spread.boards)
    for left, right in ((spread.top.left, spread.top.right), (spread.bottom.left, spread.bottom.right)):
        assert right - left == pytest.approx(slots.width[here])
        assert np.all(left[1:] >= right[:-1] - 1e-9)
    assert min(spread.gap_top.min(initial=0.0), spread.gap_bottom.min(initial=0.0)) >= -1e-9


@given(row=rows(), question=questions())
def test_gaps_and_boards_run_from_the_leaning_board_to_the_last(
    row: tuple[Slots, int], question: LeanQuestion
) -> None:
    """Edges say the same as gaps, at the top and at the bottom, from the leaning board as it stands."""
    slots, last = row
    spread = spread_over_slots(slots, last, replace(question, boards=None))
    assume(spread.boards > 0)
    half = question.lean.sign * spread.question.whole / 2
    for gap, left, right, edge in (
        (spread.gap_top, spread.top.left, spread.top.right, slots.right[last] + half),
        (spread.gap_bottom, spread.bottom.left, spread.bottom.right, slots.right[last] - half),
    ):
        before = np.concatenate([[edge], right[:-1]])
        assert left - before == pytest.approx(gap, abs=1e-9)


@given(row=rows(), question=questions())
def test_boards_move_along_only_where_a_gap_is_too_narrow(
    row: tuple[Slots, int], question: LeanQuestion
) -> None:
    slots, last = row
    spread = spread_over_slots(slots, last, replace(question, boards=None))
    gaps = (slots.left[last + 1 :] - slots.right[last:-1])[: spread.boards]
    assert spread.moved == pytest.approx(np.maximum(0.0, spread.taper / 2 - gaps).sum(), abs=1e-9)


@given(question=questions())
def test_a_lean_the_other_way_swaps_top_and_bottom(question: LeanQuestion) -> None:
    other = Toward.END if question.lean.toward is Toward.START else Toward.START
    there = spread_over_next(question)
    back = spread_over_next(replace(question, lean=replace(question.lean, toward=other)))
    assert there.gap_top == pytest.approx(back.gap_bottom)
    assert there.gap_bottom == pytest.approx(back.gap_top)
    assert there.moved == pytest.approx(back.moved)


@given(question=questions(), scale=st.sampled_from([0.5, 2.0, 4.0]))
def test_another_unit_changes_nothing_but_the_numbers(question: LeanQuestion, scale: float) -> None:
    assume(question.spacing == 0 or question.spacing > 1e-6)
    lean = replace(question.lean, amount=question.lean.amount * scale, over=question.lean.over * scale)
    sizes = {name: getattr(question, name) * scale for name in ("width", "spacing", "height", "limit")}
    one, other = (
        spread_over_next(question),
        spread_over_next(replace(question, lean=lean, **sizes)),
    )
    assert other.boards == one.boards
    assert other.top.left == pytest.approx(one.top.left * scale, abs=1e-9)
    assert other.bottom.right == pytest.approx(one.bottom.right * scale, abs=1e-9)


@given(width=SIZES, now=MOISTURES, service=MOISTURES, group=GROUPS)
def test_drying_and_wetting_again_restores_the_width(
    width: float, now: float, service: float, group: SpeciesGroup
) -> None:
    there, back = moisture_change(now, service, group), moisture_change(service, now, group)
    dry = forecast_gap(width, 0.0, 0.0, there).width_service
    assert forecast_gap(dry, 0.0, 0.0, back).width_service == pytest.approx(width)


@given(first=MOISTURES, second=MOISTURES, group=GROUPS)
def test_wetter_boards_are_never_narrower(first: float, second: float, group: SpeciesGroup) -> None:
    low, high = sorted((first, second))
    assert width_shrinkage(low, group) >= width_shrinkage(high, group)


@given(width=SIZES, gap=GAPS, wanted=GAPS, now=MOISTURES, service=MOISTURES, group=GROUPS)
def test_the_pitch_never_changes_and_the_gap_set_comes_out(
    width: float, gap: float, wanted: float, now: float, service: float, group: SpeciesGroup
) -> None:
    change = moisture_change(now, service, group)
    found = forecast_gap(width, gap, wanted, change)
    assert found.width_service + found.gap_service == pytest.approx(width + gap)
    later = forecast_gap(width, found.to_set, wanted, change)
    assert later.gap_service == pytest.approx(found.reached)
    assert found.reached >= wanted - 1e-12
    assert found.to_set == 0 or found.reached == pytest.approx(wanted)


@given(width=SIZES, share=st.floats(0.0, 0.9), now=MOISTURES, service=MOISTURES, group=GROUPS)
def test_a_board_covers_its_gap_and_both_overlaps(
    width: float, share: float, now: float, service: float, group: SpeciesGroup
) -> None:
    change = moisture_change(now, service, group)
    found = forecast_overlap(width, share * width, change)
    assert found.row_gap_now + 2 * found.overlap_now == pytest.approx(found.width_now)
    assert found.row_gap_service + 2 * found.overlap_service == pytest.approx(found.width_service)


WIDTHS = st.lists(st.floats(5.3, 5.7), min_size=2, max_size=20)


@given(widths=WIDTHS, length=st.floats(1.0, 600.0), spacing=GAPS, ease=st.floats(0.0, 0.2))
def test_chances_are_shares_and_easing_never_hurts(
    widths: list[float], length: float, spacing: float, ease: float
) -> None:
    sample = sample_widths(widths)
    plain, eased = sliver_chance(length, spacing, sample), sliver_chance(length, spacing, sample, ease)
    assert 0 <= eased <= plain + 1e-9 <= 1 + 1e-9


@given(widths=WIDTHS, seed=st.integers(0, 99), length=st.floats(20.0, 300.0))
def test_the_order_boards_are_measured_in_does_not_matter(
    widths: list[float], seed: int, length: float
) -> None:
    other = np.random.default_rng(seed).permutation(widths).tolist()
    one, two = (sliver_chance(length, 0.25, sample_widths(w)) for w in (widths, other))
    assert one == pytest.approx(two, abs=1e-6)


@given(widths=WIDTHS, boards=st.integers(1, 200), limit=st.floats(0.01, 2.0))
def test_more_boards_or_a_tighter_limit_never_lower_the_chance(
    widths: list[float], boards: int, limit: float
) -> None:
    sample = sample_widths(widths)
    chance = off_chance(boards, sample, limit, 0.25)
    assert 0 <= chance <= 1
    assert off_chance(boards + 1, sample, limit, 0.25) >= chance - 1e-12
    assert off_chance(boards, sample, limit / 2, 0.25) >= chance - 1e-12


@given(widths=WIDTHS, length=st.floats(1.0, 400.0), wanted=GAPS, fit=st.sampled_from(Fit))
def test_the_wanted_spacing_is_never_better_than_the_first_offered(
    widths: list[float], length: float, wanted: float, fit: Fit
) -> None:
    choices = spacing_choices(length, wanted, 0.125, fit, sample_widths(widths), limit=0.0625, mark=0.0625)
    assert choices
    assert all(0 <= c.eased <= 1 and 0 <= c.chance <= 1 + 1e-9 and c.spacing >= 0 for c in choices)
    assert choices[0].eased <= min(c.eased for c in choices) + 0.001
