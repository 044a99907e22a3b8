"""What a lower or higher string would change, for every top style."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
from msgspec import Struct
from msgspec.structs import replace as with_fields

from fencegrade.fence.stock import NO_STOCK, StockChoice
from fencegrade.fence.stock_steps import board_costs, for_sale, have_prices
from fencegrade.fence.tops.height_limit import check_heights
from fencegrade.fence.tops.line import TopLine
from fencegrade.fence.tops.string_heights import StringHeights, string_heights
from fencegrade.fence.tops.table import StyleName, TopStyle
from fencegrade.ground.survey import RunGround
from fencegrade.job.as_built import NOTHING_BUILT
from fencegrade.job.read import Job
from fencegrade.planning.higher_or_lower import LineMoved, better_height
from fencegrade.planning.layout import RunLayout
from fencegrade.planning.picket_boards import bought_in_doubt
from fencegrade.planning.plan import as_delivered, full_length, laid_and_topped, plan_on
from fencegrade.planning.tops import styles_asked, top_wish, tops_by_themselves
from fencegrade.problems import JobMistakesError, Problem, raise_mistakes
from fencegrade.units.arrays import Truths
from fencegrade.units.tolerances import SAME_LENGTH


class Drop(Struct, frozen=True, kw_only=True):
    """What the line lowered to the sharpest knee of its table saves.

    `row` of the table; `shorter`: pickets whose board is of a shorter stock then, `saved`: money or inches of
    boards, both with the boards that `plan` takes longer in doubt; `drawn`: what is saved of the boards as
    drawn alone; `served`: pickets that no stock serves now and some does then, which save nothing.
    """

    row: int
    shorter: int
    saved: float
    drawn: float
    served: int = 0


class RunHeights(Struct, frozen=True, kw_only=True, eq=False):
    """The heights table of one run under one top; `job`: with the stock it counts, `layout` of the run."""

    run: str
    style: TopStyle
    top: TopLine
    table: StringHeights
    job: Job
    layout: RunLayout

    @property
    def drop(self) -> Drop | None:
        """The line lowered to the sharpest knee below the present line; None where there is none, or nothing
        is left of a picket there."""
        table, row = self.table, self.table.sharpest
        if row is None:
            return None
        try:
            drawn, now = self._bought(0.0)
            drawn_then, then = self._bought(float(table.offset[row]))
        except JobMistakesError:
            return None
        costs, had, has = board_costs(now.offered), now.stock != NO_STOCK, then.stock != NO_STOCK
        both = had & has
        return Drop(
            row=row,
            shorter=int((both & (then.stock < now.stock)).sum()),
            saved=float((costs[now.stock] - costs[then.stock])[both].sum()),
            drawn=float((costs[drawn.stock] - costs[drawn_then.stock])[both].sum()),
            served=int((has & ~had).sum()),
        )

    @property
    def over_limit(self) -> Truths:
        """At which heights of the table, (k,), the line stands over the local height limit."""
        asked, slots = self.job.top, self.layout.slots
        if asked.most_height is None or not len(slots):
            return np.zeros(len(self.table), dtype=bool)
        line = self.layout.ground.line
        tallest = check_heights(line, slots, self.top, asked.most_height, asked.measured).tallest
        return np.asarray(tallest + self.table.offset > asked.most_height + SAME_LENGTH)

    def _bought(self, by: float) -> tuple[StockChoice, StockChoice]:
        """The boards as drawn, and with those taken longer in doubt, with the line raised `by` (in)."""
        moved = with_fields(self.top, elevations=self.top.elevations + by)
        (low,) = full_length(self.job, [self.layout], [moved])
        return bought_in_doubt(self.job, self.layout, low)


class JobHeights(Struct, frozen=True, kw_only=True, eq=False):
    """The heights tables of a job, style by style, run by run; `grounds` of its runs."""

    job: Job
    grounds: tuple[RunGround, ...]
    tables: tuple[RunHeights, ...]

    @property
    def lengths(self) -> list[float]:
        """Lengths of board (in) that can be bought, shortest first, as the tables count them."""
        return sorted(s.length for s in for_sale(self.job.pickets.stock))

    @property
    def priced(self) -> bool:
        """Whether the tables are in money: boards have prices."""
        return have_prices(self.job.pickets.stock)

    def moved(self, style: TopStyle | StyleName | None = None) -> LineMoved | None:
        """The line of the whole fence a little higher or lower, where that spares something.

        `style`: its top, that of the job if None. The fence is planned for it, a few times over. Result: None
        where no move is worth telling, or that top cannot be planned. Errors: ValueError for another word.
        """
        before = replace(self.job, built=NOTHING_BUILT)
        styles = styles_asked(before, TopStyle(style) if style else None)
        try:
            return better_height(plan_on(before, list(self.grounds), styles, advise=False))
        except JobMistakesError:
            return None


def heights_on(job: Job, grounds: Sequence[RunGround]) -> JobHeights:
    """Every height of the line of each run, in every top style, at which a board changes stock.

    `grounds`: of its runs. Heights under half of the least height are left out, and a style that cannot be
    planned; the fence is that of before anything stood. Errors: JobMistakesError where no style can be
    planned.
    """
    tables: list[RunHeights] = []
    mistakes: dict[Problem, None] = {}
    before, _ = as_delivered(replace(job, built=NOTHING_BUILT), grounds)
    for style in TopStyle:
        try:
            tables += _run_tables(before, grounds, style)
        except JobMistakesError as error:
            mistakes |= dict.fromkeys(error.problems)
    if not tables:
        raise_mistakes(mistakes)
    return JobHeights(job=job, grounds=tuple(grounds), tables=tuple(tables))


def _run_tables(job: Job, grounds: Sequence[RunGround], style: TopStyle) -> Iterator[RunHeights]:
    """The tables of one style, run by run, of the best line of each run by itself, on bays laid for it."""
    styles = styles_asked(job, style)
    layouts, choices, _ = laid_and_topped(job, grounds, styles, tops_of=tops_by_themselves)
    sold = replace(job, pickets=replace(job.pickets, stock=for_sale(job.pickets.stock)))
    for layout, choice in zip(layouts, choices, strict=True):
        full_length(job, [layout], [choice.top])
        wish = top_wish(sold, layout)
        table = string_heights(wish.line, wish.slots, choice.top, wish.cost, wish.least_height / 2, wish.mark)
        yield RunHeights(run=wish.name, style=style, top=choice.top, table=table, job=sold, layout=layout)
