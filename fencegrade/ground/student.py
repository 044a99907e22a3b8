"""Student's t: the chance that it stays under a value, and the value it stays under with a chance.

Of its own, because loading scipy.special takes as long as a whole plan; tests hold it to scipy.special.
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike

from fencegrade.units.arrays import Floats

_SHIFT = 8
"""Steps up before the asymptotic series of the gamma function's ratio is used."""
_SERIES = (1 / 64, -5 / 2048, 61 / 49152, -1385 / 1048576)
_FRACTIONS = 16
"""Fractions taken at least; as many again as the root of half the degrees of freedom."""
_BLOCK = 1 << 14
"""Values worked out at once: what a processor keeps close by."""
_STEPS, _NEAR, _LEAST = 40, 1e-9, 1e-30
"""Most Newton steps, six being usual; the step (part of the value) after which the next is none; and a value
that is not quite zero."""


def chance_under(freedom: ArrayLike, value: ArrayLike) -> Floats:
    """Chance that Student's t stays under a value.

    Parameters
    ----------
    freedom : any shape
        Degrees of freedom, 1 or more, whole or not.
    value : shape of freedom
        In standard deviations; may be infinite.

    Returns
    -------
    shape of both, 0 to 1
        Within 1e-12. Source: DLMF 8.17.5 and 8.17.22 (the regularised incomplete beta function I and its
        continued fraction): P(T > t) = I(v / (v + t^2); v / 2, 1 / 2) / 2.
    """
    v, t = np.broadcast_arrays(np.asarray(freedom, dtype=float), np.asarray(value, dtype=float))
    return _in_blocks(_under, v, t)


def _under(v: Floats, t: Floats) -> Floats:
    tail = _tail(v, np.abs(t))
    return np.where(t < 0, tail, 1 - tail)


def quantile(freedom: ArrayLike, chance: ArrayLike) -> Floats:
    """The value that Student's t stays under with a chance.

    `freedom`: as in `chance_under`; `chance`: 0 to 1, both excluded, one shape. Result: in standard
    deviations. Source: own derivation: the logarithm of the tail is concave in the logarithm of the value, so
    that Newton's steps from a small value go past the root once and then fall to it; never past the value
    whose tail by its highest power alone is as large.
    """
    v, p = np.broadcast_arrays(np.asarray(freedom, dtype=float), np.asarray(chance, dtype=float))
    return _in_blocks(_stays_under, v, p)


def _stays_under(v: Floats, p: Floats) -> Floats:
    tail = np.minimum(p, 1 - p)
    factor = _beta_factor(v)
    t = np.maximum((0.5 - tail) * np.sqrt(v) / factor, _LEAST)
    most = np.exp((np.log(factor / tail) + (v / 2 - 1) * np.log(v)) / v)
    for _ in range(_STEPS):
        found = _tail(v, t)
        density = factor / np.sqrt(v) * np.exp(-(v + 1) / 2 * np.log1p(t * t / v))
        step = found / (t * density) * np.log(found / tail)
        t = np.minimum(t * np.exp(step), most)
        if bool(np.all(np.abs(step) < _NEAR)):
            break
    return np.where(p < 0.5, -t, t) * (tail < 0.5)


def _in_blocks(work: Callable[[Floats, Floats], Floats], one: Floats, other: Floats) -> Floats:
    """`work` on two arrays of one shape, a block of their values at a time."""
    found = np.empty(one.size)
    for k in range(0, one.size, _BLOCK):
        found[k : k + _BLOCK] = work(one.flat[k : k + _BLOCK], other.flat[k : k + _BLOCK])
    return found.reshape(one.shape)


def _tail(v: Floats, t: Floats) -> Floats:
    """Chance that t, zero or more, is passed, by whichever end of the beta function is nearer."""
    with np.errstate(divide="ignore"):
        ratio = t * t / v
        rest = 1 / (1 + 1 / ratio)
    x = 1 / (1 + ratio)
    outer = x < (v / 2 + 1) / (v / 2 + 2.5)
    one, other = np.where(outer, v / 2, 0.5), np.where(outer, 0.5, v / 2)
    power = np.exp(-v / 2 * np.log1p(ratio)) * np.sqrt(rest) * _beta_factor(v) / one
    part = power / _continued(one, other, np.where(outer, x, rest))
    return np.where(outer, part, 1 - part) / 2


def _continued(a: Floats, b: Floats, x: Floats) -> Floats:
    """The incomplete beta function's continued fraction 1 + d1 / (1 + d2 / (1 + ...)), from its far end."""
    terms = _FRACTIONS + int(np.sqrt(max(a.max(), b.max())))
    found = np.ones(x.shape)
    for m in range(terms, -1, -1):
        if m < terms:
            even = (m + 1) * (b - m - 1) / ((a + 2 * m + 1) * (a + 2 * m + 2)) * x
            found = 1 + even / found
        odd = (a + m) * (a + b + m) / ((a + 2 * m) * (a + 2 * m + 1)) * x
        found = 1 - odd / found
    return found


def _beta_factor(v: Floats) -> Floats:
    """1 / B(v / 2, 1 / 2): the gamma function's ratio, risen by steps of one and then by its series.

    Source: DLMF 5.11.8 for the logarithms at z + 3/4 and z + 1/4, whose difference has even powers alone.
    """
    z = v / 2 + _SHIFT
    w = z - 0.25
    logarithm = np.log(w) / 2
    for k, coefficient in enumerate(_SERIES):
        logarithm += coefficient / w ** (2 * k + 2)
    factor: Floats = np.exp(logarithm) / np.sqrt(np.pi)
    for k in range(1, _SHIFT + 1):
        factor *= (z - k) / (z - k + 0.5)
    return factor
