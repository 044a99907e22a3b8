"""A profile: the line with its reading error and breaks."""

import numpy as np
import pytest

from fencegrade.ground.fit import fit_ground


@pytest.mark.parametrize("error", [0.0, -1.0, float("nan"), float("inf")])
def test_a_reading_error_is_over_zero(error: float) -> None:
    with pytest.raises(ValueError, match="reading error"):
        fit_ground([0, 48, 96], [0, 1, 2], error)


def test_a_reading_is_good_to_three_sixteenths_where_nothing_is_known() -> None:
    assert fit_ground([0, 48, 96], [0, 1, 2]).reading_error == 0.1875
    assert fit_ground([0, 48, 96], [0, 1, 2], 0.25).reading_error == 0.25


def test_a_break_named_bends_no_line_and_narrows_the_band() -> None:
    x, z = [0, 48, 96, 144, 192], [1, 13, 25, 13, 1]
    named, plain = fit_ground(x, z, breaks=[96]), fit_ground(x, z)
    at = np.linspace(0, 192, 50)
    assert (named.elevation(at) == plain.elevation(at)).all()
    assert (named.spread.roughness < plain.spread.roughness).all()
    assert named.spread.at(96).scale == plain.spread.at(96).scale


def test_a_break_must_be_a_reading() -> None:
    with pytest.raises(ValueError, match="break"):
        fit_ground([0, 48, 96], [1, 2, 3], breaks=[50.0])
