"""The ends of a fill, where they run out and what they hold."""

import numpy as np
import pytest
from straight_ground import straight_ground

from fencegrade.fence.low_ground.taper import Stop, backward_tapers, stops, tapers
from fencegrade.ground.profile import ground_line

NONE = np.zeros(0)
LEVEL = ground_line([0, 50, 100, 150, 200], [0, 0, 0, 0, 0])


class TestTapers:
    def test_on_level_ground_it_is_a_wedge(self) -> None:
        # 4 deep at 1 in 5: 20 long; integrals 4^2 * 5 / 2 and 4^3 * 5 / 3
        found = tapers(LEVEL, np.array([30.0]), np.array([4.0]), stops(NONE, NONE, 200.0), 5.0, 6.0)
        assert found.possible[0]
        assert found.reach[0] == pytest.approx(50)
        assert found.moments.first[0] == pytest.approx(40)
        assert found.moments.second[0] == pytest.approx(320 / 3)

    def test_backward_it_is_the_same_wedge(self) -> None:
        found = backward_tapers(LEVEL, np.array([80.0]), np.array([4.0]), NONE, 5.0, 6.0)
        assert found.reach[0] == pytest.approx(60)
        assert found.moments.first[0] == pytest.approx(40)

    def test_no_depth_no_taper(self) -> None:
        found = tapers(LEVEL, np.array([30.0]), np.array([0.0]), stops(NONE, NONE, 200.0), 5.0, 6.0)
        assert (found.possible[0], found.reach[0], found.moments.first[0]) == (True, 30.0, 0.0)

    def test_an_upright_end(self) -> None:
        found = tapers(LEVEL, np.array([30.0]), np.array([4.0]), stops(NONE, NONE, 200.0), 0.0, 6.0)
        assert found.possible[0]
        assert found.reach[0] == pytest.approx(30, abs=1e-4)

    def test_it_may_not_reach_a_stretch_without_soil(self) -> None:
        for start, may in ((49.0, False), (50.5, True)):
            halts = stops(np.array([start]), NONE, 200.0)
            found = tapers(LEVEL, np.array([30.0]), np.array([4.0]), halts, 5.0, 6.0)
            assert found.possible[0] == may

    def test_past_the_runs_end_it_goes_on_over_level_ground(self) -> None:
        found = tapers(LEVEL, np.array([190.0]), np.array([4.0]), stops(NONE, NONE, 200.0), 5.0, 6.0)
        assert found.possible[0]
        assert found.reach[0] == 200
        assert found.moments.first[0] == pytest.approx(40)

    def test_a_wall_holds_it_and_a_drop_does_not(self) -> None:
        for beyond, may in ((10.0, True), (-10.0, False)):
            line = ground_line([0, 40, 40, 100], [0, 0, beyond, beyond])
            halts = stops(NONE, line.faces, 100.0)
            found = tapers(line, np.array([30.0]), np.array([4.0]), halts, 5.0, 6.0)
            assert found.possible[0] == may
        assert Stop.NO_SOIL < Stop.FACE < Stop.END

    def test_it_does_not_chase_ground_that_falls_away(self) -> None:
        line = ground_line([0, 100, 200], [0, -20, -40])
        ahead = tapers(line, np.array([10.0]), np.array([0.0]), stops(NONE, NONE, 200.0), 7.0, 6.0)
        assert not ahead.possible[0]

    def test_it_is_nowhere_deeper_than_allowed(self) -> None:
        # a ditch just past the edge is 9 deep
        line = straight_ground([0, 30, 34, 38, 42, 100], [0, 0, -9, -9, 0, 0])
        for most, may in ((8.0, False), (13.0, True)):
            found = tapers(line, np.array([29.0]), np.array([2.0]), stops(NONE, NONE, 100.0), 7.0, most)
            assert found.possible[0] == may
