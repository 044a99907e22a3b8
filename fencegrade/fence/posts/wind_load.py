"""Pressure of the wind on a run, and what of it each post takes: the middle by cases A and B, the ends by C.

windward edge          middle                 edge
 |####|===|==|-------------------------|==|===|####|    Cf of case C by distance from either end
   o      o      o      o      o      o      o    o     a post takes the mean over what it carries,
                                                        or cases A and B, whichever is more
"""

import numpy as np
from msgspec import Struct

from fencegrade.fence.bays.bays import Bays
from fencegrade.figures.wind import (
    ALLOWABLE_STRESS,
    END_ZONES,
    END_ZONES_FROM,
    FORCE_SOURCE,
    GUST,
    KD,
    KZ,
    ON_THE_GROUND,
    VELOCITY_FACTOR,
    Exposure,
    end_zone_coefficients,
    force_coefficient,
)
from fencegrade.job.site import Site
from fencegrade.units import PRESSURE, SPEED, UnitSystem
from fencegrade.units.arrays import Floats, Truths
from fencegrade.units.tolerances import SAME_LENGTH, WHOLE
from fencegrade.units.words import Words, numbered

_PASCAL_BY_SPEED = 47.880259 / 0.44704**2
"""Pascals in a psf, over the square of metres a second in a mile an hour."""


class WindLoad(Struct, frozen=True, kw_only=True, eq=False):
    """Wind on a run: pressures in psf, forces in lbf, `velocity_pressure` in psf where a speed is given.

    `pressure` on the fence by cases A and B, as compared with allowable stresses; of every post (n,): the
    `coefficient` Cf it takes (nan where the job gives the pressure itself), whether that is of the `ends`
    (case C), the mean pressure `taken` by it, and the `force`.
    """

    velocity_pressure: float | None
    pressure: float
    coefficient: Floats
    ends: Truths
    taken: Floats
    force: Floats

    def case(self, post: int) -> str:
        """Which case of the figure governs a post, `as given` where the job gives the pressure."""
        return "as given" if np.isnan(self.coefficient[post]) else "C" if self.ends[post] else "A and B"


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


def wind_load(site: Site, bays: Bays, heights: Floats) -> WindLoad:
    """The wind on a run, gates counted as shut.

    `heights`: (n,) top of the fence over the ground at the posts (in). A pressure the job gives is used as it
    is on the whole run. Otherwise 0.6 q G Cf. Zero where the job names no wind. Source: figures.wind.
    """
    halves = np.diff(bays.posts) / 2
    before, after = np.insert(halves, 0, 0.0), np.append(halves, 0.0)
    area = (before + after) * heights / 144
    count = len(bays.posts)
    if site.wind_speed is None:
        pressure = site.wind_pressure or 0.0
        return WindLoad(
            velocity_pressure=None,
            pressure=pressure,
            coefficient=np.full(count, np.nan),
            ends=np.zeros(count, dtype=bool),
            taken=np.full(count, pressure),
            force=pressure * area,
        )
    q = velocity_pressure(site.wind_speed, site.exposure)
    by_cf = ALLOWABLE_STRESS.value * q * GUST.value
    middle = force_coefficient(aspect(bays, heights))
    ends = _end_coefficients(bays, heights, bays.posts - before, bays.posts + after)
    coefficient = np.maximum(ends, middle)
    return WindLoad(
        velocity_pressure=q,
        pressure=by_cf * middle,
        coefficient=coefficient,
        ends=ends > middle * (1 + WHOLE),
        taken=by_cf * coefficient,
        force=by_cf * coefficient * area,
    )


def aspect(bays: Bays, heights: Floats) -> float:
    """Length of a run over its mean height; `heights` (n,) at the posts (in)."""
    return float((bays.posts[-1] - bays.posts[0]) / _height(heights))


def _height(heights: Floats) -> float:
    return max(float(heights.mean()), 1.0)


def _end_coefficients(bays: Bays, heights: Floats, low: Floats, high: Floats) -> Floats:
    """Mean Cf of case C (n,) from the stations `low` to `high` (n,) (in), by the worse of both ends."""
    if aspect(bays, heights) < END_ZONES_FROM:
        return np.zeros(len(low))
    zones = np.array(end_zone_coefficients(aspect(bays, heights)))
    edges = np.array([0.0, *END_ZONES[:-1], max(END_ZONES[-2], aspect(bays, heights)) + 1.0])
    sums = np.insert(np.cumsum(zones * np.diff(edges)), 0, 0.0)
    start, end, tall = bays.posts[0], bays.posts[-1], _height(heights)

    def mean(near: Floats, far: Floats) -> Floats:
        inside = np.interp(far / tall, edges, sums) - np.interp(near / tall, edges, sums)
        return np.asarray(inside * tall / np.maximum(far - near, SAME_LENGTH))

    return np.maximum(mean(low - start, high - start), mean(end - high, end - low))


def load_words(site: Site, load: WindLoad, bays: Bays, heights: Floats, words: Words) -> list[str]:
    """What was taken for the wind, one sentence each."""
    porous = "air through gaps between pickets is not counted"
    if site.wind_pressure is not None:
        given = f"pressure of {_pressure(site.wind_pressure, words)} on the fence as given, no factor applied"
        return [
            f"{given}, at the ends of the run too: ends take more wind (case C of {FORCE_SOURCE.document}), "
            "so the pressure given has to count them",
            porous,
        ]
    if site.wind_speed is None:
        return ["no wind is given", porous]
    cf = force_coefficient(aspect(bays, heights))
    return [_speed_words(site.wind_speed, site.exposure, cf, words), _ends_words(load), porous]


def _ends_words(load: WindLoad) -> str:
    """Which case governs which post."""
    if not load.ends.any():
        return "cases A and B of that figure govern every post, case C (ends of a run) none"
    which = numbered("post", np.flatnonzero(load.ends))
    if not load.ends.all():
        which += f", cases A and B {numbered('post', np.flatnonzero(~load.ends))}"
    return (
        f"case C of that figure, the ends of a run, governs {which}: Cf up to "
        f"{float(load.coefficient.max()):.2f} by the distance from the nearer end in heights, in which the "
        f"factor {ON_THE_GROUND.value:g} ({ON_THE_GROUND.source}) is counted, averaged over what a post "
        "carries; nothing is taken off for corners"
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
