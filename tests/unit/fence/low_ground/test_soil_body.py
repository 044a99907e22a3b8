"""Soil under a straight surface and its tapers, each worked by hand."""

from itertools import pairwise

import numpy as np
import pytest
from numpy.polynomial import Polynomial
from straight_ground import section_area

from fencegrade.fence.low_ground.soil_body import CUBIC_FOOT, Moments, Section, depth_moments
from fencegrade.ground.profile import GroundLine, ground_line

LEVEL = ground_line([0, 50, 100, 150, 200], [0, 0, 0, 0, 0])


def vee() -> GroundLine:
    """Ground that falls 10 in over 100 in and rises again."""
    return ground_line([0, 100, 200], [0, -10, 0])


class TestDepth:
    def test_a_block_of_soil(self) -> None:
        found = depth_moments(LEVEL, 10.0, 60.0, 4.0, 4.0)
        assert found.first[0] == pytest.approx(4 * 50)
        assert found.second[0] == pytest.approx(16 * 50)

    def test_a_vee_filled_level(self) -> None:
        # d = x/10 over 100 in, twice: the integrals are 2 * 500 and 2 * 100^3 / 300
        found = depth_moments(vee(), 0.0, 200.0, 0.0, 0.0)
        assert found.first[0] == pytest.approx(1000)
        assert found.second[0] == pytest.approx(2e6 / 300)

    def test_only_what_lies_above_the_ground_counts(self) -> None:
        # a surface 5 in down meets the vee at 50 and 150: d = (x - 50)/10 over 50 in, twice
        found = depth_moments(vee(), 0.0, 200.0, -5.0, -5.0)
        assert found.first[0] == pytest.approx(2 * 125)
        signed = depth_moments(vee(), 0.0, 200.0, -5.0, -5.0, clip=False)
        assert signed.first[0] == pytest.approx(0, abs=1e-9)

    def test_a_face_is_taken_on_both_its_sides(self) -> None:
        line = ground_line([0, 50, 50, 100], [0, 0, -8, -8])
        assert depth_moments(line, 0.0, 100.0, 2.0, 2.0).first[0] == pytest.approx(2 * 50 + 10 * 50)

    def test_raising_the_surface(self) -> None:
        low = depth_moments(vee(), 0.0, 200.0, 0.0, 0.0)
        high = depth_moments(vee(), 0.0, 200.0, 3.0, 3.0)
        raised = low.raised(np.array([3.0]), np.array([200.0]))
        assert (raised.first[0], raised.second[0]) == pytest.approx((high.first[0], high.second[0]))

    def test_beyond_the_readings_there_is_nothing_to_measure(self) -> None:
        with pytest.raises(ValueError, match="within the readings"):
            depth_moments(LEVEL, 150.0, 201.0, 1.0, 1.0)


class TestWave:
    """Ground that eases from 0 to 10 in over 100 in under a straight surface: a wave of one cubic.

    With t = x / 100 the ground is 10 (3 t^2 - 2 t^3), level at both ends, and the surface 10 t + rise.
    """

    def depth(self, rise: float) -> Polynomial:
        return Polynomial([rise, 10, -30, 20])

    def test_half_a_wave(self) -> None:
        # 10 (t - 3 t^2 + 2 t^3) is over zero in the first half: 1000 (1/8 - 1/8 + 1/32)
        line = ground_line([-100, 0, 100, 200], [0, 0, 10, 10])
        assert depth_moments(line, 0.0, 100.0, 0.0, 10.0).first[0] == pytest.approx(31.25)
        assert depth_moments(line, 0.0, 100.0, 0.0, 10.0, clip=False).first[0] == pytest.approx(0, abs=1e-9)
        assert depth_moments(line, 0.0, 50.0, 0.0, 5.0).first[0] == pytest.approx(31.25)
        assert depth_moments(line, 50.0, 100.0, 5.0, 10.0).first[0] == pytest.approx(0, abs=1e-9)

    @pytest.mark.parametrize("rise", [-1.0, -0.9, -0.5, -0.1, 0.1, 0.5, 0.9, 1.0])
    @pytest.mark.parametrize(("a", "b"), [(0.0, 1.0), (0.1, 0.9), (0.3, 0.6), (0.6, 1.0)])
    def test_between_the_roots_of_the_wave(self, rise: float, a: float, b: float) -> None:
        line = ground_line([-100, 0, 100, 200], [0, 0, 10, 10])
        depth = self.depth(rise)
        roots = sorted(
            float(r.real)
            for r in np.asarray(depth.roots(), dtype=complex)
            if abs(r.imag) < 1e-12 and a < r.real < b
        )
        want = [0.0, 0.0]
        for low, high in pairwise([a, *roots, b]):
            if depth((low + high) / 2) > 0:
                for i, power in enumerate((depth, depth**2)):
                    whole = power.integ()
                    want[i] += 100 * float(whole(high) - whole(low))
        found = depth_moments(line, 100 * a, 100 * b, 10 * a + rise, 10 * b + rise)
        assert (found.first[0], found.second[0]) == pytest.approx(tuple(want), abs=1e-9)


class TestSection:
    def test_area(self) -> None:
        # 12 wide on top, 3 to 1: 6 deep is 12 * 6 + 3 * 36
        assert float(section_area(Section(crest=12.0, side_slope=3.0), 6.0)) == 180

    def test_volume_in_cubic_feet(self) -> None:
        moments = Moments(first=np.array([CUBIC_FOOT]), second=np.array([CUBIC_FOOT]))
        assert Section(crest=2.0, side_slope=3.0).volume(moments)[0] == 5
