"""Wind against the posts: a screen of embedment and bending, not a design.

  wind  ->  |=====|      force = pressure x height x half the bays on both sides
            |     | h    moment at the ground = force x 0.55 h
~~~~~~~~~~~~|  |  |~~~~
            |  | d       depth by the code's formula for posts not held at the ground
"""

import math
from collections.abc import Iterator

import numpy as np
from msgspec import Struct

from fencegrade.fence.bays.bays import Bays
from fencegrade.fence.bays.given_posts import PostKind
from fencegrade.fence.pickets.cuts import marks_up
from fencegrade.fence.posts.posts import PostSchedule
from fencegrade.fence.posts.wind_load import WindLoad, load_words, wind_load
from fencegrade.figures.bearing import (
    BEARING,
    DEEPEST_COUNTED,
    FORMULA_SOURCE,
    ISOLATED_POLE_FACTOR,
    ISOLATED_POLE_SOURCE,
    PAVED_SOURCE,
)
from fencegrade.figures.timber import (
    DURATION_SOURCE,
    WIND_DURATION,
    allowable_moment,
    bending_value,
    is_another_wood,
)
from fencegrade.figures.wind import ARM
from fencegrade.job.records import Posts, Run
from fencegrade.job.site import Site
from fencegrade.problems import Problem, note, warning
from fencegrade.units import PRESSURE, UnitSystem, format_moment
from fencegrade.units.arrays import Floats, Truths, first_most
from fencegrade.units.tolerances import SAME_LENGTH, WHOLE
from fencegrade.units.words import Words, plural

_ROOT = 1e-10
"""Feet within which a depth is found."""

_FEET_IN_METRE = 1 / 0.3048

HABIT_WIDTH, HABIT_DEPTH = 3.5, 24.0
"""Inches: the 4x4 in a 2 ft hole that many fences stand on."""

ADVICE = "a screen, not a design; local code and a licensed engineer decide"


def required_depth(force: float, arm: float, width: float, lateral: float) -> float:
    """Depth (ft) of a post that nothing holds at the ground surface.

    `force` (lbf) at `arm` (ft) above the ground; `width`: diameter of a round post or footing, or the
    diagonal of a square one (ft); `lateral`: soil bearing (psf a foot of depth). d = A/2 (1 + sqrt(1 + 4.36
    h/A)), A = 2.34 P/(S1 b), with S1 = lateral x min(d, 12)/3, solved for d itself: d counts to 12 ft for
    the pressure, as the code defines it; some sheets read min(d/3, 12), which asks less of posts deeper than
    that. Errors: ValueError for widths or bearings not over zero. Source: `FORMULA_SOURCE` in
    figures.bearing; level ground assumed.
    """
    if not (width > 0 and lateral > 0 and arm >= 0 and force >= 0):
        raise ValueError("width and bearing must be over zero, force and arm not below it")
    if force == 0:
        return 0.0

    def missing(depth: float) -> float:
        return depth - depth_with_bearing(force, arm, width, lateral * min(depth, DEEPEST_COUNTED) / 3)

    from scipy.optimize import brentq

    most = 1.0
    while missing(most) < 0:
        most *= 2
    return float(brentq(missing, most / 2**60, most, xtol=_ROOT))


def depth_with_bearing(force: float, arm: float, width: float, bearing: float) -> float:
    """`required_depth` for a bearing S1 (psf) that is already chosen: one step of the iteration."""
    a = 2.34 * force / (bearing * width)
    return 0.5 * a * (1.0 + math.sqrt(1 + 4.36 * arm / a))


def constrained_depth(force: float, arm: float, width: float, lateral: float) -> float:
    """Depth (ft) of a post held at the ground by rigid paving.

    As `required_depth`; d^2 = 4.25 P h/(S3 b) with S3 = lateral x min(d, 12). Source: `PAVED_SOURCE` in
    figures.bearing.
    """
    depth = math.cbrt(4.25 * force * arm / (lateral * width))
    if depth <= DEEPEST_COUNTED:
        return depth
    return math.sqrt(4.25 * force * arm / (lateral * DEEPEST_COUNTED * width))


