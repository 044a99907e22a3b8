"""Where advice may send no new post and no spade."""

from collections.abc import Sequence

from msgspec import Struct

from fencegrade.fence.bays.given_posts import Reason, keep_outs
from fencegrade.job.records import Posts, Run
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


def closed_ground(run: Run, posts: Posts) -> Closed:
    """What a run closes to new posts and to the spade.

    Its keep-outs, half a hole wider for posts, and for posts the openings of gates with half a gate post on
    either side. An old hole may be dug. Source: own derivation.
    """
    outs = keep_outs(run, posts.hole_diameter)
    reach, half = posts.hole_diameter / 2, posts.section(gate=True)[0] / 2
    return Closed(
        no_post=(
            *((out.start - reach, out.end + reach) for out in outs),
            *((gate.station - half, gate.station + gate.width + half) for gate in run.gate),
        ),
        no_spade=tuple((out.start, out.end) for out in outs if out.reason is not Reason.OLD_HOLE),
    )


def _within(stretches: Sequence[tuple[float, float]], station: float) -> bool:
    return any(a + SAME_LENGTH < station < b - SAME_LENGTH for a, b in stretches)
