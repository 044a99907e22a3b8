"""How sure the ground between the readings is: a local law of how far it leaves the line.

The line is never moved. How far a reading stands from the chord of its two neighbours tells how rough the
ground is there; a gap's doubt follows from the roughness at its two ends and of the whole run, its width, and
the reading error. Nothing far away matters but through the run's mean roughness.

      o                       o   readings
       `- .   departure d  . -
            `- . _ | _ . -        chord of the neighbours
                   o

Beside a reading named as one at a break the ground may run straight up to it and bend there at once: what the
line and the chord of its two readings differ by counts there as well.

Source: own measurements on ground profiles (lidar, 16 to 61 m), read every 4 to 10 ft and compared. Every
constant below comes from them.
"""

import numpy as np
from msgspec import Struct
from numpy.typing import ArrayLike
from scipy import special

from fencegrade.ground.cubics import extremes_about_line, mean_square_over_chord, over_chord
from fencegrade.ground.profile import GroundLine
from fencegrade.ground.sag import SharedSag
from fencegrade.units.arrays import Floats, Indices, Truths
from fencegrade.units.tolerances import SAME_LENGTH

UNIT = 96.0
"""Inches; gaps are measured in these, and roughness is told for ground read this far apart."""
USUAL, USUAL_READINGS = 2.0, 2.0
"""Roughness (in) taken before any reading is seen, and how many readings that belief is worth."""
BREAK_SHARE = 0.2
"""What a reading named as one at a break counts of its departure: breaks are where ground is least like its
neighbours."""
BEND = 2.0
"""How many times the square of what the line stands over its chord counts as variance beside a break."""
RUN_READINGS, SHRINK = 2.5, -0.1
"""How many readings the whole run's roughness is worth in one gap, and the power that draws extremes in."""
BOW, SHAPE, END_GAP = 0.36, 1.5, 1.1
"""Scale of the ground in the middle of a gap over roughness x sqrt(gap); power of 4t(1-t) along it; what more
the first and the last gap of a piece have, which are bounded by roughness on one side only."""
FREEDOM, GAUSSIAN = 3.0, 200.0
"""Degrees of freedom of rough ground alone, and those that are as good as a Gaussian."""
TILTS, TILT_WEIGHTS = (-1.73, 0.0, 1.73), (1 / 6, 2 / 3, 1 / 6)
"""Three tilts of a board's ground, in standard deviations, that stand for all (three-point Gauss rule)."""
NO_MATTER = 1 / 16
"""Inches by which an open height may pass its limits before anyone would see it."""
NO_VARIANCE = 1e-18
"""Square inches under which a variance is none."""

CHANCE_DECIMALS = 9
"""Chances are rounded to so many decimals: the last bits of a special function differ by processor."""
BLOCK = 50_000
"""Boards whose chances are worked out at once, so that memory stays small over a hundred miles of them."""
COMMON_SHARE = 0.75
"""Share of a gap's rough variance in draws that is one bow of the whole gap; the rest is a Brownian bridge.
With it neighbouring points of a draw differ as the tilts of boards do (own derivation)."""


class Spread(Struct, frozen=True, kw_only=True, eq=False):
    """Student t of the true ground about the line: its `scale` (in) and degrees of `freedom`, one shape."""

    scale: Floats
    freedom: Floats

    def half_width(self, level: float) -> Floats:
        """Half the width (in) of the band that holds the ground with the chance `level` (0 to 1)."""
        if not 0 < level < 1:
            raise ValueError("the level of a band lies between 0 and 1, such as 0.95")
        return self.above(0.5 + level / 2)

    def above(self, chance: ArrayLike) -> Floats:
        """How far (in) above the line the ground stays under with a `chance` (0 to 1); negative below it."""
        quantile = special.stdtrit(self.freedom, np.asarray(chance, dtype=float))
        return np.asarray(quantile * self.scale, dtype=np.float64)

    def beyond(self, limit: ArrayLike) -> Floats:
        """Chance that the ground lies more than `limit` (in) above the line."""
        return np.asarray(special.stdtr(self.freedom, -np.asarray(limit) / self.scale), dtype=float)


