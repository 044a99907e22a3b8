"""How sure the ground between the readings is: spread about the line, chances, and joint draws.

The line stays what it is; the models of `roughness` say how far the true ground may lie from it. A long
survey is seen through overlapping windows, so time and memory grow with its readings.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special

from fencegrade.ground.profile import GroundLine
from fencegrade.ground.roughness import METRE, RoughFit, WindowFit, fit_windows, log_prior
from fencegrade.ground.sag import SharedSag

Floats = NDArray[np.float64]

FREEDOM = 5.0
"""Degrees of freedom of the Student t of rough ground about the line (own measurements on ground
profiles)."""

GAUSSIAN = 200.0
"""Degrees of freedom that are as good as a Gaussian."""

WHOLE = 120
"""A piece of no more readings than this is seen whole."""
WINDOW, STRIDE = 24, 16
"""Readings in a window of a longer piece, and from one window to the next."""
GROUP = 64
"""Stations drawn together; a longer stretch is parted at readings, where little is left to share."""
MOST_MEMBERS = 16
"""Members of the grid that joint draws of a window are taken from."""
KEPT = 64
"""Fitted windows are kept when there are no more than this."""
ENOUGH = 24
"""Readings that together decide the weights of the models; a shorter piece borrows from its neighbours."""

SURPRISE_WIDTH, USUAL = 0.7, 0.8
"""How far a leave-one-out surprise tells about its surroundings, in usual spacings; which quantile is
usual."""
PSEUDO_COUNTS = 4.0
"""Weight of the belief that there is no surprise, in readings."""

BREAK_GAIN, BREAK_HALF = 0.65, 0.08
"""Readings at breaks are where the ground is least like its neighbours; what lies between them is calmer. The
spread is cut by BREAK_GAIN f / (f + BREAK_HALF) for a share f of such readings (own measurements)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Block:
    """One window: readings `first` to `past`, answering for stations from `low` to `high`."""

    first: int
    past: int
    low: float
    high: float

    @property
    def size(self) -> int:
        """Readings in the window."""
        return self.past - self.first


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GroundBand:
    """The spread about a ground line.

    `line` the ground; `count` (n,) readings averaged at each spot; `noise` variance of one reading (in^2);
    `at_break` (n,) which readings were taken at a break; `sags` doubts common to a string.
    """

    line: GroundLine
    count: Floats
    noise: float
    at_break: NDArray[np.bool_]
    sags: tuple[SharedSag, ...] = ()
    _blocks: list[_Block] = field(default_factory=list, repr=False)
    _merit: dict[int, Floats] = field(default_factory=dict, repr=False)
    _states: dict[int, "_State"] = field(default_factory=dict, repr=False)

    def at(self, x: ArrayLike, sag: bool = True) -> "Spread":
        """How the ground spreads about the line at stations `x` (in, any shape).

        `sag` False leaves out the doubts common to a string, which no reading under it can better. Errors:
        ValueError where `x` lies outside the readings.
        """
        x = np.asarray(x, dtype=float)
        flat = x.ravel()
        line = self.line.elevation(flat)
        variance = np.zeros(len(flat))
        for state, inside in self._shares(flat):
            variance[inside] = self._variance(state, flat[inside], line[inside])
        variance = np.maximum(variance, 1e-18)
        rough = np.maximum(variance - self._read(flat), 0.0)
        for common in self.sags if sag else ():
            variance += common.shape(flat) ** 2
        return Spread(
            deviation=np.asarray(np.sqrt(variance).reshape(x.shape), dtype=float),
            freedom=_freedom(rough / variance).reshape(x.shape),
        )

    def deviation(self, x: ArrayLike, sag: bool = True) -> Floats:
        """One standard deviation (in) of the ground about the line at stations `x` (in); as `at`."""
        return self.at(x, sag).deviation

    def band(self, x: ArrayLike, level: float = 0.95) -> tuple[Floats, Floats]:
        """Lowest and highest ground (in) at stations `x` (in) with the chance `level` of holding it."""
        if not 0 < level < 1:
            raise ValueError("the level of a band lies between 0 and 1, such as 0.95")
        half = self.at(x).half_width(level)
        line = self.line.elevation(x)
        return line - half, line + half

    def chance_off(self, x: ArrayLike, tolerance: float) -> Floats:
        """Chance that the ground at stations `x` (in) is off the line by more than `tolerance` (in)."""
        return 2 * self.at(x).beyond(tolerance)

    def _read(self, x: Floats) -> Floats:
        """Variance (in^2) that reading errors alone leave on the straight line between two readings."""
        stations = self.line.stations
        i = np.clip(np.searchsorted(stations, x, side="right") - 1, 0, len(stations) - 2)
        part = np.clip((x - stations[i]) / np.maximum(stations[i + 1] - stations[i], 1e-9), 0.0, 1.0)
        return self.noise * ((1 - part) ** 2 / self.count[i] + part**2 / self.count[i + 1])

    def draws(self, x: ArrayLike, count: int, seed: int = 0) -> Floats:
        """Joint draws of the ground (in) at ascending stations `x` (k,) (in): (count, k).

        Neighbouring stations move together as the models say; `seed` makes the draws the same each time.
        """
        x = np.asarray(x, dtype=float)
        rng = np.random.default_rng(seed)
        line = self.line.elevation(x)
        result = np.tile(line, (count, 1))
        for state, inside in self._shares(x):
            for part in self._by_gap(x, inside):
                result[:, part] += self._errors(state, x[part], line[part], count, rng)
        for sag in self.sags:
            result += rng.standard_normal((count, 1)) * sag.shape(x)
        return result

    def _shares(self, x: Floats) -> Iterator[tuple["_State", NDArray[np.intp]]]:
        """The windows that answer for some of the stations `x`, each with the stations it answers for."""
        if not self._blocks:
            self._blocks.extend(_blocks(self.line))
        highs = np.array([b.high for b in self._blocks])
        owner = np.minimum(np.searchsorted(highs, x, side="right"), len(highs) - 1)
        order = np.argsort(owner, kind="stable")
        parts = [p for p in np.split(order, np.flatnonzero(np.diff(owner[order])) + 1) if len(p)]
        asked = [int(owner[part[0]]) for part in parts]
        yield from zip(self._seen(asked), parts, strict=True)

    def _seen(self, asked: list[int]) -> Iterator["_State"]:
        """The windows asked for, fitted and weighed in batches; only a few are kept."""
        for group in _alike(self._blocks, asked):
            if all(b in self._states for b in group):
                yield from [self._states[b] for b in group]
                continue
            states = self._fresh(group)
            if len(self._blocks) <= KEPT:
                self._states.update(zip(group, states, strict=True))
            yield from states

    def _fresh(self, group: list[int]) -> list["_State"]:
        """Windows of one size, fitted together."""
        fit = self._fit(group)
        merit, surprises = fit.log_likelihood(), fit.surprises()
        reach = SURPRISE_WIDTH * METRE * np.quantile(np.diff(fit.x, axis=1), USUAL, axis=1)
        states = []
        for k, b in enumerate(group):
            rows = slice(self._blocks[b].first, self._blocks[b].past)
            weights = self._weights(b, merit[k])
            states.append(
                _State(
                    stations=self.line.stations[rows],
                    level=float(self.line.elevations[rows].mean()),
                    reach=float(reach[k]),
                    breaks=float(self.at_break[rows].mean()),
                    fit=fit.one(k),
                    weights=weights,
                    surprise=np.einsum("sc,scm->m", weights, surprises[k]),
                )
            )
        return states

    def _weights(self, b: int, merit: Floats) -> Floats:
        """Weights of the models in a window, by its own readings and as many neighbours as it takes."""
        last = len(self._blocks) - 1
        low, high, readings, total = b, b, self._blocks[b].size, merit
        while readings < ENOUGH and (low > 0 or high < last):
            for k in ({low - 1} if low > 0 else set()) | ({high + 1} if high < last else set()):
                total, readings = total + self._merit_of(k), readings + self._blocks[k].size
            low, high = max(low - 1, 0), min(high + 1, last)
        total = total + log_prior()
        weights = np.exp(total - total.max())
        return np.asarray(weights / weights.sum(), dtype=float)

    def _merit_of(self, b: int) -> Floats:
        if b not in self._merit:
            self._merit[b] = self._fit([b]).log_likelihood()[0]
        return self._merit[b]

    def _fit(self, group: Sequence[int]) -> RoughFit:
        rows = [slice(self._blocks[b].first, self._blocks[b].past) for b in group]
        x = np.stack([self.line.stations[r] for r in rows])
        y = np.stack([self.line.elevations[r] for r in rows])
        middle = (x[:, :1] + x[:, -1:]) / 2
        count = np.stack([self.count[r] for r in rows])
        return fit_windows((x - middle) / METRE, y - y.mean(axis=1, keepdims=True), count, self.noise)

    def _variance(self, state: "_State", x: Floats, line: Floats) -> Floats:
        mean, variance = state.fit.predict(state.metres(x), state.weights)
        return np.asarray((variance + (mean + state.level - line) ** 2) * state.stretch(x), dtype=float)

    def _errors(
        self, state: "_State", x: Floats, line: Floats, count: int, rng: np.random.Generator
    ) -> Floats:
        """Draws of true ground less the line at `x`: (count, k)."""
        result = np.empty((count, len(x)))
        members = _spread_choice(state.weights.ravel(), count, rng)
        for member in np.unique(members):
            shape, strength = np.unravel_index(member, state.weights.shape)
            rows = np.flatnonzero(members == member)
            mean, covariance = state.fit.joint(state.metres(x), int(shape), int(strength))
            jitter = 1e-9 * np.trace(covariance) / len(x) + 1e-12
            root = np.linalg.cholesky(covariance + jitter * np.eye(len(x)))
            result[rows] = mean + state.level - line + rng.standard_normal((len(rows), len(x))) @ root.T
        tail = np.sqrt((FREEDOM - 2) / rng.chisquare(FREEDOM, size=(count, 1)))
        return np.asarray(result * tail * np.sqrt(state.stretch(x)), dtype=float)

    def _by_gap(self, x: Floats, inside: NDArray[np.intp], most: int = GROUP) -> list[NDArray[np.intp]]:
        """Stations in runs that end at readings, each of no more than `most` where the readings allow."""
        gap = np.searchsorted(self.line.stations, x[inside], side="right")
        parts = np.split(inside, np.flatnonzero(np.diff(gap)) + 1)
        joined: list[NDArray[np.intp]] = []
        for part in parts:
            if joined and len(joined[-1]) + len(part) <= most:
                joined[-1] = np.concatenate([joined[-1], part])
            else:
                joined.append(part)
        return joined


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _State:
    """A window fitted and weighed; `stations` (m,) and mean `level` of its readings, `reach` (in) of
    surprises, share of `breaks`.
    """

    stations: Floats
    level: float
    reach: float
    breaks: float
    fit: WindowFit
    weights: Floats
    surprise: Floats

    def metres(self, x: Floats) -> Floats:
        """Stations in the window's own metres."""
        return np.asarray((x - (self.stations[0] + self.stations[-1]) / 2) / METRE, dtype=float)

    def stretch(self, x: Floats) -> Floats:
        """Factor on the variance at `x` (in): local surprises, and the gain of readings at breaks."""
        near = np.exp(-0.5 * ((x[:, None] - self.stations[None, :]) / self.reach) ** 2)
        surprise = (PSEUDO_COUNTS + near @ self.surprise) / (PSEUDO_COUNTS + near.sum(axis=1))
        gain = 1 - BREAK_GAIN * self.breaks / (self.breaks + BREAK_HALF)
        return np.asarray(surprise * gain**2, dtype=float)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Spread:
    """Student t of the true ground about the line: standard `deviation` (in) and degrees of `freedom`."""

    deviation: Floats
    freedom: Floats

    @property
    def scale(self) -> Floats:
        """Scale (in) of the Student t."""
        return np.asarray(self.deviation * np.sqrt((self.freedom - 2) / self.freedom), dtype=float)

    def half_width(self, level: float) -> Floats:
        """Half the width (in) of the band that holds the ground with the chance `level`."""
        return np.asarray(special.stdtrit(self.freedom, 0.5 + level / 2) * self.scale, dtype=float)

    def beyond(self, limit: ArrayLike) -> Floats:
        """Chance that the ground lies more than `limit` (in) above the line."""
        return np.asarray(special.stdtr(self.freedom, -np.asarray(limit) / self.scale), dtype=float)


