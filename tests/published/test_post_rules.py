"""Trade rules for posts and holes: what each page prints, and what follows from a third in the ground.

joneakes.com, home-repair database, item 2094 (a third in the ground; hole twice the post if tamped, three
times if concreted); a sheep-farming handbook's fencing page (an 8 ft post at least 2.5 ft in, a little
short of its own third); a newspaper column (5 ft fence, 8 ft post, 3 ft hole). All seen.
"""

import pytest

from fencegrade.figures.holes import HOLE_FOR_TAMPED_EARTH, SHARE_IN_GROUND
from fencegrade.figures.soil_volume import COMMON_EARTH, SOIL_VOLUMES
from fencegrade.job.defaults import default_tables
from fencegrade.units import UnitSystem


def test_a_third_in_the_ground() -> None:
    in_ground = 8 * SHARE_IN_GROUND
    assert in_ground == pytest.approx(2.67, abs=0.005)
    assert in_ground > 2.5
    assert SHARE_IN_GROUND < 3 / 8


def test_hole_for_a_post() -> None:
    assert HOLE_FOR_TAMPED_EARTH == 2


def test_soil_factors_agree_among_themselves() -> None:
    """US Army FM 5-434 chapter 1, from memory but for sand: compacted to loose is loose over compacted."""
    for soil in SOIL_VOLUMES:
        ratio = soil.bank_to_loose / soil.bank_to_compacted
        assert ratio == pytest.approx(soil.compacted_to_loose, abs=0.006)
    assert {s.material: s.compacted_to_loose for s in SOIL_VOLUMES}["common earth"] == 1.39


def test_a_fill_is_ordered_by_loose_over_tamped_not_over_undisturbed() -> None:
    """Trap: 1.25 is common earth loose over undisturbed; a yard tamped under a fence takes 1.39 loose."""
    assert (COMMON_EARTH.bank_to_loose, COMMON_EARTH.compacted_to_loose) == (1.25, 1.39)
    for system in UnitSystem:
        assert default_tables(system)["soil"]["loose_factor"] == 1.39
