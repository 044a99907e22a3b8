"""Student's t against scipy.special, and against a printed table."""

import numpy as np
import pytest
from scipy import special

from fencegrade.ground.student import chance_under, quantile


def test_chances_are_scipys() -> None:
    rng = np.random.default_rng(3)
    freedom = np.concatenate([[1.0, 2.0, 3.0, 200.0], rng.uniform(1, 200, 996)])[:, None]
    value = np.concatenate([[0.0], np.exp(np.linspace(-9, 8, 60))]) * [[1.0]]
    for t in (value, -value):
        assert np.abs(chance_under(freedom, t) - special.stdtr(freedom, t)).max() < 1e-12


def test_quantiles_are_scipys() -> None:
    rng = np.random.default_rng(4)
    freedom = np.concatenate([[1.0, 2.0, 3.0, 200.0], rng.uniform(1, 200, 396)])[:, None]
    chance = np.array([1e-9, 0.001, 0.025, 0.3, 0.4999999, 0.5, 0.51, 0.9, 0.975, 0.99, 1 - 1e-9])
    assert quantile(freedom, chance) == pytest.approx(special.stdtrit(freedom, chance), rel=1e-8, abs=1e-9)


def test_a_printed_table() -> None:
    """Percentage points as in NIST/SEMATECH e-Handbook of Statistical Methods, section 1.3.6.7.2 (from
    memory)."""
    printed = {(1, 0.975): 12.706, (3, 0.975): 3.182, (5, 0.99): 3.365, (10, 0.95): 1.812, (100, 0.9): 1.290}
    for (freedom, chance), value in printed.items():
        assert round(float(quantile(freedom, chance)), 3) == value


def test_the_ends() -> None:
    assert chance_under(3, [-np.inf, 0.0, np.inf]).tolist() == [0.0, 0.5, 1.0]
    assert chance_under(np.empty((0, 2)), np.empty((0, 2))).shape == (0, 2)
    assert quantile(7, 0.25) == -quantile(7, 0.75)
