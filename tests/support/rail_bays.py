"""Bays that rails are laid over."""

from types import SimpleNamespace

from fencegrade.fence.bays.bays import Bays, lay_bays
from fencegrade.ground.profile import GroundLine


def bays_of(make: SimpleNamespace, line: GroundLine, length: float, rail: str = "10 ft", **keys: str) -> Bays:
    """The bays of a run of `length` inches with rails of one stock."""
    bays, problems = lay_bays(make.run(), make.posts(), make.rails(rail, **keys), line, 0.0, length)
    assert bays is not None, problems
    return bays
