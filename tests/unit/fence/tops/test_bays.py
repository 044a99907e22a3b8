"""The bays of a run as a top line sees them."""

import numpy as np
import pytest
from straight_ground import straight_ground
from top_wishes import build, stepped_slots

from fencegrade.fence.tops.bays import bay_edges
from fencegrade.fence.tops.stepped import choose as choose_stepped


def test_a_gate_post_starts_no_bay_of_its_own() -> None:
    """Its centre stands half a post beyond the opening: no sliver of a board fits between."""
    posts = np.array([0.0, 96.0, 190.25, 241.75, 336.0])
    slots = stepped_slots(posts, 5.5, 0.25, ((0.0, 192.0), (240.0, 336.0)))
    assert slots.width == pytest.approx(5.5)


def test_the_post_nearest_a_face_is_the_one_at_it() -> None:
    line = straight_ground([0, 100, 100, 192], [0, 0, -10, -10])
    for posts, edges in (
        ((95, 101), (0, 95, 100, 192)),
        ((99, 105), (0, 100, 105, 192)),
        ((94, 150), (0, 100, 150, 192)),
        ((93, 150), (0, 93, 150, 192)),
        ((4, 100, 187), (0, 100, 192)),
    ):
        assert bay_edges(build(line, posts=posts)).tolist() == list(edges)


def test_face_inside_a_bay_is_said() -> None:
    line = straight_ground([0, 192, 192, 384], [-12, -12, -48, -48])
    said = choose_stepped(build(line, posts=(0, 128, 256, 384))).problems
    assert any("no post stands at it" in p.found for p in said)
