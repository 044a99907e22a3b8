"""Every figure says where it comes from."""

import pytest

from fencegrade.figures import bearing, concrete, holes, lumber, soil, timber, wind
from fencegrade.figures.sources import Mark, Source

SOURCES = [
    *[b.source for b in bearing.BEARING.values()],
    bearing.FORMULA_SOURCE,
    bearing.PAVED_SOURCE,
    bearing.ISOLATED_POLE_SOURCE,
    *[b.source for b in concrete.BAGS],
    concrete.LIFT_SOURCE,
    holes.SHARE_SOURCE,
    lumber.DRY_SOURCE,
    soil.SWELL_SOURCE,
    *[value.source for _, value in timber.SMALL_POSTS],
    *[w.source for w in lumber.WOOD_WEIGHTS.values()],
    lumber.USE_SOURCE,
    concrete.WATER_SOURCE,
    concrete.GRAVEL_SOURCE,
    timber.LARGE_POST.source,
    timber.CEDAR_POST.source,
    wind.ON_THE_GROUND.source,
    timber.DURATION_SOURCE,
    *[k.source for k in wind.KZ.values()],
    *[c.source for c in (wind.VELOCITY_FACTOR, wind.KD, wind.GUST, wind.ALLOWABLE_STRESS, wind.ARM)],
    wind.FORCE_SOURCE,
]


@pytest.mark.parametrize("source", SOURCES, ids=str)
def test_a_source_names_its_document_and_mark(source: Source) -> None:
    assert bool(source.document) is (source.mark is not Mark.PRACTICE)
    assert str(source.mark) in str(source)


def test_common_practice_says_so() -> None:
    assert str(holes.GRAVEL_SOURCE) == "common practice, no source"
    assert holes.GRAVEL_SOURCE.mark is Mark.PRACTICE