def _freedom(rough: Floats) -> Floats:
    """Degrees of freedom of rough ground and Gaussian reading errors together, `rough` its share of variance.

    That of the Student t with the fourth moment of the sum: excess 6 / (v - 4), times the share squared.
    """
    with np.errstate(divide="ignore"):
        return np.asarray(np.minimum(4 + (FREEDOM - 4) / rough**2, GAUSSIAN), dtype=float)


def _spread_choice(weights: Floats, count: int, rng: np.random.Generator) -> NDArray[np.intp]:
    """Members for `count` draws, evenly spaced through the weights, few enough to factorise each."""
    few = min(count, MOST_MEMBERS)
    ladder = (np.arange(few) + rng.random()) / few
    chosen = np.minimum(np.searchsorted(np.cumsum(weights), ladder), len(weights) - 1)
    return rng.permutation(np.resize(chosen, count))


def _blocks(line: GroundLine) -> list[_Block]:
    """Windows over every piece between faces."""
    x = line.stations
    cuts = np.flatnonzero(np.diff(x) == 0) + 1
    found = []
    for first, past in zip([0, *cuts], [*cuts, len(x)], strict=True):
        found += [
            _Block(first=i, past=j, low=float(x[k]), high=float(x[m])) for i, j, k, m in _windows(first, past)
        ]
    return found


def _windows(first: int, past: int) -> list[tuple[int, int, int, int]]:
    """Windows (first, past) over a piece's readings, and the readings between which each one answers."""
    if past - first <= WHOLE:
        return [(first, past, first, past - 1)]
    lead = (WINDOW - STRIDE) // 2
    edges = [*range(first, past - 1 - STRIDE // 2, STRIDE), past - 1]
    return [(i := max(first, min(k - lead, past - WINDOW)), i + WINDOW, k, m) for k, m in pairwise(edges)]


def _alike(blocks: list[_Block], asked: list[int]) -> Iterator[list[int]]:
    """The blocks asked for in runs of one size, no more of them at a time than stay quick in memory."""
    group: list[int] = []
    for b in asked:
        size = blocks[b].size
        full = len(group) * size >= 64 * WINDOW
        if group and (full or blocks[group[0]].size != size):
            yield group
            group = []
        group.append(b)
    if group:
        yield group
