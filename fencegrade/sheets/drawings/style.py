"""One look for every drawing: colours, line styles, hatches and type, readable in grey and in sunlight.

Colours are the eight of Okabe & Ito, "Color Universal Design", 2002, revised 2008, set 1; greys and tints
of them beside. No meaning is told by colour alone: each has its own line style, hatch or shape, and a word.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from enum import StrEnum
from typing import Any

import matplotlib.style

FONT = "DejaVu Sans"
"""Ships with matplotlib, so that a drawing measures the same on every machine."""

BLACK = "#000000"
ORANGE = "#E69F00"
SKY_BLUE = "#56B4E9"
GREEN = "#009E73"
BLUE = "#0072B2"
VERMILLION = "#D55E00"

LIGHT_GREY = "#E4E4E4"
WHITE = "#FFFFFF"

TITLE_SIZE = 12.0
SUBTITLE_SIZE = 9.0
WORD_SIZE = 8.5
SMALL_SIZE = 7.0
"""Type sizes in points."""

DASHED = (0, (6, 3))
DOTTED = (0, (1, 2))

READING: dict[str, Any] = {
    "ls": "none",
    "marker": "o",
    "ms": 4.2,
    "mfc": WHITE,
    "mec": BLACK,
    "mew": 1.0,
    "clip_on": False,
}
"""A reading: a white ring."""

POINTS = 72
"""Points in an inch of paper."""


class Hatch(StrEnum):
    """Hatches, one for each meaning a surface can have."""

    OFFCUT = "//////"
    DOUBT = "\\\\\\"


_SETTINGS: dict[str, object] = {
    "font.family": [FONT],
    "font.size": WORD_SIZE,
    "text.usetex": False,
    "text.parse_math": False,
    "text.hinting": "no_hinting",
    "text.color": BLACK,
    "svg.fonttype": "none",
    "svg.hashsalt": "fencegrade",
    "svg.image_inline": True,
    "path.simplify": False,
    "hatch.linewidth": 0.6,
    "figure.dpi": POINTS,
    "savefig.dpi": "figure",
    "savefig.bbox": None,
    "savefig.facecolor": WHITE,
    "figure.facecolor": WHITE,
    "axes.unicode_minus": False,
}


@contextmanager
def house_style() -> Iterator[None]:
    """Matplotlib's own defaults with the settings above, whatever the machine is set up with."""
    with matplotlib.style.context(["default", _SETTINGS]):
        yield