class WindScreen(Struct, frozen=True, kw_only=True, eq=False):
    """Wind on every post (n,): moments in ft lbf, depths in inches.

    `load` of the wind; `moment` at the ground by post; `depth` the soil formula asks for; `judged`:
    whether it is, as every post but those that stood before the job, of which neither depth nor wood is
    known; `allowed` moment of a post, nan of those; `stands` where the chosen depth reaches `depth`;
    `holds` where the timber carries the moment, both of posts that are judged. `doubted`: whether the
    wind speed is, so that nothing passes until it is confirmed. `assumptions`: what was taken, one
    sentence each.
    """

    load: WindLoad
    moment: Floats
    depth: Floats
    judged: Truths
    allowed: Floats
    stands: Truths
    holds: Truths
    doubted: bool
    assumptions: tuple[str, ...]

    @property
    def fails(self) -> Truths:
        """(n,) whether each post is judged and does not pass."""
        return self.judged & ~(self.stands & self.holds)


def wind_depths(site: Site, bays: Bays, heights: Floats, posts: Posts, mark: float) -> Floats:
    """Depth (in) that wind and soil ask of every post (n,), by the screen.

    `heights`: (n,) top of the fence over the ground at the posts (in); `mark` of the tape (in), up to which
    they go. Zero where the job names no wind.
    """
    return _depths(site, wind_load(site, bays, heights), bays, heights, posts, mark)


def _depths(site: Site, load: WindLoad, bays: Bays, heights: Floats, posts: Posts, mark: float) -> Floats:
    lateral = lateral_bearing(site)
    depth = constrained_depth if site.paved else required_depth
    exact = np.array(
        [
            12 * depth(f, ARM.value * h / 12, posts.hole(kind is PostKind.GATE) / 12, lateral)
            for f, h, kind in zip(load.force.tolist(), heights.tolist(), bays.kinds, strict=True)
        ]
    )
    return np.asarray(marks_up(exact, mark) * mark)


def wind_screen(
    run: Run,
    site: Site,
    bays: Bays,
    schedule: PostSchedule,
    heights: Floats,
    posts: Posts,
    words: Words,
    *,
    doubted: bool = False,
) -> tuple[WindScreen, tuple[Problem, ...]]:
    """The screen of a run, and what a builder must see of it.

    `heights`: (n,) top of the fence over the ground at the posts (in); `doubted`: whether the wind
    is. Source: `velocity_pressure`, `required_depth`, figures.wind, figures.bearing, figures.timber.
    """
    load = wind_load(site, bays, heights)
    moment = load.force * ARM.value * heights / 12
    depth = _depths(site, load, bays, heights, posts, words.mark)
    judged = ~bays.old
    allowed = np.where(judged, _carried(schedule, posts), np.nan)
    screen = WindScreen(
        load=load,
        moment=moment,
        depth=depth,
        judged=judged,
        allowed=allowed,
        stands=judged & (schedule.depth >= depth - SAME_LENGTH),
        holds=judged & (moment <= np.nan_to_num(allowed) * (1 + WHOLE)),
        doubted=doubted,
        assumptions=_assumptions(site, load, posts, bays, heights, words),
    )
    return screen, tuple(_findings(run, screen, posts, words))


def _carried(schedule: PostSchedule, posts: Posts) -> Floats:
    """Moment (ft lbf) each post carries by its section, (n,)."""
    line, gate = (allowable_moment(*posts.section(own)[::-1], posts.wood) for own in (False, True))
    return np.where(schedule.gate, gate, line)


def lateral_bearing(site: Site) -> float:
    """Lateral soil bearing (psf a foot of depth), doubled only where the job says the official allows it."""
    own = site.lateral_bearing
    lateral = BEARING[site.soil].lateral if own is None else own
    return lateral * (ISOLATED_POLE_FACTOR if site.isolated_poles else 1.0)


