"""Wind on a solid freestanding fence: coefficients of ASCE 7."""

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
"""Length over height of a solid wall on the ground, and Cf in cases A and B; case C, end zones, is higher."""

FORCE_SOURCE = Source(document=f"ASCE 7-10 figure 29.4-1, {_ASCE} figure 29.3-1, s/h = 1", mark=Mark.MEMORY)


def force_coefficient(length_over_height: float) -> float:
    """Cf of a solid freestanding wall that reaches the ground, cases A and B.

    `length_over_height`: over zero; straight between the table's rows, the end rows beyond them. Source:
    `FORCE_SOURCE`.
    """
    rows = np.array(FORCE_COEFFICIENTS)
    return float(np.interp(length_over_height, rows[:, 0], rows[:, 1]))
