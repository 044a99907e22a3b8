"""Stretches of a run where advice may send no new post and no spade."""

from collections.abc import Sequence

from msgspec import Struct

from fencegrade.units.tolerances import SAME_LENGTH

_Stretches = tuple[tuple[float, float], ...]


class Closed(Struct, frozen=True, kw_only=True):
    """Stretches (start, end; in) of a run where no middle of a new post may stand, and where nothing may be
    dug."""

    no_post: _Stretches = ()
    no_spade: _Stretches = ()

    def to_post(self, station: float) -> bool:
        """Whether no new post may stand at a station (in)."""
        return _within(self.no_post, station)

    def to_spade(self, station: float) -> bool:
        """Whether nothing may be dug at a station (in)."""
        return _within(self.no_spade, station)


NOTHING_CLOSED = Closed()


def _within(stretches: Sequence[tuple[float, float]], station: float) -> bool:
    return any(a + SAME_LENGTH < station < b - SAME_LENGTH for a, b in stretches)
