"""Laws of the main job: what may change no cut, what mirrors it, and what never costs more."""

import tempfile
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from examples import few
from hypothesis import assume, given
from hypothesis import strategies as st

from fencegrade.fence.stock import NO_STOCK
from fencegrade.job.read import Job, read_job
from fencegrade.job.records import Stock
from fencegrade.planning.plan import FencePlan, plan_fence
from fencegrade.planning.totals import plan_totals

STYLES = ["level", "sloped", "stepped", "racked", "contour"]
CUTS = ["square", "scribed"]
MARK = 0.125


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """A job in inches, and how it is written down."""

    stations: tuple[float, ...]
    elevations: tuple[float, ...]
    width: float = 5.5
    spacing: float = 0.25
    fit: str = "even gaps"
    bottom_cut: str = "square"
    clearance: float = 2.0
    most_gap: float = 3.0
    stock: tuple[tuple[float, float | None, int], ...] = ((72, 4.0, 0), (96, 6.5, 0), (240, 30.0, 0))
    run: str = ""
    drops_from: float | None = None
    metric: bool = False

    def length(self, inches: float) -> str:
        return f"{inches * 25.4:.6f} mm" if self.metric else f"{inches!r} in"

    def job_text(self) -> str:
        stock = "".join(
            f'[[pickets.stock]]\nlength = "{self.length(length)}"\non_hand = {there}\n'
            + (f"price = {price}\n" if price is not None else "")
            for length, price, there in self.stock
        )
        return (
            f'[job]\ntitle = "x"\nunits = "{"metric" if self.metric else "imperial"}"\n'
            f'tape = "{self.length(MARK)}"\n'
            f'[[run]]\nname = "r"\nsurvey = "s.csv"\n{self.run}\n'
            f'[top]\nleast_height = "{self.length(72)}"\n'
            f'[pickets]\nwidth = "{self.length(self.width)}"\nspacing = "{self.length(self.spacing)}"\n'
            f'fit = "{self.fit}"\nbottom_cut = "{self.bottom_cut}"\n'
            f'clearance = "{self.length(self.clearance)}"\nmost_gap = "{self.length(self.most_gap)}"\n{stock}'
            f'[posts]\nwidth = "{self.length(3.5)}"\nspacing = "{self.length(96.0)}"\n'
        )

    def survey_text(self) -> str:
        unit, factor = ("mm", 25.4) if self.metric else ("in", 1.0)
        if self.drops_from is None:
            column, values = "elevation", self.elevations
        else:
            column, values = "drop", tuple(self.drops_from - z for z in self.elevations)
        rows = zip(self.stations, values, strict=True)
        body = "".join(f"{x * factor:.9f},{v * factor:.9f}\n" for x, v in rows)
        return f"station [{unit}],{column} [{unit}]\n{body}"

    def job(self) -> Job:
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            (folder / "job.toml").write_text(self.job_text())
            (folder / "s.csv").write_text(self.survey_text())
            return read_job(folder)

    def plan(self, style: str = "level") -> FencePlan:
        return plan_fence(self.job(), style)


def cuts_of(plan: FencePlan) -> tuple[list[int], list[int]]:
    run = plan.runs[0]
    return run.cuts.kept_left.tolist(), run.cuts.kept_right.tolist()


EIGHTHS = st.integers(-240, 240).map(lambda n: n / 8)
STEPS = st.integers(12, 96).map(float)


@st.composite
def grounds(draw: st.DrawFn, most: int = 9) -> Case:
    """Ground read every 1 to 8 ft to the eighth of an inch, up to 30 in apart from reading to reading."""
    steps = draw(st.lists(STEPS, min_size=2, max_size=most))
    rises = draw(st.lists(EIGHTHS, min_size=len(steps), max_size=len(steps)))
    stations = (0.0, *np.cumsum(steps).tolist())
    return Case(
        stations=stations,
        elevations=(0.0, *np.cumsum(rises).tolist()),
        fit=draw(st.sampled_from(["even gaps", "rip both ends"])),
        bottom_cut=draw(st.sampled_from(CUTS)),
    )


@few(8)
@given(case=grounds(), style=st.sampled_from(STYLES), shift=st.integers(-5000, 5000))
def test_moving_the_datum_changes_no_cut(case: Case, style: str, shift: int) -> None:
    moved = replace(case, elevations=tuple(z + shift for z in case.elevations))
    plan, other = case.plan(style), moved.plan(style)
    assert cuts_of(plan) == cuts_of(other)
    assert plan.stock.stock.tolist() == other.stock.stock.tolist()
    assert other.runs[0].cuts.top == pytest.approx(plan.runs[0].cuts.top + shift, abs=1e-6)
    assert other.runs[0].cuts.gap == pytest.approx(plan.runs[0].cuts.gap, abs=1e-6)


