"""What closes low ground along a run, board by board and jointly: boards, soil, kickboards or nothing.

    tops   ________________________________
           |  |  |  |  |  |  |  |  |  |  |
           |  |  |  |  |  |  |  |  |  |  |   a shorter stock, and soil up to its clearance, or
     ______|__|__|:::::::::::|__|__|__|__|   a longer stock, or
                 `---.___.---'               a kickboard in the whole bay

A board is cut from a stock that serves it over the finished ground: bare, or under a fill that reaches its
clearance all across its width, or under the fill's sloping end; or from a shorter one over a kickboard. The
choice is exact for boards by the piece and soil by volume, with both tapers of every fill, no fill
shorter than the least length or under one board alone. Boards on hand are shared by the whole job and tie
everything together, so the search is repeated with their cost reduced in steps; the best plan found stands
beside a bound that no plan can undercut. Soil is bought by the bag or half yard for the whole job at once, so
what each way found comes to as bought decides between them.
"""

from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import asdict

from fencegrade.fence.low_ground.bill import Bill
from fencegrade.fence.low_ground.cases import Case, Outcome, Question, RunOutcome, cheapest, least, pose
from fencegrade.fence.low_ground.fill_places import LowRun
from fencegrade.fence.low_ground.fills import Fill, fills_made
from fencegrade.fence.low_ground.kickboard import Kickboard, laid
from fencegrade.fence.low_ground.notes import closing_notes, no_kickboard_notes, no_soil_notes
from fencegrade.fence.stock import StockChoice
from fencegrade.job.choices import LowGround
from fencegrade.job.records import Pickets, Soil
from fencegrade.problems import Problem
from fencegrade.units import UnitSystem
from fencegrade.units.words import Words


class RunClosing(RunOutcome, frozen=True, kw_only=True, eq=False):
    """One run's part of the choice, with its fills and kickboards in order."""

    fills: tuple[Fill, ...]
    kickboards: tuple[Kickboard, ...]


class LowGroundPlan(Struct, frozen=True, kw_only=True, eq=False):
    """What closes the low ground of a whole job.

    `choice`: what the job asks for; `stock`: of all runs in order, one picket a board; `bills`: what each
    choice would cost, the one made among them; `lower_bound`: no plan the choice allows, with as few pickets
    unserved, costs less (money, or inches of timber where nothing is priced); it equals the cost unless
    boards are on hand or soil is bought by the bag or half yard.
    """

    choice: LowGround
    runs: tuple[RunClosing, ...]
    stock: StockChoice
    bills: dict[LowGround, Bill]
    lower_bound: float
    problems: tuple[Problem, ...]

    @property
    def bill(self) -> Bill:
        """The bill of the choice made."""
        return self.bills[self.choice]


def close_low_ground(
    runs: Sequence[LowRun],
    pickets: Pickets,
    soil: Soil,
    mark: float,
    system: UnitSystem,
    compare: bool = True,
) -> LowGroundPlan:
    """Decide what closes the low ground of a job.

    `runs`: every run with its pickets at full length; `mark`: tape mark (in);
    `compare`: whether the other choices are costed too. Result: the plan. With `boards` it takes the
    stock that `choose_stock` takes. Errors: ValueError without a picket stock, or where a picket stands
    outside the readings. Source: own derivation.
    """
    asked = soil.low_ground
    fills = compare or asked in (LowGround.SOIL, LowGround.CHEAPEST)
    question = pose(runs, pickets, soil, mark, system, fills)
    outcomes, bound = _outcomes(question, asked, compare)
    made = outcomes[asked]
    bills = {one: outcome.bill for one, outcome in outcomes.items()}
    done = tuple(_closing(case, one, soil) for case, one in zip(question.cases, made.runs, strict=True))
    words = Words(system=system, mark=mark)
    notes = closing_notes(asked, runs, [d.fills for d in done], bills, pickets, soil, words)
    if asked is LowGround.SOIL:
        for case, one in zip(question.cases, done, strict=True):
            notes += no_soil_notes(case.low, case.rows, one.full, question.lengths, soil, words)
    if asked is LowGround.KICKBOARD and not any(one.kickboards for one in done):
        notes += no_kickboard_notes(runs, [one.full for one in done])
    return LowGroundPlan(
        choice=asked,
        runs=done,
        stock=made.stock,
        bills=bills,
        lower_bound=bound,
        problems=tuple(notes),
    )


def _outcomes(question: Question, asked: LowGround, compare: bool) -> tuple[dict[LowGround, Outcome], float]:
    """What each choice comes to, those asked for alone unless all are compared, and the bound of the one
    asked."""
    kinds = [LowGround.BOARDS, LowGround.SOIL]
    kinds += [LowGround.KICKBOARD] if question.soil.kickboard else []
    outcomes: dict[LowGround, Outcome] = {}
    for one in kinds:
        if compare or asked in (one, LowGround.CHEAPEST):
            outcomes[one] = least(question, one)
    bound = 0.0
    if compare or asked is LowGround.CHEAPEST:
        outcomes[LowGround.CHEAPEST], bound = cheapest(question, list(outcomes.values()))
    if asked is not LowGround.CHEAPEST:
        bound = question.measure(outcomes[asked].bill)
    return outcomes, bound


def _closing(case: Case, done: RunOutcome, soil: Soil) -> RunClosing:
    return RunClosing(
        **asdict(done),
        fills=fills_made(case.low, case.rows, done.closed, done.volumes, soil),
        kickboards=laid(case.low, case.strips, done.closed.strips),
    )
