"""The bays of a run as a top line sees them: from post to post, the outer ones to the run's ends."""

import numpy as np

from fencegrade.fence.tops.asked import TopWish
from fencegrade.ground.profile import GroundLine
from fencegrade.problems import Problem, warning
from fencegrade.units.arrays import Floats

NEAR = 6.0
"""Inches within which a post counts as standing at the run's end, at a gate, or at a face."""


def posts_within(start: float, end: float, posts: Floats) -> Floats:
    """The posts (in) that divide a stretch (in): those within NEAR of its ends stand for them."""
    return posts[(posts > start + NEAR) & (posts < end - NEAR)]


def bay_edges(wish: TopWish) -> Floats:
    """Stations (b + 1,) in inches of the bays' edges: the run's ends and the posts between.

    A post within NEAR of an end stands for that end; one within NEAR of a face is moved onto the face, so
    that ground before and after it falls into different bays.
    """
    posts = np.array(wish.posts, dtype=float)
    for face in wish.line.faces:
        near = np.flatnonzero(np.abs(posts - face) <= NEAR)
        if len(near):
            posts[near[np.argmin(np.abs(posts[near] - face))]] = face
    inner = posts_within(wish.start, wish.end, posts)
    return np.unique(np.concatenate([[wish.start], inner, [wish.end]]))


def at_faces(edges: Floats, line: GroundLine) -> np.ndarray:
    """Which inner edges stand at a face, (b - 1,) truths."""
    return np.isin(edges[1:-1], line.faces)


def face_remarks(wish: TopWish, edges: Floats) -> list[Problem]:
    """What to say of faces that fall inside a bay, where no top can step."""
    inside = wish.line.faces[(wish.line.faces > wish.start) & (wish.line.faces < wish.end)]
    return [
        warning(
            wish.place(float(face)),
            "the ground has a face here and no post stands at it, so one bay spans both heights",
            "set a post at the face if one can stand there, or choose a top that follows the ground",
        )
        for face in inside
        if face not in edges
    ]


def bay_of(edges: Floats, stations: Floats) -> np.ndarray:
    """The bay (n,) each station falls in."""
    return np.clip(np.searchsorted(edges, stations, side="right") - 1, 0, len(edges) - 2)
