"""What a job closes to new posts and to the spade."""

from fencegrade.fence.bays.given_posts import Reason, keep_outs
from fencegrade.fence.closed import Closed
from fencegrade.job.records import Posts, Run


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
            *((gate.station - half, gate.end + half) for gate in run.gate),
        ),
        no_spade=tuple((out.start, out.end) for out in outs if out.reason is not Reason.OLD_HOLE),
    )
