"""The choice of stock, one picket a board, against a mixed-integer programme of the same wishes."""

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp

from fencegrade.fence.pickets.cuts import Cuts
from fencegrade.fence.stock import NO_STOCK, choose_stock, needs_of
from fencegrade.job.records import Stock

MARK = 0.125


def pickets(kept: np.ndarray, gap: np.ndarray) -> Cuts:
    here = np.zeros(len(kept))
    return Cuts(
        top=here,
        bottom_left=here,
        bottom_right=here,
        kept_left=kept,
        kept_right=kept,
        kept=kept,
        gap=gap,
        height=here,
        tallest=here,
    )


def least_bill(serves: np.ndarray, prices: np.ndarray, on_hand: np.ndarray) -> float:
    """The least cost of one board a picket: bought at its price, or taken from those on hand.

    `serves` (n, k): whether board k serves picket i. Unknowns: bought (n, k), then taken (n, k).
    """
    n, k = serves.shape
    cost = np.concatenate([np.tile(prices, n), np.zeros(n * k)])
    one_each = np.hstack([np.kron(np.eye(n), np.ones(k))] * 2)
    pile = np.hstack([np.zeros((k, n * k)), np.tile(np.eye(k), n)])
    allowed = np.tile(serves.ravel(), 2).astype(float)
    found = milp(
        cost,
        integrality=np.ones(2 * n * k),
        bounds=Bounds(0, allowed),
        constraints=[LinearConstraint(one_each, 1, 1), LinearConstraint(pile, 0, on_hand)],
    )
    assert found.status == 0, found.message
    return float(found.fun)


@pytest.mark.parametrize("seed", range(60))
def test_the_bill_is_the_least_there_is(seed: int) -> None:
    chance = np.random.default_rng(seed)
    n, k = int(chance.integers(1, 9)), int(chance.integers(1, 5))
    lengths = np.sort(chance.choice(np.arange(40, 121), k, replace=False)).astype(float)
    lengths[-1] = 125.0
    prices = chance.integers(1, 12, k) / 2
    on_hand = chance.integers(0, 4, k) * (chance.random(k) < 0.6)
    sold = np.append(chance.random(k - 1) < 0.8, True)
    kept = np.round(chance.uniform(38, 124, n) / MARK).astype(np.int64)
    gap = np.round(chance.uniform(2, 4, n), 2)
    most_gap = chance.uniform(1.5, 9, n)
    stock = [
        Stock(
            length=float(length),
            price=float(price) if more else None,
            on_hand=int(count),
            limit=None if more else 0,
        )
        for length, price, count, more in zip(lengths, prices, on_hand, sold, strict=True)
    ]
    chance.shuffle(stock)

    choice = choose_stock(needs_of(pickets(kept, gap), most_gap, None, MARK), stock)

    board = lengths[None, :] / MARK
    short_gap = gap[:, None] + np.maximum(kept[:, None] - board, 0) * MARK
    serves = (board >= kept[:, None]) | (short_gap <= most_gap[:, None] + 1e-9)
    assert np.all(choice.stock != NO_STOCK)
    assert np.all(serves[np.arange(n), choice.stock])
    taken = choice.used - choice.bought
    assert np.all(taken <= [s.on_hand for s in choice.offered])
    bill = float(np.dot(choice.bought, np.array([s.price or 0.0 for s in choice.offered])))
    assert not choice.bought[~sold].any()
    assert bill == pytest.approx(least_bill(serves, np.where(sold, prices, 1000.0), on_hand), abs=1e-6)


def test_the_programme_itself_on_a_case_worked_by_hand() -> None:
    """Three pickets; the pile's one long board saves the dearest: 4 + 4."""
    serves = np.array([[True, True], [False, True], [True, True]])
    assert least_bill(serves, np.array([4.0, 6.0]), np.array([0, 1])) == pytest.approx(8.0)
