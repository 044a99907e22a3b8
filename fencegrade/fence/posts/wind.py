"""Wind against the posts: a screen of embedment and bending, not a design.

  wind  ->  |=====|      force = pressure x height x half the bays on both sides
            |     | h    moment at the ground = force x 0.55 h
~~~~~~~~~~~~|  |  |~~~~
            |  | d       depth by the code's formula for posts not held at the ground
"""

import math

import numpy as np
from msgspec import Struct

from fencegrade.fence.bays.bays import Bays
from fencegrade.fence.bays.given_posts import PostKind
from fencegrade.fence.posts.posts import PostSchedule
from fencegrade.figures.bearing import (
    BEARING,
    DEEPEST_COUNTED,
    FORMULA_SOURCE,
    ISOLATED_POLE_FACTOR,
    ISOLATED_POLE_SOURCE,
    PAVED_SOURCE,
)
from fencegrade.figures.timber import DURATION_SOURCE, WIND_DURATION, allowable_moment, bending_value
from fencegrade.figures.wind import (
    ALLOWABLE_STRESS,
    ARM,
    FORCE_SOURCE,
    GUST,
    KD,
    KZ,
    VELOCITY_FACTOR,
    Exposure,
    force_coefficient,
)
from fencegrade.job.records import Posts, Run
from fencegrade.job.site import Site
from fencegrade.problems import Problem, note, warning
from fencegrade.units import PRESSURE, SPEED, UnitSystem, format_moment
from fencegrade.units.arrays import Floats, Truths
from fencegrade.units.tolerances import SAME_LENGTH, WHOLE
from fencegrade.units.words import Words, plural

_ROOT = 1e-10
"""Feet within which a depth is found."""

_FEET_IN_METRE = 1 / 0.3048

_PASCAL_BY_SPEED = 47.880259 / 0.44704**2
"""Pascals in a psf, over the square of metres a second in a mile an hour."""

HABIT_WIDTH, HABIT_DEPTH = 3.5, 24.0
"""Inches: the 4x4 in a 2 ft hole that many fences stand on."""

ADVICE = "a screen, not a design; local code and a licensed engineer decide"


def velocity_pressure(
    speed: float, exposure: Exposure, kz: float | None = None, kd: float | None = None
) -> float:
    """Velocity pressure q (psf) at up to 15 ft.

    `speed`: basic wind speed (mph); `kz`, `kd`: other coefficients than those of the exposure and of solid
    freestanding walls. Source: ASCE 7-16 equation 26.10-1 with Kzt and Ke 1; coefficients see figures.wind.
    """
    kz = KZ[exposure].value if kz is None else kz
    kd = KD.value if kd is None else kd
    return VELOCITY_FACTOR.value * kz * kd * speed**2


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
    """Wind on every post (n,): pressures in psf, forces in lbf, moments in ft lbf, depths in inches.

    `pressure` on the fence as used; `force` and `moment` at the ground by post; `depth` the soil formula
    asks for; `allowed` moment of a post; `stands` where the chosen depth reaches `depth`, and for posts that
    already stand, whose depth nobody gave; `holds` where the timber carries the moment. `assumptions`: what
    was taken, one sentence each.
    """

    pressure: float
    force: Floats
    moment: Floats
    depth: Floats
    allowed: Floats
    stands: Truths
    holds: Truths
    assumptions: tuple[str, ...]


def wind_depths(site: Site, bays: Bays, heights: Floats, posts: Posts) -> Floats:
    """Depth (in) that wind and soil ask of every post (n,), by the screen.

    `heights`: (n,) top of the fence over the ground at the posts (in). Zero where the job names no wind.
    """
    pressure = design_pressure(site, bays, heights)
    force = _forces(pressure, bays, heights)
    lateral = lateral_bearing(site)
    depth = constrained_depth if site.paved else required_depth
    return np.array(
        [
            12 * depth(f, ARM.value * h / 12, posts.hole(kind is PostKind.GATE) / 12, lateral)
            for f, h, kind in zip(force.tolist(), heights.tolist(), bays.kinds, strict=True)
        ]
    )


def wind_screen(
    run: Run, site: Site, bays: Bays, schedule: PostSchedule, heights: Floats, posts: Posts, words: Words
) -> tuple[WindScreen, tuple[Problem, ...]]:
    """The screen of a run, and what a builder must see of it.

    `heights`: (n,) top of the fence over the ground at the posts (in). Source: `velocity_pressure`,
    `required_depth`, figures.wind, figures.bearing, figures.timber.
    """
    pressure = design_pressure(site, bays, heights)
    force = _forces(pressure, bays, heights)
    moment = force * ARM.value * heights / 12
    depth = wind_depths(site, bays, heights, posts)
    allowed = _carried(schedule, posts)
    screen = WindScreen(
        pressure=pressure,
        force=force,
        moment=moment,
        depth=depth,
        allowed=allowed,
        stands=schedule.standing | (schedule.depth >= depth - SAME_LENGTH),
        holds=moment <= allowed * (1 + WHOLE),
        assumptions=_assumptions(site, posts, bays, heights, words),
    )
    return screen, tuple(_findings(run, screen, words))


def _carried(schedule: PostSchedule, posts: Posts) -> Floats:
    """Moment (ft lbf) each post carries by its section, (n,)."""
    line, gate = (allowable_moment(*reversed(posts.section(own))) for own in (False, True))
    return np.where(schedule.gate, gate, line)