class GroundBand(Struct, frozen=True, kw_only=True, eq=False):
    """The spread about a ground line.

    `line` the ground; `variance` (n,) of the reading error at each spot (in^2); `roughness` (n - 1,) of each
    gap (in, as read `UNIT` apart); `middle` (n - 1,) scale of rough ground half way along each gap (in);
    `at_break` (n,) whether the builder names a reading as one at a break;
    `sags` doubts common to a string, and whether they are `counted`: they cancel in every length where the
    tops are marked from a string pulled the same way.
    """

    line: GroundLine
    variance: Floats
    roughness: Floats
    middle: Floats
    at_break: Truths
    sags: tuple[SharedSag, ...] = ()
    counted: bool = False

    def at(self, x: ArrayLike, sag: bool | None = None) -> Spread:
        """How the ground spreads about the line.

        Parameters
        ----------
        x : any shape, in
            Stations within the readings.
        sag : bool
            Whether to add the doubt common to all that was read under one string; as `counted` if None.

        Returns
        -------
        Spread, shape of x
            scale^2 = rough + read + bend^2, at part t of the gap: rough = middle^2 (4t(1-t))^1.5, read =
            s0^2 (1-t)^2 + s1^2 t^2, and bend^2 twice the square of what the line stands over the gap's chord
            beside a reading at a break; freedom = 3 (scale^2 / rough)^2, at most 200.
        """
        x = np.asarray(x, dtype=float)
        gap, part = self.place(x)
        common = sum((s.shape(x) ** 2 for s in self._common(sag)), np.zeros(x.shape))
        read = self.variance[gap] * (1 - part) ** 2 + self.variance[gap + 1] * part**2
        return _spread(self.middle[gap] ** 2, part, read + common + self._bend(gap, part) ** 2)

    def _bend(self, gap: Indices, part: Floats) -> Floats:
        """Standard deviation (in) of ground that may bend at once at a break beside it, 0 elsewhere.

        It has a sign: positive where the line stands over the chord of its readings.
        """
        if not self.at_break.any():
            return np.zeros(part.shape)
        beside = self.at_break[gap] | self.at_break[gap + 1]
        return np.where(beside, np.sqrt(BEND) * over_chord(self.line, gap, part), 0.0)

    def _common(self, sag: bool | None) -> tuple[SharedSag, ...]:
        return self.sags if (self.counted if sag is None else sag) else ()

    def halved(self, x: ArrayLike) -> Spread:
        """As `at`, had every gap one more reading in its middle that is as good as its neighbours'.

        The ground is taken to be as rough as before: a reading not yet taken tells nothing of that. It is no
        reading at a break.
        """
        gap, part = self.place(np.asarray(x, dtype=float))
        second = part > 0.5
        near = np.where(second, self.variance[gap + 1], self.variance[gap])
        between = (self.variance[gap] + self.variance[gap + 1]) / 2
        within = 2 * np.where(second, 1 - part, part)
        beside = self.at_break[np.where(second, gap + 1, gap)]
        bend = np.where(beside, BEND * over_chord(self.line, gap, part, steps=2) ** 2, 0.0)
        read = near * (1 - within) ** 2 + between * within**2
        return _spread(self.middle[gap] ** 2 / 2, within, read + bend)

    def mean_variance(self) -> Floats:
        """Mean squared scale (in^2) along each gap (n - 1,): rough ground, reading error and bends together.

        Source: the integral of (4t(1-t))^1.5 is 8 B(5/2, 5/2) = 3 pi / 16, that of t^2 is 1/3.
        """
        beside = self.at_break[1:] | self.at_break[:-1]
        bend = np.where(beside, BEND * mean_square_over_chord(self.line), 0.0)
        return self.middle**2 * (3 * np.pi / 16) + (self.variance[1:] + self.variance[:-1]) / 3 + bend

    def tilt(self, left: Floats, right: Floats) -> Floats:
        """Standard deviation (in) of how much more the ground rises across each board (n,) than the line.

        Over a reading the rougher of the two gaps counts.
        """
        middle = (left + right) / 2
        about = np.add.outer([-SAME_LENGTH, SAME_LENGTH], middle)
        gaps = np.clip(np.searchsorted(self.line.stations, about) - 1, 0, len(self.roughness) - 1)
        rough = self.roughness[gaps].max(axis=0)
        bend = self._bend(*self.place(right)) - self._bend(*self.place(left))
        return np.asarray(np.hypot(BOW * rough * np.sqrt((right - left) / UNIT), bend), dtype=float)

    def place(self, x: Floats) -> tuple[Indices, Floats]:
        """The gap each station (in) stands in and the part of the gap before it, 0 to 1."""
        stations = self.line.stations
        if x.size and not (x.min() >= stations[0] and x.max() <= stations[-1]):
            raise ValueError("stations must lie within the readings")
        gap = np.clip(np.searchsorted(stations, x, side="right") - 1, 0, len(stations) - 2)
        return gap, (x - stations[gap]) / (stations[gap + 1] - stations[gap])

    def draws(self, x: ArrayLike, count: int, seed: int = 0, sag: bool | None = None) -> Floats:
        """Joint draws of the ground.

        Parameters
        ----------
        x : (k,) in
            Stations, ascending.
        count : int
            How many whole ground lines to draw.
        seed : int
            Makes the draws the same each time.
        sag : bool
            As in `at`; one amount a string and draw.

        Returns
        -------
        (count, k) in
            Elevations. At every station they have exactly the law of `at`. Errors of readings are independent
            and run straight between them; within a gap three quarters of the rough variance is one bow, the
            rest a Brownian bridge, what it may bend at a break is one amount, and all of it is stretched by
            one chi-square quantile a gap; gaps share nothing but the reading between them. Source: own
            derivation.
        """
        x = np.asarray(x, dtype=float)
        rng = np.random.default_rng(seed)
        gap, part = self.place(x)
        used, own = np.unique(gap, return_inverse=True)
        bow, level = rng.standard_normal((count, len(used))), rng.random((count, len(used)))
        bridge = _bridges(self.line.stations, x, gap, part, rng, count)
        rough = np.sqrt(COMMON_SHARE) * bow[:, own] + np.sqrt(1 - COMMON_SHARE) * bridge
        error = rough * self.middle[gap] * (4 * part * (1 - part)) ** (SHAPE / 2)
        ends, which = np.unique(np.concatenate([used, used + 1]), return_inverse=True)
        read = rng.standard_normal((count, len(ends))) * np.sqrt(self.variance[ends])
        first, last = which[: len(used)][own], which[len(used) :][own]
        error += read[:, first] * (1 - part) + read[:, last] * part
        if (bend := self._bend(gap, part)).any():
            error += rng.standard_normal((count, len(used)))[:, own] * bend
        freedom = self.at(x, sag=False).freedom
        error *= np.sqrt(freedom / (2 * special.gammaincinv(freedom / 2, level[:, own])))
        for common in self._common(sag):
            error += rng.standard_normal((count, 1)) * common.shape(x)
        return np.asarray(self.line.elevation(x) + error, dtype=float)

    def chance_outside(
        self,
        left: ArrayLike,
        right: ArrayLike,
        foot: ArrayLike,
        least: ArrayLike,
        most: ArrayLike,
        slope: ArrayLike = 0.0,
        sag: bool | None = None,
        halved: bool = False,
    ) -> Floats:
        """Chance that a board cut to its foot stands with an open height outside `least` to `most`.

        Parameters
        ----------
        left, right : (n,) in
            Stations of the board's edges.
        foot : (n,) in
            Elevation of its bottom at the left edge.
        least, most : (n,) in
            Least open height over the highest ground under it, most over the lowest.
        slope : (n,) rise over run
            Of the bottom cut: 0 for a square cut, that of the cut for a scribed one.
        sag : bool
            As in `at`.
        halved : bool
            As it would be with one more reading in the middle of the gap, see `halved`.

        Returns
        -------
        (n,), 0 to 1
            Level error by the law at the board's middle, and a tilt across it by three points; 1/16 in more
            or less at a limit does not count. Source: own derivation.
        """
        parts = np.broadcast_arrays(
            *(np.asarray(v, dtype=float) for v in (left, right, foot, least, most, slope))
        )
        chance = np.empty(parts[0].shape)
        for k in range(0, chance.size, BLOCK):
            some = (part.reshape(-1)[k : k + BLOCK] for part in parts)
            chance.reshape(-1)[k : k + BLOCK] = self._chance_outside(*some, sag=sag, halved=halved)
        return chance

    def _chance_outside(
        self,
        a: Floats,
        b: Floats,
        bottom: Floats,
        low_limit: Floats,
        high_limit: Floats,
        slope: Floats,
        *,
        sag: bool | None,
        halved: bool,
    ) -> Floats:
        spread = self.halved((a + b) / 2) if halved else self.at((a + b) / 2, sag)
        deviation = self.tilt(a, b)
        at_left, at_right, high, low = _against(self.line, a, b, slope)
        chance = np.zeros(a.shape)
        for tilt, weight in zip(TILTS, TILT_WEIGHTS, strict=True):
            half = tilt * deviation / 2
            top = high if tilt == 0 else np.maximum(at_left - half, at_right + half)
            base = low if tilt == 0 else np.minimum(at_left - half, at_right + half)
            chance += weight * spread.beyond(bottom - low_limit + NO_MATTER - top)
            chance += weight * spread.beyond(base - (bottom - high_limit - NO_MATTER))
        return np.asarray(np.round(np.minimum(chance, 1.0), CHANCE_DECIMALS), dtype=float)


