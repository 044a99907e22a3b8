"""Boards of unequal width: what ten of them say about a run's end. Simulations have fixed seeds."""

import math

import numpy as np
import pytest
from scipy import stats

from fencegrade.fence.slots import fill_stretch
from fencegrade.fence.wood.widths import (
    EASED_GAPS,
    WidthSample,
    boards_between_checks,
    end_chance,
    end_deviation,
    off_chance,
    planned_width_problems,
    sample_widths,
    sliver_chance,
    spacing_choices,
    width_problems,
)
from fencegrade.job.choices import Fit
from fencegrade.problems import Severity
from fencegrade.units import UnitSystem

TEN = (5.5, 5.44, 5.56, 5.53, 5.47, 5.5, 5.62, 5.41, 5.5, 5.53)
SAMPLE = sample_widths(TEN)
SURE = sample_widths([5.5] * 10)
DRAWS = 40_000


def drawn_sums(sample: WidthSample, boards: int, seed: int) -> np.ndarray:
    """Widths laid end to end, (DRAWS, boards) running sums, with mean and spread as unsure as the sample.

    The spread is drawn from its scaled inverse chi-square, the mean about the sample's given it, then the
    boards one by one: nothing here uses Student's t or the deviation of a sum.
    """
    rng = np.random.default_rng(seed)
    spread = sample.spread * np.sqrt((sample.count - 1) / rng.chisquare(sample.count - 1, DRAWS))
    mean = rng.normal(sample.mean, spread / math.sqrt(sample.count))
    return np.cumsum(rng.normal(mean[:, None], spread[:, None], (DRAWS, boards)), axis=1)


def drawn_slivers(sums: np.ndarray, length: float, spacing: float, mean: float, ease: float) -> float:
    """Share of fences whose end is a sliver, each laid board by board until no whole one fits."""
    steps = np.arange(1, sums.shape[1] + 1)
    starts = sums + steps * spacing
    up = (starts < length).sum(axis=1)
    reached = np.where(up > 0, np.take_along_axis(starts, np.maximum(up - 1, 0)[:, None], 1)[:, 0], 0.0)
    rest, gaps = length - reached, np.minimum(up, EASED_GAPS)
    return float(np.mean((rest > gaps * ease) & (rest < mean / 2 - gaps * min(ease, spacing))))


def test_sample_against_scipy() -> None:
    assert SAMPLE.mean == pytest.approx(np.mean(TEN))
    assert SAMPLE.spread == pytest.approx(stats.tstd(TEN))
    low, high = stats.t.interval(0.95, 9, np.mean(TEN), stats.sem(TEN))
    assert (SAMPLE.mean_low, SAMPLE.mean_high) == pytest.approx((low, high))
    variance = 9 * stats.tvar(TEN) / stats.chi2.ppf([0.975, 0.025], 9)
    assert (SAMPLE.spread_low, SAMPLE.spread_high) == pytest.approx(np.sqrt(variance))
    assert (SAMPLE.least, SAMPLE.most, SAMPLE.count) == (5.41, 5.62, 10)


@pytest.mark.parametrize("widths", [[], [5.5], [5.5, 0.0], [5.5, -1.0], [5.5, math.nan], [5.5, math.inf]])
def test_widths_that_are_no_sample(widths: list[float]) -> None:
    with pytest.raises(ValueError, match="two or more"):
        sample_widths(widths)


def test_deviation_by_hand() -> None:
    """16 boards from a sample of 4 with spread 0.05: 0.05 sqrt(16 + 256 / 4)."""
    four = WidthSample(
        count=4,
        mean=5.5,
        spread=0.05,
        least=5.4,
        most=5.6,
        mean_low=5.4,
        mean_high=5.6,
        spread_low=0,
        spread_high=1,
    )
    assert end_deviation(four, 16) == pytest.approx(0.05 * math.sqrt(80))


