"""Wind on a solid freestanding fence: coefficients of ASCE 7."""

from collections.abc import Iterator
from enum import StrEnum

import numpy as np
from msgspec import Struct

from fencegrade.figures.sources import Mark, Source


class Exposure(StrEnum):
    """How open the surroundings are: B built-up or wooded, C open, D beside wide water."""

    B = "B"
    C = "C"
    D = "D"


class Coefficient(Struct, frozen=True, kw_only=True):
    """A figure with its source."""

    value: float
    source: Source


_ASCE = "ASCE 7-16"

VELOCITY_FACTOR = Coefficient(
    value=0.00256, source=Source(document=f"{_ASCE} equation 26.10-1", mark=Mark.RESTATED)
)
"""Of the square of the speed: psf from mph."""

KZ = {
    exposure: Coefficient(
        value=kz, source=Source(document=f"{_ASCE} table 26.10-1, 0 to 15 ft", mark=Mark.MEMORY)
    )
    for exposure, kz in ((Exposure.B, 0.57), (Exposure.C, 0.85), (Exposure.D, 1.03))
}
KD = Coefficient(
    value=0.85,
    source=Source(document=f"{_ASCE} table 26.6-1, solid freestanding walls", mark=Mark.MEMORY),
)
GUST = Coefficient(value=0.85, source=Source(document=f"{_ASCE} section 26.11, rigid", mark=Mark.RESTATED))
ALLOWABLE_STRESS = Coefficient(
    value=0.6,
    source=Source(document=f"{_ASCE} section 2.4, wind in allowable-stress combinations", mark=Mark.MEMORY),
)
ARM = Coefficient(
    value=0.55,
    source=Source(
        document=f"{_ASCE} figure 29.3-1: resultant 0.05 of its height over a wall's middle",
        mark=Mark.MEMORY,
    ),
)

FORCE_COEFFICIENTS = (
    (0.05, 1.80),
    (0.1, 1.70),
    (0.2, 1.65),
    (0.5, 1.55),
    (1.0, 1.45),
    (2.0, 1.40),
    (4.0, 1.35),
    (5.0, 1.35),
    (10.0, 1.30),
    (20.0, 1.30),
    (30.0, 1.30),
    (45.0, 1.30),
)
"""Length over height of a solid wall on the ground, and Cf in cases A and B."""

END_ZONES = (1.0, 2.0, 3.0, 4.0, 5.0, 10.0, float("inf"))
"""Where each zone of case C ends: distance from the windward edge over the height of the wall."""

_NONE = float("nan")
END_COEFFICIENTS = (
    (2.0, (2.25, 1.50, _NONE, _NONE, _NONE, _NONE, _NONE)),
    (3.0, (2.60, 1.70, 1.15, _NONE, _NONE, _NONE, _NONE)),
    (4.0, (2.90, 1.90, 1.30, 1.10, 1.10, 1.10, _NONE)),
    (5.0, (3.10, 2.00, 1.45, 1.05, 1.05, 1.05, _NONE)),
    (6.0, (3.30, 2.15, 1.55, 1.05, 1.05, 1.05, _NONE)),
    (7.0, (3.40, 2.25, 1.65, 1.05, 1.05, 1.05, _NONE)),
    (8.0, (3.55, 2.30, 1.70, 1.05, 1.05, 1.05, _NONE)),
    (9.0, (3.65, 2.35, 1.75, 1.00, 1.00, 1.00, _NONE)),
    (10.0, (3.75, 2.45, 1.85, 0.95, 0.95, 0.95, _NONE)),
    (13.0, (4.00, 2.60, 2.00, 1.50, 1.35, 0.90, 0.55)),
    (45.0, (4.30, 2.55, 1.95, 1.85, 1.85, 1.10, 0.55)),
)
"""Length over height of a wall, and Cf in case C by `END_ZONES`, for walls at least twice as long as high."""

END_ZONES_FROM = END_COEFFICIENTS[0][0]
"""Length over height from which case C is to be looked at."""

ON_THE_GROUND = Coefficient(
    value=0.8,
    source=Source(document=f"{_ASCE} figure 29.3-1: 1.8 - s/h, s/h = 1", mark=Mark.MEMORY),
)
"""Of Cf in case C, for a wall that reaches the ground."""

FORCE_SOURCE = Source(document=f"ASCE 7-10 figure 29.4-1, {_ASCE} figure 29.3-1, s/h = 1", mark=Mark.MEMORY)


def force_coefficient(length_over_height: float) -> float:
    """Cf of a solid freestanding wall that reaches the ground, cases A and B.

    `length_over_height`: over zero; straight between the table's rows, the end rows beyond them. Source:
    `FORCE_SOURCE`.
    """
    rows = np.array(FORCE_COEFFICIENTS)
    return float(np.interp(length_over_height, rows[:, 0], rows[:, 1]))


def end_zone_coefficients(length_over_height: float) -> tuple[float, ...]:
    """Cf of every zone of `END_ZONES` in case C for a wall that reaches the ground.

    `length_over_height`: `END_ZONES_FROM` or more; straight between the table's columns, the last beyond
    them. A zone that has no value in a column takes that of the zone before it or of cases A and B, whichever
    is more. Source: `FORCE_SOURCE`, `ON_THE_GROUND`.
    """
    aspects = [aspect for aspect, _ in END_COEFFICIENTS]
    columns = np.array([list(_filled(aspect, values)) for aspect, values in END_COEFFICIENTS])
    return tuple(
        ON_THE_GROUND.value * float(np.interp(length_over_height, aspects, zone)) for zone in columns.T
    )


def _filled(aspect: float, values: tuple[float, ...]) -> Iterator[float]:
    last = 0.0
    for value in values:
        last = max(last, force_coefficient(aspect)) if np.isnan(value) else value
        yield last
