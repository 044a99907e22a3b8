"""Where advice sends no post and no spade: what the job closes, and gate openings."""

from types import SimpleNamespace

import pytest

from fencegrade.fence.bays.closed import closed_ground


@pytest.mark.parametrize(
    ("station", "to_post", "to_spade"),
    [
        (100.5, True, False),  # in the opening, 102 in to 150 in
        (98.0, False, False),  # a gate post is 5-1/2 in wide: half of it is kept free
        (152.5, True, False),
        (153.0, False, False),
        (204.0, True, True),  # in the root, 200 in to 210 in
        (196.0, True, False),  # half a hole of 10 in beside it
        (300.0, True, False),  # in the hole of an old post, which may be dug
    ],
)
def test_posts_and_spades_are_kept_out_where_the_job_says(
    make: SimpleNamespace, station: float, to_post: bool, to_spade: bool
) -> None:
    run = make.run(
        gate=[{"station": "102 in", "width": "4 ft"}],
        root=[{"start": "200 in", "end": "210 in"}],
        existing_post=[{"station": "300 in", "keep": False}],
    )
    closed = closed_ground(run, make.posts(gate_width="5-1/2 in"))
    assert (closed.to_post(station), closed.to_spade(station)) == (to_post, to_spade)
