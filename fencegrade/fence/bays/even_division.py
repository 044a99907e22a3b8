"""The most even division of a length into parts, where each part has a largest size and each cut a window.

a      [lo hi]      [lo hi]            b
|---------o------------o---------------|      the cuts o as evenly spread as windows and
 largest       largest      largest           largest parts allow
"""

import numpy as np

from fencegrade.units.arrays import Floats

_CLOSE = 1e-10
"""Inches by which a cut may miss its window before the window is called on."""

_SPREAD = 1e-6
"""Inches by which the largest parts together may fall short of the length."""


def divide_evenly(a: float, b: float, low: Floats, high: Floats, most: Floats) -> Floats | None:
    """Cuts that divide [a, b] most evenly: least sum of squared parts.

    `low`, `high`: (n - 1,) windows of the cuts; `most`: (n,) largest size of each part; all in the unit of
    `a` and `b`. Result: (n - 1,) cuts, or None where the parts cannot fill the length. Without windows every
    part is the smaller of a common size and its own largest. The cut that misses its window most must stand
    on the window's edge, so it is put there and both sides are divided anew. Source: own derivation; the
    same split is known for the shortest path in a tube (taut string) and for nested resource allocation.
    """
    cuts = np.concatenate([[a], np.zeros(len(most) - 1), [b]])
    waiting = [(0, len(most))]
    while waiting:
        first, last = waiting.pop()
        parts = _fill(cuts[last] - cuts[first], most[first:last])
        if parts is None:
            return None
        inner = cuts[first] + np.cumsum(parts)[:-1]
        missed = np.maximum(inner - high[first : last - 1], low[first : last - 1] - inner)
        if not len(missed) or missed.max() <= _CLOSE:
            cuts[first + 1 : last] = inner
            continue
        k = int(np.argmax(missed))
        over = inner[k] > high[first + k]
        cuts[first + k + 1] = high[first + k] if over else low[first + k]
        waiting += [(first, first + k + 1), (first + k + 1, last)]
    return cuts[1:-1]


def _fill(length: float, most: Floats) -> Floats | None:
    """Parts that add up to `length`: the smaller of a common size and each one's largest.

    A hair of length that the largest parts leave over is spread on all of them.
    """
    if length > most.sum() + _SPREAD or length < 0:
        return None
    ordered = np.sort(most)
    count = len(ordered)
    below = np.concatenate([[0.0], np.cumsum(ordered)])[:-1]
    k = min(int(np.searchsorted(below + ordered * np.arange(count, 0, -1), length)), count - 1)
    parts = np.minimum(most, (length - below[k]) / (count - k))
    return np.asarray(parts + (length - parts.sum()) / count)
