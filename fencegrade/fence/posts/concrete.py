"""Concrete and gravel for the holes.

   |  post  |
~~~|........|~~~ ground       concrete = (pi/4 hole^2 - post section) x depth
   |: post :|
   |:......:|
    ::::::::     gravel = pi/4 hole^2 x gravel
"""

import math

import numpy as np
from msgspec import Struct

from fencegrade.figures.concrete import (
    CUBIC_YARD,
    GRAVEL_WEIGHT,
    ONE_PERSON_LIFT,
    WATER_PER_POUND,
    bag_yield,
)
from fencegrade.job.records import Posts
from fencegrade.units.arrays import Floats, Indices, Truths
from fencegrade.units.tolerances import WHOLE

CUBIC_FOOT = 1728.0
"""Cubic inches."""


class Concrete(Struct, frozen=True, kw_only=True, eq=False):
    """Concrete and gravel of a job; volumes in cubic feet, weights in pounds.

    `bags` (n,): whole bags for each hole; `net`: all holes, `ordered` with
    the extra; `bags_in_all` whole bags for `ordered`; `bag_weight` of one and `weight` of all of them;
    `gravel` loose volume and `gravel_bags` whole bags of it. `delivered`: over a cubic yard, where
    ready-mix is worth asking for. `bags_used`, `gravel_used`: bags that the holes of posts that stand took.
    """

    bags: Indices
    net: float
    ordered: float
    bags_in_all: int
    bag_weight: float
    weight: float
    gravel: float
    gravel_bags: int
    delivered: bool
    bags_used: int = 0
    gravel_used: int = 0

    @property
    def yards(self) -> float:
        """What is ordered, in cubic yards."""
        return self.ordered / CUBIC_YARD

    @property
    def water(self) -> float:
        """US gallons of water to begin with for all bags (see figures.concrete)."""
        return self.weight * WATER_PER_POUND

    @property
    def heavy(self) -> bool:
        """Whether a bag is a lift for two, or for a cart (see figures.concrete)."""
        return self.bag_weight > ONE_PERSON_LIFT


def hole_volume(diameter: float, depth: Floats | float, width: float, thickness: float) -> Floats:
    """Concrete (cubic feet) in a round hole about a post that reaches its bottom.

    All in inches; `depth` of the concrete, any shape. Source: geometry.
    """
    section = math.pi / 4 * diameter**2 - width * thickness
    return np.asarray(section * np.asarray(depth, dtype=float) / CUBIC_FOOT)


def hole_volumes(depths: Floats, gate: Truths, posts: Posts) -> Floats:
    """Concrete (cubic feet) in the hole of each post (n,).

    `depths` in the ground (in); `gate`: gate posts, whose section and hole may be others. Errors: ValueError
    for a hole with less section than the post.
    """
    found = np.zeros(len(depths))
    for own in {False, *gate.tolist()}:
        width, thickness = posts.section(own)
        if math.pi / 4 * posts.hole(own) ** 2 <= width * thickness:
            raise ValueError("the hole has less section than the post")
        found = np.where(gate == own, hole_volume(posts.hole(own), depths, width, thickness), found)
    return found


def concrete_for(depths: Floats, gate: Truths, posts: Posts) -> Concrete:
    """Concrete for holes filled to the ground.

    `depths`, `gate`: (n,) of the posts to be set, as `hole_volumes`. Bags by weight at 0.0075 cubic feet a
    pound (see figures.concrete); the extra for the job as `posts.concrete_extra`. Errors: as `hole_volumes`.
    """
    holes = hole_volumes(depths, gate, posts)
    per_bag = bag_yield(posts.bag)
    net = float(holes.sum())
    ordered = net * posts.concrete_extra
    in_all = math.ceil(ordered / per_bag - WHOLE)
    wide = np.where(gate, posts.hole(True), posts.hole(False))
    gravel = float((math.pi / 4 * wide**2 * posts.gravel / CUBIC_FOOT).sum())
    return Concrete(
        bags=np.ceil(holes / per_bag - WHOLE).astype(np.int64),
        net=net,
        ordered=ordered,
        bags_in_all=in_all,
        bag_weight=posts.bag,
        weight=in_all * posts.bag,
        gravel=gravel,
        gravel_bags=math.ceil(gravel * GRAVEL_WEIGHT / posts.gravel_bag - WHOLE),
        delivered=ordered > CUBIC_YARD,
    )