def ground_band(
    line: GroundLine,
    reading_error: float,
    at_break: Truths,
    count: ArrayLike = 1.0,
    sags: tuple[SharedSag, ...] = (),
    counted: bool = False,
) -> GroundBand:
    """The spread about a line, from the departures of its readings.

    Parameters
    ----------
    line : GroundLine
        n readings; a face parts them, and departures are taken within a piece.
    reading_error : in
        One standard deviation of a reading.
    at_break : (n,)
        Readings the builder names as ones at a break.
    count : (n,)
        Readings averaged at each spot.
    sags : doubts common to a string.
    counted : whether they count.

    Returns
    -------
    GroundBand
        Source: own measurements, see the module.
    """
    widths = np.diff(line.stations) / UNIT
    variance = np.broadcast_to(reading_error**2 / np.asarray(count, dtype=float), line.stations.shape)
    trust, steep, run = _roughness(line, widths, variance, at_break)
    pull, weight = trust * steep, trust
    roughness = (RUN_READINGS * run + pull[:-1] + pull[1:]) / (RUN_READINGS + weight[:-1] + weight[1:])
    roughness *= (roughness / USUAL) ** SHRINK
    open_ = np.concatenate([[False], widths > 0, [False]])
    ends = np.where(open_[:-2] & open_[2:], 1.0, END_GAP)
    return GroundBand(
        line=line,
        variance=variance,
        roughness=roughness,
        middle=BOW * roughness * np.sqrt(widths) * ends,
        at_break=at_break,
        sags=sags,
        counted=counted,
    )