@few(8)
@given(case=grounds(), style=st.sampled_from(STYLES), over=st.integers(1, 60))
def test_a_string_read_downwards_is_the_same_ground_as_elevations(case: Case, style: str, over: int) -> None:
    dropped = replace(case, drops_from=max(case.elevations) + over)
    assert cuts_of(case.plan(style)) == cuts_of(dropped.plan(style))


def divided(case: Case, count: int) -> tuple[Case, Case]:
    """The case with butted pickets that fill its length exactly, and the same ground walked backwards."""
    length = case.stations[-1]
    even = replace(case, fit="even gaps", spacing=0.0, width=length / count)
    assume(0.25 < even.width < 48)
    stations = tuple(length - x for x in reversed(even.stations))
    return even, replace(even, stations=stations, elevations=tuple(reversed(even.elevations)))


@few(8)
@given(case=grounds(), count=st.integers(3, 40))
def test_reversing_a_line_whose_slots_divide_evenly_mirrors_the_cuts(case: Case, count: int) -> None:
    even, back = divided(case, count)
    left, right = cuts_of(even.plan())
    assert len(left) == count
    assert (right[::-1], left[::-1]) == cuts_of(back.plan())


def bends(plan: FencePlan) -> list[float]:
    """The largest change of slope along a top line, and all of them together."""
    top = plan.runs[0].top
    return [top.largest_bend, float(np.abs(top.bends).sum())]


@few(6)
@given(case=grounds(most=5), count=st.integers(3, 20))
def test_a_line_walked_backwards_is_as_smooth(case: Case, count: int) -> None:
    """Of lines equally smooth either may be found, so what is the same is their bends, not every cut."""
    even, back = divided(case, count)
    assert bends(even.plan("contour")) == pytest.approx(bends(back.plan("contour")), abs=1e-6)


@few(8)
@given(
    length=st.integers(60, 1200),
    level=EIGHTHS,
    bottom=st.sampled_from(CUTS),
    fit=st.sampled_from(["even gaps", "rip both ends"]),
)
def test_level_ground_gives_equal_boards_under_every_top(
    length: int, level: float, bottom: str, fit: str
) -> None:
    quarter = length / 4
    case = Case(
        stations=(0, quarter, 2 * quarter, 3 * quarter, length),
        elevations=(level,) * 5,
        bottom_cut=bottom,
        fit=fit,
    )
    for style in STYLES:
        left, right = cuts_of(case.plan(style))
        assert set(left) == set(right) == {70 * 8}


@few(8)
@given(case=grounds(), style=st.sampled_from(STYLES))
def test_what_is_kept_and_what_is_cut_off_make_the_board(case: Case, style: str) -> None:
    plan = case.plan(style)
    run = plan.runs[0]
    served = run.stock != NO_STOCK
    boards = np.array([s.length for s in plan.stock.offered])[run.stock[served]]
    assert run.cuts.kept[served] * MARK + plan.trims[0][served] == pytest.approx(boards, abs=1e-9)
    assert np.all(run.cuts.kept[served] * MARK <= boards + 1e-9)
    assert np.all(np.isnan(plan.trims[0][~served]))
    assert plan.stock.used.sum() == served.sum()


@few(8)
@given(case=grounds(), style=st.sampled_from(STYLES))
def test_no_bottom_comes_nearer_the_ground_than_its_clearance(case: Case, style: str) -> None:
    """Checked against the ground itself at two hundred stations under every picket."""
    run = case.plan(style).runs[0]
    line, slots, cuts = run.ground.profile.line, run.slots, run.cuts
    share = np.linspace(0, 1, 200)
    x = slots.left[:, None] + share * slots.width[:, None]
    bottom = cuts.bottom_left[:, None] + share * (cuts.bottom_right - cuts.bottom_left)[:, None]
    open_height = bottom - line.elevation(np.clip(x, line.start, line.end))
    assert open_height.min() >= case.clearance - 1e-6
    assert np.all(cuts.gap >= case.clearance - 1e-6)
    assert np.all(cuts.gap >= open_height.max(axis=1) - 1e-6)


@few(8)
@given(case=grounds(), style=st.sampled_from(STYLES))
def test_rounding_loses_less_than_a_mark(case: Case, style: str) -> None:
    run = replace(case, bottom_cut="square").plan(style).runs[0]
    high = run.ground.profile.line.highest(run.slots.left, run.slots.right)
    lost = run.cuts.top - high - case.clearance - run.full * MARK
    assert np.all(lost >= -1e-6)
    assert np.all(lost < MARK)