def _assumptions(
    site: Site, load: WindLoad, posts: Posts, bays: Bays, heights: Floats, words: Words
) -> tuple[str, ...]:
    soil = BEARING[site.soil]
    timbers = dict.fromkeys(
        bending_value(*posts.section(own)[::-1], posts.wood)
        for own in (False, *([True] if PostKind.GATE in bays.kinds else []))
    )
    doubted = is_another_wood(posts.wood)
    pine = ": the figure is southern pine's and may be too high for another wood" if doubted else ""
    factor = (
        f"the soil table times {ISOLATED_POLE_FACTOR:g}, since the job says that the building official lets "
        "these posts count as isolated poles"
        if site.isolated_poles
        else "the soil table as it stands; the code lets isolated poles that half an inch of movement at the "
        "ground does not harm use twice the table, and whether fence posts are such poles the building "
        f"official says ({ISOLATED_POLE_SOURCE})"
    )
    held = (
        f"posts held at the ground by rigid paving ({PAVED_SOURCE})"
        if site.paved
        else f"posts not held at the surface ({FORMULA_SOURCE})"
    )
    return (
        "the posts alone are screened: not the rails, not the screws and hinges, and not the weight of a "
        "gate's leaf on its post",
        *load_words(site, load, bays, heights, words),
        "each post takes half of the bays beside it, as high as the tops stand over the ground there; "
        f"resultant at {ARM.value:g} of that height ({ARM.source})",
        f"soil {_by_depth(lateral_bearing(site), words)}"
        + (f": {soil.material} ({soil.source})" if site.lateral_bearing is None else " as given"),
        factor,
        "posts that stood before the job are not judged: nobody gave their depth or their wood; one set "
        "since is judged as it was planned",
        f"level ground, {held}, footing {words.fine(posts.hole_diameter)} in diameter",
        *(
            f"timber {value.grade}, {_stress(value.stress, words)} ({value.source}), times "
            f"{WIND_DURATION:g} for wind ({DURATION_SOURCE}){pine}"
            for value in timbers
        ),
        ADVICE,
    )


def _by_depth(lateral: float, words: Words) -> str:
    """Lateral soil bearing, given in psf a foot of depth."""
    if words.system is UnitSystem.IMPERIAL:
        return f"{lateral:g} psf a foot of depth"
    return f"{PRESSURE.format(lateral * _FEET_IN_METRE, words.system, places=1)} a metre of depth"


def _stress(psi: float, words: Words) -> str:
    if words.system is UnitSystem.IMPERIAL:
        return f"{psi:g} psi"
    return PRESSURE.format(psi * 144, words.system, "MPa", places=2)


def _against(moment: float, allowed: float, words: Words) -> str:
    return f"{format_moment(moment, words.system)} against {format_moment(allowed, words.system)}"


def _doubted_wood(run: Run, screen: WindScreen, posts: Posts) -> Iterator[Problem]:
    """Posts of a wood whose bending value is not known and that pass by another's."""
    if is_another_wood(posts.wood) and (screen.holds & (screen.moment > 0)).any():
        yield warning(
            f"{run.name}, posts",
            f"bending is held against southern pine's figure and the posts are {posts.wood}: a weaker wood "
            "may not pass where the screen says it does",
            f"ask for the grade and its bending value; {ADVICE}",
        )


def _findings(run: Run, screen: WindScreen, posts: Posts, words: Words) -> list[Problem]:
    found = []
    shallow, weak = screen.judged & ~screen.stands, screen.judged & ~screen.holds
    worst = first_most(np.where(shallow, screen.depth, -np.inf))
    bent = first_most(np.where(weak, screen.moment - screen.allowed, -np.inf))

    def failing(which: Truths) -> str:
        count, judged = int(which.sum()), plural(int(screen.judged.sum()), "post")
        return f"{count} of {judged} {'does' if count == 1 else 'do'} not pass"

    if shallow.any():
        found.append(
            warning(
                f"{run.name}, posts",
                f"{failing(shallow)} the soil screen: up to "
                f"{words.length(float(screen.depth[worst]))} is asked for, at post {worst + 1}",
                f"dig deeper or wider, set posts closer, or build lower; {ADVICE}",
            )
        )
    if weak.any():
        found.append(
            warning(
                f"{run.name}, posts",
                f"{failing(weak)} in bending: up to "
                f"{_against(float(screen.moment[bent]), float(screen.allowed[bent]), words)}",
                f"take larger posts or set them closer; {ADVICE}",
            )
        )
    found += _doubted_wood(run, screen, posts)
    habit = allowable_moment(HABIT_WIDTH, HABIT_WIDTH)
    deep, weak_habit = screen.depth.max() > HABIT_DEPTH, screen.moment.max() > habit
    if deep or weak_habit:
        why = [f"needs {words.length(float(screen.depth.max()))}"] * bool(deep)
        why += [f"bends under {_against(float(screen.moment.max()), habit, words)}"] * bool(weak_habit)
        found.append(
            note(
                f"{run.name}, posts",
                f"the habitual 4x4 in a 2 ft hole does not pass this wind: it {' and '.join(why)}",
                ADVICE,
            )
        )
    return found