@pytest.mark.parametrize(
    ("length", "spacing", "chance"),
    [
        (94.5, 0.25, 1.0),
        (95.0, 0.25, 0.0),
        (91.75, 0.25, 0.0),
        (92.0, 0.25, 0.0),
        (91.9, 0.25, 0.0),
        (2.0, 0.25, 1.0),
        (3.0, 0.25, 0.0),
    ],
)
def test_boards_all_alike_leave_no_chance(length: float, spacing: float, chance: float) -> None:
    """94-1/2 in takes 16 whole boards of 5-1/2 in at 1/4 in and a rest of 2-1/2 in, a sliver."""
    assert sliver_chance(length, spacing, SURE) == chance


def test_easing_dodges_slivers_that_ten_gaps_can_take() -> None:
    assert sliver_chance(92.0 + 1.0, 0.25, SURE) == 1.0
    assert sliver_chance(92.0 + 1.0, 0.25, SURE, ease=0.125) == 0.0
    assert sliver_chance(92.0 + 1.26, 0.25, SURE, ease=0.125) == 1.0
    assert sliver_chance(92.0 + 1.51, 0.25, SURE, ease=0.125) == 0.0
    assert sliver_chance(17 * 5.5 + 2.0, 0.0, SURE, ease=0.125) == 1.0


@pytest.mark.parametrize("length", [40.0, 94.5, 96.0, 240.0, 480.0])
@pytest.mark.parametrize(("spacing", "ease"), [(0.25, 0.0), (0.0, 0.0), (0.25, 0.0625)])
def test_sliver_chance_against_boards_drawn_one_by_one(length: float, spacing: float, ease: float) -> None:
    sums = drawn_sums(SAMPLE, math.ceil(length / 4.5), seed=20)
    drawn = drawn_slivers(sums, length, spacing, SAMPLE.mean, ease)
    assert sliver_chance(length, spacing, SAMPLE, ease) == pytest.approx(drawn, abs=0.012)


@pytest.mark.parametrize(("boards", "gaps"), [(2, 1), (10, 1), (40, 1), (40, 10), (85, 10)])
@pytest.mark.parametrize("spacing", [0.25, 0.0625, 0.0])
def test_off_chance_against_boards_drawn_one_by_one(boards: int, gaps: int, spacing: float) -> None:
    missing = boards * SAMPLE.mean - drawn_sums(SAMPLE, boards, seed=21)[:, -1]
    share = missing / gaps
    drawn = float(np.mean((np.abs(share) > 0.125) | (share < -spacing)))
    assert off_chance(boards, SAMPLE, 0.125, spacing, gaps) == pytest.approx(drawn, abs=0.012)


def test_chances_hold_over_many_samples_of_ten() -> None:
    """Fences of one known wood, each told from its own ten boards: the chance of the error
    that came about is as often under 0.2 and 0.05 as that says.
    """
    rng = np.random.default_rng(22)
    told = []
    for widths, fence in zip(
        rng.normal(5.5, 0.06, (3000, 10)), rng.normal(5.5, 0.06, (3000, 20)), strict=True
    ):
        sample = sample_widths(widths.tolist())
        error = abs(fence.sum() - 20 * sample.mean)
        told.append(off_chance(20, sample, error, error))
    assert np.mean(np.array(told) < 0.2) == pytest.approx(0.2, abs=0.02)
    assert np.mean(np.array(told) < 0.05) == pytest.approx(0.05, abs=0.012)


def of_spread(spread: float, count: int) -> WidthSample:
    """`count` boards, half of them wide, with this standard deviation."""
    half = spread * math.sqrt((count - 1) / count)
    return sample_widths([5.5 + half * (-1) ** k for k in range(count)])


def test_many_measured_boards_follow_the_normal_law() -> None:
    sample = of_spread(0.06, 4000)
    deviation = 0.06 * math.sqrt(20 + 400 / 4000)
    assert off_chance(20, sample, 0.4, 1.0) == pytest.approx(2 * stats.norm.sf(0.4 / deviation), abs=2e-4)


def test_gap_that_wide_boards_use_up_counts_as_showing() -> None:
    assert off_chance(20, SAMPLE, 0.125, 0.0) > 0.5
    assert off_chance(20, SURE, 0.125, 0.0) == 0


