"""How far a taut string hangs below the straight chord between its ends.

    end o . . . . . . . . . . . . . o end     chord
         `-.._      | sag      _..-'
              ``--..|____..--''               string

Weights are lbf by inch or lbf, pulls lbf, lengths inches; any other consistent set of units does as well.
"""

import numpy as np
from msgspec import Struct
from numpy.typing import ArrayLike

from fencegrade.units.arrays import Floats

SAG_DECIMALS = 10
"""Sags (in) are rounded to so many decimals: the last bits of a hyperbolic sine differ by processor."""

LOAD_DOUBT = 0.20
"""One standard deviation of weight over pull, as a share: hands guess a pull (common practice, no source)."""

MEASURED_DOUBT = 0.125
"""One standard deviation of a sag measured at mid-span, inches (common practice, no source)."""

COMMON_LINE = 1.4e-3 / 0.45359237 * 0.0254
"""Weight of a common mason's line, lbf by inch: 1.4 g/m (common practice; weigh the spool)."""

COMMON_PULL = 10.0
"""Pull by hand, lbf (common practice, no source)."""


def parabola_sag(weight: float, span: float, pull: float) -> float:
    """Sag at mid-span of a uniformly loaded string by the parabola, w L^2 / 8 T.

    `weight` by length, `span`, `pull` in consistent units, all over zero. Good to one part in a thousand
    while the sag is under a fiftieth of the span. Source: any text on statics, e.g. Beer & Johnston,
    Vector Mechanics: Statics, chapter 7.
    """
    return weight * span**2 / (8 * pull)


class Hang(Struct, frozen=True, kw_only=True):
    """What makes a string hang: nothing at all by default.

    `load`: weight by length over horizontal pull (1/in); `measured`: sag measured at mid-span (in),
    taken as a parabola; `level`: weight of a line level left at mid-span over the pull (no unit);
    `known`: whether a sag was measured, which may be none.
    """

    load: float = 0.0
    measured: float = 0.0
    level: float = 0.0
    known: bool = False

    def below_chord(self, x: ArrayLike, span: float, rise: float = 0.0) -> Floats:
        """Sag (in) at distances `x` (in) from the first end; the far end is `rise` (in) higher.

        The catenary exactly, for ends at unequal heights too; a measured sag as 4 s (x/L)(1 - x/L); a line
        level as two straight halves. Source: catenary y = a cosh((x - c) / a) through both ends, own
        derivation from the identity cosh A - cosh B = 2 sinh((A + B)/2) sinh((A - B)/2).
        """
        x = np.asarray(x, dtype=float)
        sag = 4 * self.measured * (x / span) * (1 - x / span)
        sag = sag + self.level / 2 * np.minimum(x, span - x)
        return np.asarray(sag + self._catenary(x, span, rise), dtype=float)

    def at_mid_span(self, span: float, rise: float = 0.0) -> float:
        """Sag (in) in the middle of the span."""
        return float(self.below_chord(span / 2, span, rise))

    def doubt(self, span: float) -> float:
        """One standard deviation (in) of the sag left at mid-span after correction.

        A fifth of weight over pull, or 1/8 in of a sag measured: common practice, no source.
        """
        if self.known:
            return MEASURED_DOUBT
        return LOAD_DOUBT * (self.load * span**2 / 8 + self.level * span / 4)

    def _catenary(self, x: Floats, span: float, rise: float) -> Floats:
        if self.load == 0:
            return np.zeros_like(x)
        a = 1 / self.load
        c = span / 2 - a * np.arcsinh(rise / (2 * a * np.sinh(span / (2 * a))))
        curve = 2 * a * np.sinh(x / (2 * a)) * np.sinh((x - 2 * c) / (2 * a))
        return np.asarray(np.round(rise * x / span - curve, SAG_DECIMALS), dtype=float)


STRAIGHT = Hang()
"""A string taken as straight."""


def hang_of(
    weight: float | None,
    pull: float | None,
    sag: float | None,
    line_level: float | None,
    span: float,
    slope: float = 0.0,
) -> Hang:
    """How a string hangs by what is known of it; what is None is not corrected for.

    Parameters
    ----------
    weight, pull : lbf/in, lbf
        Weight of the line and pull along it.
    sag : in
        Measured at mid-span, all of it, instead of the pull. With a `line_level` still on it, it is two
        straight halves for the level and a parabola for the line, in the proportion P L / 4 to w L^2 / 8
        whatever the pull (own derivation); a common line where no `weight` is given.
    line_level : lbf
        Weight of a line level left hanging at mid-span; with `pull` or `sag`.
    span : in
        Level distance between the ends.
    slope : rise over run
        Of the chord.
    """
    if sag is not None:
        own, hung = (weight or COMMON_LINE) * span / 2, line_level or 0.0
        share = hung / (own + hung)
        return Hang(measured=sag * (1 - share), level=4 * sag * share / span, known=True)
    if pull is None:
        return Hang()
    level_pull = pull / np.hypot(1.0, slope)
    return Hang(load=(weight or 0.0) / level_pull, level=(line_level or 0.0) / level_pull)


class SharedSag(Struct, frozen=True, kw_only=True):
    """A doubt common to everything read under one string: one parabola, `doubt` (in) at mid-span."""

    start: float
    end: float
    doubt: float

    def shape(self, x: Floats) -> Floats:
        """One standard deviation (in) at stations `x` (in), zero beyond the string."""
        u = np.clip((x - self.start) / (self.end - self.start), 0.0, 1.0)
        return np.asarray(4 * self.doubt * u * (1 - u), dtype=float)
