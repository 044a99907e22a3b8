"""Rails line by line, and boards that posts a little too far apart leave short of them."""

from collections.abc import Callable

import pytest

from fencegrade.job.read import Job
from fencegrade.planning.plan import plan_fence
from fencegrade.sheets.rail_lines import SPARE_OF_RAIL, bays_without_spare, spare_words
from fencegrade.units import parse_length

WriteJob = Callable[..., Job]

BAY = "station [ft],elevation [in]\n0,0\n3,0\n6,0\n"


@pytest.mark.parametrize(
    ("sold", "alone", "shared"),
    [
        ("75-1/2 in", [1], []),
        ("75-3/4 in", [1], []),
        ("75-7/8 in", [], []),
        ("151-1/8 in", [], [1]),
        ("151-3/8 in", [], [1]),
        ("151-1/2 in", [], []),
    ],
)
def test_boards_for_rails_with_nothing_to_spare(
    write_job: WriteJob, sold: str, alone: list[int], shared: list[int]
) -> None:
    """Two runs of one bay of 6 ft and a post: rails of 75-1/2 in, one a board or two and a cut of 1/8 in."""
    tables = f'[rails]\ncount = 2\n[[rails.stock]]\nlength = "{sold}"\n'
    plan = plan_fence(write_job(tables, west=BAY, east=BAY))
    assert bays_without_spare(plan, 0) == bays_without_spare(plan, 1) == (alone, shared)
    left = parse_length(sold) - (151.125 if sold.startswith("151") else 75.5)
    told = spare_words(plan, plan.words)
    assert bool(told) == (left < SPARE_OF_RAIL)
    assert not told or told.endswith(f"buy a spare of {plan.words.sold_length(parse_length(sold))}.")
