"""A racked top: straight within a bay, bending at posts, rails parallel to it, boards plumb.

o-----.                o post
       `-.    ..----o
          `-o'
             ground humps between posts lift the line; its dips are where it stands tallest
"""

import numpy as np

from fencegrade.fence.tops.asked import Proof, TopChoice, TopWish, chosen
from fencegrade.fence.tops.bays import at_faces, bay_edges, face_remarks
from fencegrade.fence.tops.line import TopLine
from fencegrade.fence.tops.line_on_ground import corner_ground, deepest_under_chords, highest_over_chords
from fencegrade.fence.tops.linear_programme import Aim, Chain, solve_chains
from fencegrade.fence.tops.racked_to_the_mark import cheapest_near
from fencegrade.ground.profile import Floats
from fencegrade.job.records import TopStyle
from fencegrade.problems import Problem, note, warning

_NAMED = 8
"""Bays named one by one before the rest are counted."""

_LIGHT = 1e-6


def choose_racked(wish: TopWish, aim: Aim = Aim.TIMBER) -> TopChoice:
    """Heights at posts that keep the least height along every bay.

    `wish.posts`: stations (m,); `wish.limits`: `most_slope`, `most_bend`, which some line always keeps,
    since a level one does. `aim`: TIMBER gives the line of least timber, whose cost is then brought down over
    heights on the tape near it, where no bend is limited; BEND the least largest bend, then the least sum of
    bends. Errors: ValueError where the run lies outside the readings. Source: own derivation; linear
    programme. Should the solver ever fail, the corners are level and the proof says so.
    """
    chain = racked_chain(wish)
    found = solve_chains([chain], aim, wish.limits.most_slope, wish.limits.most_bend)
    if found is None:
        heights, proof = np.full(len(chain), chain.lower.max()), Proof.NONE
    else:
        heights, proof = found[0], Proof.TIMBER if aim is Aim.TIMBER else Proof.BEND
    if proof is Proof.TIMBER and wish.limits.most_bend is None:
        cheaper = cheapest_near(wish, chain.x, heights)
        if cheaper is not None:
            heights, proof = cheaper, Proof.COST_NEAR
    top = TopLine(style=TopStyle.RACKED, stations=chain.x, elevations=heights)
    return chosen(wish, top, proof, racked_remarks(wish, top))


def racked_remarks(wish: TopWish, top: TopLine) -> tuple[Problem, ...]:
    """What to say of a racked top: faces inside a bay, humps that lift it, dips it stands high over."""
    x = top.stations
    return (*face_remarks(wish, x), *_humps(wish, x), *_dips(wish, top))


def racked_chain(wish: TopWish) -> Chain:
    """The corners of a racked top: one a post, two where a post stands at a face."""
    edges = bay_edges(wish)
    twice = np.concatenate([[1], 1 + at_faces(edges, wish.line), [1]])
    x = np.repeat(edges, twice)
    return Chain(
        line=wish.line,
        x=x,
        lower=corner_ground(wish.line, x) + wish.least_height,
        upper=np.full(len(x), np.inf),
        weight=shares(x, wish.slots.centre) + _LIGHT,
        height=wish.least_height,
    )


def shares(x: Floats, stations: Floats) -> Floats:
    """How much each corner's height counts in the sum of heights at `stations`."""
    piece = np.clip(np.searchsorted(x, stations, side="right") - 1, 0, len(x) - 2)
    run = x[piece + 1] - x[piece]
    share = np.divide(stations - x[piece], run, out=np.zeros_like(stations), where=run > 0)
    return np.asarray(
        np.bincount(piece, 1 - share, minlength=len(x)) + np.bincount(piece + 1, share, minlength=len(x))
    )


def _humps(wish: TopWish, x: Floats) -> list[Problem]:
    """Bays where a line straight between post tops at the least height would come too near the ground."""
    plain = corner_ground(wish.line, x) + wish.least_height
    over, at = highest_over_chords(wish.line, x, plain)
    hump = over + wish.least_height
    bays = np.flatnonzero(hump > wish.mark / 2)
    found = [
        note(
            wish.place(float(at[b])),
            f"the ground humps {wish.say(float(hump[b]))} over a line from post to post: post tops at "
            f"{wish.say(wish.least_height)} would leave {wish.say(wish.least_height - float(hump[b]))} "
            "there, so the top is lifted",
            f"a post at {wish.words.station(float(at[b]))}, or the hump "
            "trimmed by so much, would keep it lower",
        )
        for b in _worst(bays, hump)
    ]
    return found + _rest(wish, len(bays), "humps")


def _dips(wish: TopWish, top: TopLine) -> list[Problem]:
    """Bays where the ground dips so far under the line that the height limit is passed."""
    if wish.most_height is None:
        return []
    deep, at = deepest_under_chords(wish.line, top.stations, top.elevations)
    bays = np.flatnonzero(deep > wish.most_height + wish.mark / 2)
    found = [
        warning(
            wish.place(float(at[b])),
            f"the ground dips between posts: the top stands {wish.say(float(deep[b]))} over it, "
            f"the limit is {wish.say(wish.most_height)}",
            "set a post in the dip, or choose a contour top",
        )
        for b in _worst(bays, deep)
    ]
    return found + _rest(wish, len(bays), "dips")


def _worst(bays: np.ndarray, size: Floats) -> list[int]:
    return sorted(int(b) for b in bays[np.argsort(-size[bays], kind="stable")][:_NAMED])


def _rest(wish: TopWish, count: int, what: str) -> list[Problem]:
    if count <= _NAMED:
        return []
    return [note(wish.name, f"{count - _NAMED} more bays have smaller {what} between their posts")]


def rail_end_angles(top: TopLine) -> Floats:
    """Angle (radians) at which the rails of each bay are cut, positive where the line rises."""
    return np.arctan(top.slopes)