def _roughness(
    line: GroundLine, widths: Floats, variance: Floats, at_break: Truths
) -> tuple[Floats, Floats, float]:
    """Trust v (n,), roughness r (n,) (in) at each reading, zero at ends of pieces; and that of the run.

    r = d / sqrt(g + e/R^2), v = g / (g + e/R^2), with the departure d of a reading from its neighbours'
    chord, g = hl hr / (hl + hr) and its reading variance e; R = (2 x 2 in + sum v r) / (2 + sum v).
    """
    inner = np.flatnonzero((widths[:-1] > 0) & (widths[1:] > 0)) + 1
    before, after = widths[inner - 1], widths[inner]
    a, b = after / (before + after), before / (before + after)
    z, s = line.elevations, variance
    departure = np.abs(z[inner] - a * z[inner - 1] - b * z[inner + 1])
    departure = departure * np.where(at_break[inner], BREAK_SHARE, 1.0)
    reach = before * after / (before + after)
    error = s[inner] + a**2 * s[inner - 1] + b**2 * s[inner + 1]
    run = USUAL
    for _ in range(2):
        v, r = _trusted(departure, reach, error, run)
        run = float((USUAL_READINGS * USUAL + np.sum(v * r)) / (USUAL_READINGS + np.sum(v)))
    trust, steep = np.zeros(len(z)), np.zeros(len(z))
    trust[inner], steep[inner] = _trusted(departure, reach, error, run)
    return trust, steep, run


def _trusted(departure: Floats, reach: Floats, error: Floats, run: float) -> tuple[Floats, Floats]:
    whole = reach + error / run**2
    return reach / whole, departure / np.sqrt(whole)


def _spread(middle_squared: Floats, part: Floats, read: Floats) -> Spread:
    """Rough ground and reading errors together, at a part of a gap."""
    rough = middle_squared * (4 * part * (1 - part)) ** SHAPE
    whole = np.maximum(rough + read, NO_VARIANCE)
    with np.errstate(divide="ignore", over="ignore"):
        freedom = np.minimum(FREEDOM * (whole / rough) ** 2, GAUSSIAN)
    return Spread(scale=np.sqrt(whole), freedom=np.asarray(freedom, dtype=float))


def _against(line: GroundLine, a: Floats, b: Floats, slope: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """Ground at both edges of boards, and its highest and lowest, about the slope of their bottom cuts."""
    under = line.under(a, b)
    if not slope.any():
        return under.left, under.right, under.highest, under.lowest
    high, low = extremes_about_line(line, a, b, slope)
    return under.left, under.right - slope * (b - a), high, low


def _bridges(
    stations: Floats, x: Floats, gap: Indices, part: Floats, rng: np.random.Generator, count: int
) -> Floats:
    """Brownian bridges over the gaps at stations `x`, brought to a variance of one: (count, k)."""
    first, last = stations[gap], stations[gap + 1]
    knots = np.unique(np.concatenate([first, x, last]))
    walk = np.cumsum(rng.standard_normal((count, len(knots))) * np.sqrt(np.diff(knots, prepend=knots[0])), 1)
    here, start, end = (walk[:, np.searchsorted(knots, v)] for v in (x, first, last))
    size = np.sqrt(np.maximum((last - first) * part * (1 - part), NO_VARIANCE))
    return np.asarray((here - (1 - part) * start - part * end) / size, dtype=float)
