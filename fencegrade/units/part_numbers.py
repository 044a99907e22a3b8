"""Numbers of parts as a builder reads them."""

from collections.abc import Sequence

import numpy as np

_MOST_SHOWN = 6


def numbered(noun: str, indices: Sequence[int] | np.ndarray) -> str:
    """`posts 3-7, 9` for indices counted from 0, ascending; shortened after six ranges.

    `noun`: what is counted, in the singular.
    """
    found = np.asarray(indices, dtype=np.int64)
    groups = np.split(found, np.flatnonzero(np.diff(found) > 1) + 1)
    texts = [f"{g[0] + 1}" if len(g) == 1 else f"{g[0] + 1}-{g[-1] + 1}" for g in groups if len(g)]
    more = f" and {len(texts) - _MOST_SHOWN} more stretches" if len(texts) > _MOST_SHOWN else ""
    return f"{noun}{'' if len(found) == 1 else 's'} {', '.join(texts[:_MOST_SHOWN])}{more}"