def design_pressure(site: Site, bays: Bays, heights: Floats) -> float:
    """Pressure (psf) on the fence as it is compared with allowable stresses.

    A pressure the job gives is used as it is. Otherwise 0.6 q G Cf, with Cf by the run's length over its mean
    height. `heights` in inches. Zero where the job names no wind.
    """
    if site.wind_pressure is not None:
        return site.wind_pressure
    if site.wind_speed is None:
        return 0.0
    q = velocity_pressure(site.wind_speed, site.exposure)
    return ALLOWABLE_STRESS.value * q * GUST.value * force_coefficient(_aspect(bays, heights))


def lateral_bearing(site: Site) -> float:
    """Lateral soil bearing (psf a foot of depth), doubled only where the job says the official allows it."""
    own = site.lateral_bearing
    lateral = BEARING[site.soil].lateral if own is None else own
    return lateral * (ISOLATED_POLE_FACTOR if site.isolated_poles else 1.0)


def _aspect(bays: Bays, heights: Floats) -> float:
    return float((bays.posts[-1] - bays.posts[0]) / max(float(heights.mean()), 1.0))


def _forces(pressure: float, bays: Bays, heights: Floats) -> Floats:
    """Force (lbf) on each post: half of what lies on either side, gates counted as shut."""
    halves = np.diff(bays.posts) / 2
    breadth = np.append(halves, 0.0) + np.insert(halves, 0, 0.0)
    return np.asarray(pressure * breadth * heights / 144)


def _assumptions(site: Site, posts: Posts, bays: Bays, heights: Floats, words: Words) -> tuple[str, ...]:
    soil = BEARING[site.soil]
    value = bending_value(posts.thickness or posts.width, posts.width)
    cf = force_coefficient(_aspect(bays, heights))
    wind = [
        f"pressure of {_pressure(site.wind_pressure, words)} on the fence as given, no factor applied"
        if site.wind_pressure is not None
        else "no wind is given"
        if site.wind_speed is None
        else _speed_words(site.wind_speed, site.exposure, cf, words)
    ]
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
        *wind,
        "ends of the run take more wind than this (case C of the figure); air through gaps between pickets "
        "is not counted",
        "each post takes half of the bays beside it, as high as the tops stand over the ground there; "
        f"resultant at {ARM.value:g} of that height ({ARM.source})",
        f"soil {_by_depth(lateral_bearing(site), words)}"
        + (f": {soil.material} ({soil.source})" if site.lateral_bearing is None else " as given"),
        factor,
        "posts that already stand are not judged by their depth",
        f"level ground, {held}, footing {words.fine(posts.hole_diameter)} in diameter",
        f"timber {value.grade}, {_stress(value.stress, words)} ({value.source}), times {WIND_DURATION:g} for "
        f"wind ({DURATION_SOURCE})",
        ADVICE,
    )


def _speed_words(speed: float, exposure: Exposure, cf: float, words: Words) -> str:
    """The pressure's formula and every coefficient in it, each with its source."""
    kz, factor, units = KZ[exposure], VELOCITY_FACTOR.value, "psf, mph"
    if words.system is UnitSystem.METRIC:
        factor, units = factor * _PASCAL_BY_SPEED, "Pa, m/s"
    return (
        f"wind {_speed(speed, words)}, exposure {exposure}: q = {factor:.3g} Kz Kzt Kd Ke V^2 in {units} "
        f"({VELOCITY_FACTOR.source}), Kz {kz.value:g} ({kz.source}), Kzt 1 for no hill or escarpment that "
        f"speeds the wind up, Kd {KD.value:g} ({KD.source}), Ke 1 for sea level; the pressure is q G Cf, "
        f"G {GUST.value:g} ({GUST.source}), Cf {cf:.3f} ({FORCE_SOURCE}), "
        f"times {ALLOWABLE_STRESS.value:g} ({ALLOWABLE_STRESS.source})"
    )


def _speed(mph: float, words: Words) -> str:
    return f"{mph:g} mph" if words.system is UnitSystem.IMPERIAL else SPEED.format(mph, words.system)


def _pressure(psf: float, words: Words) -> str:
    return f"{psf:g} psf" if words.system is UnitSystem.IMPERIAL else PRESSURE.format(psf, words.system)


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


def _findings(run: Run, screen: WindScreen, words: Words) -> list[Problem]:
    found = []
    worst = int(np.argmax(np.where(screen.stands, -np.inf, screen.depth)))
    bent = int(np.argmax(screen.moment - screen.allowed))
    shallow, weak = int((~screen.stands).sum()), int((~screen.holds).sum())

    def failing(count: int) -> str:
        return f"{count} of {plural(len(screen.force), 'post')} {'does' if count == 1 else 'do'} not pass"

    if shallow:
        found.append(
            warning(
                f"{run.name}, posts",
                f"{failing(shallow)} the soil screen: up to "
                f"{words.length(float(screen.depth[worst]))} is asked for, at post {worst + 1}",
                f"dig deeper or wider, set posts closer, or build lower; {ADVICE}",
            )
        )
    if weak:
        found.append(
            warning(
                f"{run.name}, posts",
                f"{failing(weak)} in bending: up to "
                f"{_against(float(screen.moment[bent]), float(screen.allowed[bent]), words)}",
                f"take larger posts or set them closer; {ADVICE}",
            )
        )
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