def test_boards_between_checks_is_the_last_within() -> None:
    boards = boards_between_checks(SAMPLE, 0.5)
    assert off_chance(boards, SAMPLE, 0.5, 0.5) <= 0.05 < off_chance(boards + 1, SAMPLE, 0.5, 0.5)
    assert boards_between_checks(SAMPLE, 0.001) == 1
    assert boards_between_checks(SURE, 0.001) == 10_000


@pytest.mark.parametrize("fit", Fit)
def test_end_chance_counts_boards_as_the_layout_does(fit: Fit) -> None:
    for length in np.arange(20.0, 130.0, 7.3):
        choice = end_chance(length, 0.25, fit, SAMPLE, 0.125)
        assert choice.count == len(fill_stretch(0.0, length, SAMPLE.mean, 0.25, fit))
        assert 0 <= choice.eased <= choice.chance + 1e-12 <= 1 + 2e-12


def test_ripping_both_ends_keeps_clear_of_the_sliver_that_one_end_has() -> None:
    """94-1/2 in: one end 2-1/2 in wide, or both 4 in."""
    last = end_chance(94.5, 0.25, Fit.RIP_LAST, SAMPLE, 0.0625)
    both = end_chance(94.5, 0.25, Fit.RIP_BOTH_ENDS, SAMPLE, 0.0625)
    assert last.chance > 0.5 > 0.15 > both.chance


def test_best_spacing_is_the_least_likely_to_show() -> None:
    choices = spacing_choices(94.5, 0.25, 0.125, Fit.RIP_LAST, SAMPLE, limit=0.0625, mark=0.0625)
    wanted = end_chance(94.5, 0.25, Fit.RIP_LAST, SAMPLE, 0.0625)
    assert choices[0].eased <= min(c.eased for c in choices) + 0.0005
    assert choices[0].chance < wanted.chance
    assert [round(c.spacing / 0.0625) for c in sorted(choices, key=lambda c: c.spacing)] == [2, 3, 4, 5, 6]


def test_even_gap_choices_are_every_count_within() -> None:
    choices = spacing_choices(480.0, 0.25, 0.125, Fit.EVEN_GAPS, SURE, limit=0.125, mark=0.0625)
    every = {n: (480 - n * 5.5) / (n - 1) for n in range(2, 88)}
    assert {c.count for c in choices} == {n for n, gap in every.items() if 0.125 <= gap <= 0.375}
    assert choices[0].count == min(every, key=lambda n: abs(every[n] - 0.25))
    (only,) = spacing_choices(23.0, 0.05, 0.01, Fit.EVEN_GAPS, SURE, limit=0.125, mark=0.0625)
    assert only.count == 4


def test_spacings_below_zero_are_not_offered() -> None:
    choices = spacing_choices(96.0, 0.0625, 0.25, Fit.RIP_LAST, SAMPLE, limit=0.125, mark=0.0625)
    assert min(c.spacing for c in choices) == 0


@pytest.mark.parametrize("fit", Fit)
def test_a_stretch_narrower_than_a_board(fit: Fit) -> None:
    assert spacing_choices(5.0, 0.25, 0.0, fit, SURE, limit=0.125, mark=0.0625)[0].count == 1


@pytest.mark.parametrize(("length", "spacing"), [(0.0, 0.25), (-5.0, 0.25), (96.0, -0.25), (math.nan, 0.25)])
def test_sizes_that_cannot_be(length: float, spacing: float) -> None:
    with pytest.raises(ValueError, match="must be over zero"):
        end_chance(length, spacing, Fit.RIP_LAST, SAMPLE, 0.125)
    with pytest.raises(ValueError, match="must be over zero"):
        sliver_chance(length, spacing, SAMPLE)


def test_width_problems() -> None:
    place = "job.toml [pickets] widths"
    assert not list(width_problems(place, TEN, UnitSystem.IMPERIAL))
    (slip,) = width_problems(place, [*TEN, 55.0], UnitSystem.IMPERIAL)
    assert slip.place == "job.toml [pickets] widths 11"
    assert slip.severity is Severity.MISTAKE
    assert "55 in" in slip.found
    (single,) = width_problems(place, [5.5], UnitSystem.IMPERIAL)
    assert single.severity is Severity.MISTAKE
    (few,) = width_problems(place, [5.5, 5.6], UnitSystem.IMPERIAL)
    assert few.severity is Severity.NOTE
    (alike,) = width_problems(place, [5.5] * 10, UnitSystem.IMPERIAL)
    assert "same" in alike.found