@few(8)
@given(case=grounds(), style=st.sampled_from(["level", "contour"]))
def test_the_least_height_is_kept_at_every_reading(case: Case, style: str) -> None:
    run = case.plan(style).runs[0]
    over = run.top.at(np.array(case.stations)) - np.array(case.elevations)
    assert over.min() >= 72 - 1e-6


PRICES = st.integers(1, 40).map(lambda n: n / 2)
STOCKS = st.lists(
    st.tuples(st.integers(24, 200).map(float), PRICES), min_size=1, max_size=4, unique_by=lambda s: s[0]
)


@cache
def rolling() -> Job:
    """One yard of rolling ground, whose lengths ask for several boards."""
    return Case(
        stations=tuple(48.0 * n for n in range(9)),
        elevations=(0, -3, -9, -20, -31, -24, -11, -5, 2),
    ).job()


def priced(stock: Sequence[tuple[float, float]], there: Sequence[int] = ()) -> FencePlan:
    """The plan of the rolling ground with these boards, and one of 20 ft so that every picket is served."""
    offers = [*stock, (240.0, 60.0)]
    counts = [*there, *[0] * (len(offers) - len(there))]
    boards = tuple(
        Stock(length=length, price=price, on_hand=count)
        for (length, price), count in zip(offers, counts, strict=True)
    )
    job = rolling()
    return plan_fence(replace(job, pickets=replace(job.pickets, stock=boards)))


def bill(plan: FencePlan) -> float:
    assert not (plan.stock.stock == NO_STOCK).any()
    cost = plan_totals(plan).cost
    assert cost is not None
    return cost


@few(8)
@given(stock=STOCKS, more=st.tuples(st.integers(201, 230).map(float), PRICES), short=st.booleans())
def test_one_more_stock_on_offer_never_raises_the_cost(
    stock: list[tuple[float, float]], more: tuple[float, float], short: bool
) -> None:
    added = (more[0] - 180 + 0.5, more[1]) if short else more
    assert bill(priced([*stock, added])) <= bill(priced(stock)) + 1e-9


@few(8)
@given(stock=STOCKS, there=st.lists(st.integers(0, 60), min_size=4, max_size=4), more=st.integers(0, 30))
def test_boards_on_hand_never_raise_the_bill(
    stock: list[tuple[float, float]], there: list[int], more: int
) -> None:
    some = there[: len(stock)]
    few, many = priced(stock, some), priced(stock, [n + more for n in some])
    assert bill(many) <= bill(few) <= bill(priced(stock)) + 1e-9
    taken = few.stock.used - few.stock.bought
    assert all(t <= s.on_hand for t, s in zip(taken, few.stock.offered, strict=True))


@few(8)
@given(stock=STOCKS, wider=st.integers(0, 12))
def test_a_larger_gap_allowed_never_raises_the_cost(stock: list[tuple[float, float]], wider: int) -> None:
    plan = priced(stock)
    loose = replace(plan.job, pickets=replace(plan.job.pickets, most_gap=plan.job.pickets.most_gap + wider))
    assert bill(plan_fence(loose)) <= bill(plan) + 1e-9


@few(8)
@given(case=grounds(most=5), style=st.sampled_from(STYLES), fit=st.sampled_from(["even gaps", "rip last"]))
def test_metric_and_imperial_versions_of_one_job_agree_to_the_mark(case: Case, style: str, fit: str) -> None:
    imperial = replace(case, fit=fit).plan(style)
    metric = replace(case, fit=fit, metric=True).plan(style)
    assert cuts_of(imperial) == cuts_of(metric)
    assert imperial.stock.stock.tolist() == metric.stock.stock.tolist()
    assert plan_totals(imperial).cost == plan_totals(metric).cost


@few(7)
@given(case=grounds(), style=st.sampled_from(STYLES))
def test_a_gate_leaves_no_picket_in_its_opening(case: Case, style: str) -> None:
    near, wide = case.stations[-1] * 0.3, case.stations[-1] * 0.2
    gate = f'[[run.gate]]\nstation = "{near} in"\nwidth = "{wide} in"\n'
    slots = replace(case, run=gate).plan(style).runs[0].slots
    assert not np.any((slots.right > near + 1e-9) & (slots.left < near + wide - 1e-9))


@few(7)
@given(case=grounds(), style=st.sampled_from(STYLES))
def test_planning_twice_gives_the_same_plan(case: Case, style: str) -> None:
    job = case.job()
    one, two = plan_fence(job, style), plan_fence(job, style)
    assert cuts_of(one) == cuts_of(two)
    assert one.problems == two.problems
