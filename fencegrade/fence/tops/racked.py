"""A racked top: straight within a bay, bending at posts, rails parallel to it, boards plumb.

o-----.                o post
       `-.    ..----o
          `-o'
             ground humps between posts lift the line; its dips are where it stands tallest
"""

from collections.abc import Sequence

import numpy as np

from fencegrade.fence.tops.asked import Corner, Proof, TopChoice, TopWish, chosen
from fencegrade.fence.tops.bays import at_faces, bay_edges, face_remarks
from fencegrade.fence.tops.chains import Chain, chain_over, highest_needed, meetings_at
from fencegrade.fence.tops.cheapest_near import cheapest_meeting
from fencegrade.fence.tops.contour import NEIGHBOUR_STEP
from fencegrade.fence.tops.line import TopLine
from fencegrade.fence.tops.line_on_ground import (
    corner_ground,
    deepest_under_chords,
    ground_alone,
    highest_over_chords,
)
from fencegrade.fence.tops.table import TopStyle
from fencegrade.problems import Problem, note, warning
from fencegrade.units.arrays import Floats
from fencegrade.units.words import plural

_NAMED = 8
"""Bays named one by one before the rest are counted."""
_STRIDES = (4, 1)
"""Marks between the heights tried: far about first, then mark by mark. Of 2,000 grounds drawn by chance all
together 3 in 10,000 cheaper than by marks alone, one by 2 %."""
_LEAST_HUMP = 0.3
"""Inches a hump must lift the line by to be told: less is about what one reading is right to."""


def choose(wish: TopWish) -> TopChoice:
    """Heights at posts that keep the least height along every bay, of least cost near those of least timber.

    `wish.posts`: stations (m,); `wish.limits.most_slope`, which some line always keeps, since a level one
    does. Errors: ValueError where the run lies outside the readings. Source: own derivation; linear
    programme, then a search on the tape. Should the solver ever fail, the corners are level and the proof
    says so.
    """
    met = choose_meeting([wish], ())
    if met is not None:
        return met[0]
    chain = _chain(wish)
    return _choice(wish, chain, np.full(len(chain), highest_needed(chain)), Proof.NONE)


def choose_meeting(wishes: Sequence[TopWish], corners: Sequence[Corner]) -> tuple[TopChoice, ...] | None:
    """The same for runs that join, which meet at their corners; never dearer than one level.

    As `styles.choose_tops`.
    """
    chains = [_chain(w) for w in wishes]
    heights = cheapest_meeting(wishes, chains, meetings_at(corners), _STRIDES)
    if heights is None:
        return None
    return tuple(_choice(w, c, z, Proof.COST_NEAR) for w, c, z in zip(wishes, chains, heights, strict=True))


def _chain(wish: TopWish) -> Chain:
    """The corners of a racked top: one a post, two where a post stands at a face."""
    edges = bay_edges(wish)
    twice = np.concatenate([[1], 1 + at_faces(edges, wish.line), [1]])
    return chain_over(wish, np.repeat(edges, twice))


def _choice(wish: TopWish, chain: Chain, heights: Floats, proof: Proof) -> TopChoice:
    """The line, and what to say of it: faces inside a bay, humps that lift it, dips it stands high over."""
    top = TopLine(style=TopStyle.RACKED, stations=chain.x, elevations=heights)
    x = top.stations
    remarks = (*face_remarks(wish, x), *_humps(wish, x), *_dips(wish, top))
    return chosen(wish, top, proof, remarks)


def _humps(wish: TopWish, x: Floats) -> list[Problem]:
    """Bays where a line straight between post tops at the least height would come too near the ground."""
    plain = corner_ground(wish.line, x) + wish.least_height
    over, at = highest_over_chords(ground_alone(wish.line), x, plain)
    hump = over + wish.least_height
    bays = np.flatnonzero(hump > max(_LEAST_HUMP, wish.mark / 2))
    found = [
        note(
            wish.place(float(at[b])),
            f"the ground humps {wish.words.length(float(hump[b]))} over a line from post to post: picket "
            f"tops at {wish.words.given(wish.least_height)} at both posts would leave "
            f"{wish.words.length(wish.least_height - float(hump[b]))} there, so the top is lifted",
            _lower(wish, float(at[b])),
        )
        for b in _worst(bays, hump)
    ]
    return found + _rest(wish, len(bays), "humps")


def _lower(wish: TopWish, hump: float) -> str:
    """What would keep the top lower over a hump (station, in), where neither post nor spade is kept out."""
    ways = [] if wish.closed.to_post(hump) else [f"a post at {wish.words.station(hump)}"]
    ways += [] if wish.closed.to_spade(hump) else ["the hump trimmed by so much"]
    if not ways:
        return "neither a post nor a spade may go there; a contour top lies closer to the ground"
    return f"{', or '.join(ways)}{',' * (len(ways) - 1)} would keep it lower"


def _post_in(wish: TopWish, dip: float) -> str:
    """The advice to set a post in a dip (station, in), where one may stand there."""
    return "" if wish.closed.to_post(dip) else "set a post in the dip, or "


def _rougher(wish: TopWish, a: float, b: float) -> str:
    """How much neighbouring tops that follow the ground differ between two stations (in), if much."""
    centre = wish.slots.centre[(wish.slots.centre > a) & (wish.slots.centre < b)]
    rise = float(np.abs(np.diff(wish.line.elevation(centre))).max(initial=0.0))
    if rise <= NEIGHBOUR_STEP + wish.mark / 2:
        return ""
    return f", whose neighbouring tops differ by up to {wish.words.length(rise)} there"


def _dips(wish: TopWish, top: TopLine) -> list[Problem]:
    """Bays where the ground dips so far under the line that the height limit is passed."""
    if wish.most_height is None:
        return []
    deep, at = deepest_under_chords(wish.line, top.stations, top.elevations)
    bays = np.flatnonzero(deep > wish.most_height + wish.mark / 2)
    found = [
        warning(
            wish.place(float(at[b])),
            f"the ground dips between posts: the top stands {wish.words.length(float(deep[b]))} over it, "
            f"the limit is {wish.words.given(wish.most_height)}",
            f"{_post_in(wish, float(at[b]))}choose a contour top{_rougher(wish, *top.stations[b : b + 2])}",
        )
        for b in _worst(bays, deep)
    ]
    return found + _rest(wish, len(bays), "dips")


def _worst(bays: np.ndarray, size: Floats) -> list[int]:
    return sorted(int(b) for b in bays[np.argsort(-size[bays], kind="stable")][:_NAMED])


def _rest(wish: TopWish, count: int, what: str) -> list[Problem]:
    if count <= _NAMED:
        return []
    return [note(wish.name, f"smaller {what} between the posts of {plural(count - _NAMED, 'more bay')}")]
