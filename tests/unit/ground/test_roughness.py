"""The weights that models of rough ground have before a reading is seen."""

import numpy as np
import pytest
from scipy.stats import norm

from fencegrade.ground.roughness import HURST, MATERN, STRENGTH, log_prior


def test_strengths_are_believed_lognormally_about_thirty_millimetres() -> None:
    """Against scipy's normal density of the logarithm, median 30 mm and spread 1.2."""
    density = norm(np.log(30.0), 1.2).logpdf(np.log(STRENGTH * 25.4))
    assert log_prior() - log_prior()[:, :1] == pytest.approx(
        np.tile(density - density[0], (len(log_prior()), 1))
    )


def test_fractal_ground_and_fields_are_believed_alike() -> None:
    shape = np.exp(log_prior() - log_prior()[0, 0]).sum(axis=1)
    fractal, fields = shape[: len(HURST)], shape[len(HURST) :]
    assert fields.sum() == pytest.approx(fractal.sum())
    assert fractal == pytest.approx(np.full(len(HURST), fractal[0]))
    density = norm(np.log(3.0), 1.0).pdf(np.log(MATERN))
    assert fields / fields.sum() == pytest.approx(density / density.sum())
