from types import SimpleNamespace

import numpy as np
import pytest
from msgspec.structs import replace

from fencegrade.fence.bays.bays import lay_bays
from fencegrade.fence.rails.rails import RailRows, rail_rows
from fencegrade.fence.rails.screws import crossings, picket_screws, rail_screws, screw_length, sharp_ends
from fencegrade.fence.tops.level import level_top
from fencegrade.job.choices import Pattern
from fencegrade.job.site import Fasteners
from fencegrade.units import UnitSystem
from fencegrade.units.words import Words

IN, MM = UnitSystem.IMPERIAL, UnitSystem.METRIC


def test_screws_by_crossing() -> None:
    """1,669 pickets on three rails: 10,014 screws, 10,515 with five in a hundred more."""
    (screws,) = picket_screws(1669 * 3, 0.625, 1.5, Pattern.SIDE_BY_SIDE, Fasteners(), IN)
    assert (screws.counted, screws.needed) == (10_014, 10_515)
    assert screws.boxes == 31
    assert screws.length == 1.625


def test_screws_through_two_boards() -> None:
    first, second = picket_screws(np.array([60, 57]), 0.625, 1.5, Pattern.BOARD_ON_BOARD, Fasteners(), IN)
    assert (first.length, second.length) == (1.625, 2.5)
    assert (first.counted, second.counted) == (120, 114)


def test_a_screw_that_would_come_out_behind_is_said() -> None:
    assert screw_length(0.625, 0.75, IN) == (1.625, True)
    assert screw_length(0.625, 1.5, IN) == (1.625, False)
    thin, thick = (picket_screws(9, 0.625, t, Pattern.SIDE_BY_SIDE, Fasteners(), IN) for t in (0.75, 1.5))
    assert [str(p) for p in sharp_ends(thin, Words(system=IN, mark=0.125))] == [
        "screws, pickets: the shortest screw that holds, 1-5/8 in, comes out behind; its point is sharp; "
        "use thicker rails, or clip the points and file them"
    ]
    assert not sharp_ends(thick, Words(system=IN, mark=0.125))


def test_rail_ends_take_two_screws_each() -> None:
    """A 2x rail goes to its posts by 3 in screws; 38 mm by 80 mm ones."""
    screws = rail_screws(606, 1.5, 3.5, Fasteners(), IN)
    assert (screws.counted, screws.length, screws.framing) == (1212, 3.0, True)
    assert rail_screws(2, 38 / 25.4, 90 / 25.4, Fasteners(), MM).length * 25.4 == pytest.approx(80)


def test_kickboards_are_fixed_to_their_two_posts() -> None:
    screws = rail_screws(10, 1.5, 3.5, Fasteners(), IN, 8, kickboards=3)
    assert (screws.use, screws.counted) == ("rails and kickboards to posts, gate frames", 2 * (10 + 6) + 8)


def test_metric_screws_have_metric_lengths() -> None:
    (screws,) = picket_screws(9, 16 / 25.4, 38 / 25.4, Pattern.SIDE_BY_SIDE, Fasteners(), MM)
    assert screws.length * 25.4 == pytest.approx(50)


def test_crossings_follow_the_rows_of_each_bay(make: SimpleNamespace) -> None:
    line = make.ground(192)
    bays, _ = lay_bays(make.run(), make.posts(), make.rails("10 ft"), line, 0.0, 192.0)
    assert bays is not None
    rows, _ = rail_rows(
        make.run(), bays, level_top(line, 0, 192, 72), line, make.rails("10 ft"), 2.0, make.say
    )
    assert crossings(np.array([1.0, 50, 97, 191]), bays, rows) == 12
    low, _ = rail_rows(
        make.run(), bays, level_top(line, 0, 192, 40), line, make.rails("10 ft"), 2.0, make.say
    )
    assert crossings(np.array([1.0, 50, 97, 191]), bays, low) == 8


def test_pickets_outside_every_bay_cross_the_rails_of_the_nearest(make: SimpleNamespace) -> None:
    """Two bays on either side of a gate, three rows in the first and none but one in the other."""
    run = make.run(gate=[{"station": "97.75 in", "width": "48 in"}])
    line = make.ground(243.5)
    bays, _ = lay_bays(run, make.posts(), make.rails("10 ft"), line, 0.0, 243.5)
    assert bays is not None
    assert len(bays) == 2
    rows, _ = rail_rows(run, bays, level_top(line, 0, 243.5, 72), line, make.rails("10 ft"), 2.0, make.say)
    fewer = RailRows(**{f: getattr(rows, f)[[0, 1, 2, 3]] for f in RailRows.__struct_fields__})
    assert fewer.bay.tolist() == [0, 0, 0, 1]
    assert crossings(np.array([-1.0, 0.0, 95.0, 120.0, 147.0, 147.5, 243.0, 250.0]), bays, fewer) == 5 * 3 + 3
    assert crossings(np.array([5.0]), replace(bays, first=bays.first[:0]), fewer) == 0


@pytest.mark.parametrize(
    ("rail", "post", "joints", "length", "counted", "pokes"),
    [
        (1.5, 1.5, 0, 3.0, 40, False),
        (1.5, 1.4, 0, 3.0, 40, True),
        (1.5, 3.5, 16, 3.0, 56, False),
        (0.5, 0.5, 0, 1.25, 40, True),
    ],
)
def test_rail_screws_by_hand(
    rail: float, post: float, joints: int, length: float, counted: int, pokes: bool
) -> None:
    screws = rail_screws(20, rail, post, Fasteners(extra=1.0, box=50), IN, joints)
    assert screws.use == ("rails to posts, gate frames" if joints else "rails to posts")
    assert (screws.length, screws.counted, screws.needed, screws.pokes_out) == (
        length,
        counted,
        counted,
        pokes,
    )
    assert screws.boxes == (2 if joints else 1)


def test_a_screw_just_as_long_as_what_it_holds_in_is_enough() -> None:
    assert screw_length(1.0, 1.0, IN) == (2.0, False)
    assert screw_length(0.625, 1.0, IN) == (1.625, False)
    assert screw_length(4.0, 1.0, IN) == (4.0, False), "the longest there is"