def test_a_planned_width_the_boards_contradict() -> None:
    assert not list(planned_width_problems("x", SAMPLE, 5.5, 80, UnitSystem.IMPERIAL))
    (problem,) = planned_width_problems("x", SAMPLE, 5.375, 80, UnitSystem.IMPERIAL)
    assert problem.severity is Severity.NOTE
    assert problem.found.endswith("they are laid out from the average")
    assert "over 80 that is 10-15/32 in" in problem.found


FAR = "check the number and its unit, or leave that board out"


@pytest.mark.parametrize(
    ("widths", "told"),
    [
        (
            (5.5,),
            ["mistake, w: one width says nothing about how boards differ; measure ten boards, two at least"],
        ),
        # four widths are few, five are not; a fifth off the median is a slip from there on
        ((5.0, 5.0, 5.125, 5.25), ["note, w: 4 widths say little about the spread; measure ten boards"]),
        ((5.0, 5.0, 5.0, 5.125, 6.0), []),
        (
            (5.0, 5.0, 5.0, 5.125, 6.0625),
            [f"mistake, w 5: 6-1/16 in is far from the others, which lie about 5 in; {FAR}"],
        ),
        (
            (5.0, 3.9375, 5.0, 5.0, 5.125),
            [f"mistake, w 2: 3-15/16 in is far from the others, which lie about 5 in; {FAR}"],
        ),
        (
            (5.5,) * 5,
            ["note, w: all widths read the same, so the end is taken as certain; read them to a finer mark"],
        ),
    ],
)
def test_what_is_said_of_widths(widths: tuple[float, ...], told: list[str]) -> None:
    assert [f"{p.severity}, {p}" for p in width_problems("w", widths, UnitSystem.IMPERIAL)] == told


def test_the_narrowest_and_the_widest_are_kept() -> None:
    assert (SAMPLE.count, SAMPLE.least, SAMPLE.most) == (10, 5.41, 5.62)


@pytest.mark.parametrize(("planned", "told"), [(5.5, False), (5.375, True), (5.625, True)])
def test_a_planned_width_off_the_measured_mean(planned: float, told: bool) -> None:
    found = planned_width_problems("w", SAMPLE, planned, 40, UnitSystem.IMPERIAL)
    plan = {5.5: "", 5.375: "5-3/8 in", 5.625: "5-5/8 in"}[planned]
    off = {5.5: "", 5.375: "5-1/4 in", 5.625: "4-3/4 in"}[planned]
    assert [str(p) for p in found] == [
        f"w: the boards measured average 5-1/2 in, not {plan}; over 40 that is {off}: they are laid out from "
        "the average"
    ] * told


@pytest.mark.parametrize(
    ("length", "wanted", "within", "gaps"),
    [
        # boards of 5-1/2: 10 in 57 leave 2/9, 9 leave 15/16, 8 leave 13/7
        (57.0, 0.25, 0.05, [2 / 9]),
        (57.0, 0.25, 0.7, [2 / 9, 15 / 16]),
        (57.0, 0.6, 0.1, [15 / 16]),  # none within: the nearest
        (57.0, 1.0, 0.9, [15 / 16, 2 / 9, 13 / 7]),
    ],
)
def test_even_gaps_within_reach_of_the_wanted(
    length: float, wanted: float, within: float, gaps: list[float]
) -> None:
    found = spacing_choices(length, wanted, within, Fit.EVEN_GAPS, SURE, limit=0.125, mark=1 / 16)
    assert sorted(c.spacing for c in found) == pytest.approx(sorted(gaps))


def test_gaps_of_a_rip_by_marks_none_below_zero() -> None:
    found = spacing_choices(57.0, 0.125, 0.25, Fit.RIP_LAST, SURE, limit=0.125, mark=0.125)
    assert sorted(c.spacing for c in found) == [0.0, 0.125, 0.25, 0.375]
