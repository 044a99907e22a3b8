"""Trade rules for posts and holes: what each page prints, and what follows from a third in the ground.

Plumb: Journal of Light Construction, quoting the Handbook of Construction Tolerances (1/4 in in 10 ft, common
in rough framing) and the NAHB remodelers' standards (1/4 in in 32 in), restated; none is for fences.
joneakes.com, home-repair database, item 2094, seen (a third in the ground; hole twice the post if tamped,
three times if concreted). That some set an 8 ft post 2.5 ft deep, others 3 ft: common practice, no source.
"""

import pytest

from fencegrade.building.lean import PLUMB_LIMITS
from fencegrade.figures import holes
from fencegrade.figures.holes import HOLE_FOR_TAMPED_EARTH, SHARE_IN_GROUND
from fencegrade.figures.soil import COMPACTED_TO_LOOSE, LOOSE_POUNDS_PER_CUBIC_FOOT
from fencegrade.job.defaults import default_tables
from fencegrade.units import UnitSystem


def test_a_third_in_the_ground() -> None:
    in_ground = 8 * SHARE_IN_GROUND
    assert in_ground == pytest.approx(2.67, abs=0.005)
    assert in_ground > 2.5
    assert SHARE_IN_GROUND < 3 / 8


def test_hole_for_a_post() -> None:
    assert HOLE_FOR_TAMPED_EARTH == 2


def test_rules_of_the_trade() -> None:
    """Common practice, no source: gate posts 6 in deeper, 6 in of gravel, a third of a post is as good with a
    twentieth less, augers drill 3 ft; soil as it is delivered weighs 2,700 lb a cubic yard.
    """
    assert (
        holes.GATE_POST_DEEPER,
        holes.GRAVEL,
        holes.NEAR_SHARE,
        holes.COMMON_AUGER[UnitSystem.IMPERIAL],
    ) == (6, 6, 0.05, 36)
    assert LOOSE_POUNDS_PER_CUBIC_FOOT * 27 == 2700


def test_soil_factors_agree_among_themselves() -> None:
    """US Army FM 5-434 chapter 1, common earth, from memory: compacted to loose is loose over compacted.

    Each of the three is printed to two digits.
    """
    rounded = 0.005 + (0.005 + 1.39 * 0.005) / 0.90
    assert pytest.approx(1.25 / 0.90, abs=rounded) == COMPACTED_TO_LOOSE
    assert pytest.approx(0.72, abs=0.005) == 1 / COMPACTED_TO_LOOSE


def test_a_fill_is_ordered_by_loose_over_tamped_not_over_undisturbed() -> None:
    """Trap: 1.25 is common earth loose over undisturbed; a yard tamped under a fence takes 1.39 loose."""
    for system in UnitSystem:
        assert default_tables(system)["soil"]["loose_factor"] == COMPACTED_TO_LOOSE == 1.39


def test_plumb_of_framing_and_remodelling() -> None:
    """1/4 in in 10 ft is 1/10 in in 4 ft; 1/4 in in 32 in is 3/8 in in 4 ft and 3/4 in in 8 ft."""
    framing, remodelling = PLUMB_LIMITS
    assert [framing.at(120), framing.at(48)] == pytest.approx([0.25, 0.1])
    assert [remodelling.at(h) for h in (32, 48, 96)] == pytest.approx([0.25, 0.375, 0.75])
