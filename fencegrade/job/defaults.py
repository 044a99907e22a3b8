"""What is taken where a key is left out: common practice for the job's units, no source.

One place for the reader, the job template and the documentation. Values are written as a builder would
write them in `job.toml`.
"""

import math
from collections.abc import Mapping
from copy import deepcopy
from typing import Any

from fencegrade.fence.tops.table import USUAL
from fencegrade.figures.lumber import Wood
from fencegrade.figures.soil import COMPACTED_TO_LOOSE
from fencegrade.units import UnitSystem, format_length, parse_length, reading_mark
from fencegrade.units.tolerances import SAME_LENGTH

_DEFAULTS: dict[str, dict[str, tuple[Any, Any]]] = {
    "job": {
        "tape": ("1/8 in", "1 mm"),
        "currency": ("", ""),
        "kerf": ("1/8 in", "3 mm"),
        "least_offcut": ("12 in", "300 mm"),
    },
    "top": {
        "style": (str(USUAL), str(USUAL)),
        "least_height": ("6 ft 2 in", "1.85 m"),
        "measured": ("every point", "every point"),
    },
    "pickets": {
        "width": ("5-1/2 in", "140 mm"),
        "thickness": ("5/8 in", "16 mm"),
        "spacing": ("1/4 in", "6 mm"),
        "pattern": ("side by side", "side by side"),
        "fit": ("even gaps", "even gaps"),
        "top_end": ("dog-eared", "dog-eared"),
        "bottom_cut": ("square", "square"),
        "clearance": ("2 in", "50 mm"),
        "most_gap": ("3 in", "75 mm"),
        "most_chance": (0.3, 0.3),
        "spare": (0, 0),
    },
    "posts": {
        "width": ("3-1/2 in", "90 mm"),
        "spacing": ("8 ft", "2.4 m"),
        "height": ("-6 in", "-150 mm"),
        "hole_diameter": ("10 in", "250 mm"),
        "least_depth": ("24 in", "600 mm"),
        "frost_depth": ("0 in", "0 mm"),
        "depth_share": ("1/3", "1/3"),
        "share_tolerance": ("5 %", "5 %"),
        "gate_deeper": ("6 in", "150 mm"),
        "gravel": ("6 in", "150 mm"),
        "gravel_bag": ("50 lb", "25 kg"),
        "wood": (str(Wood.GROUND_CONTACT),) * 2,
        "bag": ("80 lb", "25 kg"),
        "concrete_extra": (1.1, 1.1),
        "stock": (
            [{"length": "8 ft"}, {"length": "10 ft"}, {"length": "12 ft"}],
            [{"length": "2.4 m"}, {"length": "3.0 m"}, {"length": "3.6 m"}],
        ),
    },
    "rails": {
        "height": ("3-1/2 in", "90 mm"),
        "thickness": ("1-1/2 in", "38 mm"),
        "wood": (str(Wood.TREATED),) * 2,
        "top_reveal": ("6 in", "150 mm"),
        "bottom_reveal": ("6 in", "150 mm"),
        "most_overhang": ("12 in", "300 mm"),
        "joint": ("butted", "butted"),
        "stock": (
            [{"length": "8 ft"}, {"length": "10 ft"}, {"length": "12 ft"}],
            [{"length": "2.4 m"}, {"length": "3.0 m"}, {"length": "3.6 m"}],
        ),
    },
    "soil": {
        "low_ground": ("boards", "boards"),
        "most_depth": ("6 in", "150 mm"),
        "crest": ("12 in", "300 mm"),
        "side_slope": (3.0, 3.0),
        "loose_factor": (COMPACTED_TO_LOOSE,) * 2,
        "end_slope": (7.0, 7.0),
        "least_length": ("24 in", "600 mm"),
        "kickboard_width": ("7-1/4 in", "185 mm"),
    },
    "fasteners": {
        "per_crossing": (2, 2),
        "extra": (1.05, 1.05),
        "box": (350, 200),
    },
}

ONLY_BESIDE = {("posts", "share_tolerance"): "depth_share"}
"""A default that is taken only where the job leaves another key to its default as well."""

_BARE_STOCK = (
    [{"length": "6 ft"}, {"length": "8 ft"}, {"length": "10 ft"}],
    [{"length": "1.8 m"}, {"length": "2.1 m"}, {"length": "2.4 m"}, {"length": "3.0 m"}],
)


def default_tables(system: UnitSystem) -> dict[str, dict[str, Any]]:
    """Table by table, the value of each key that may be left out, for one unit system."""
    pick = 0 if system is UnitSystem.IMPERIAL else 1
    tables = {table: {key: pair[pick] for key, pair in keys.items()} for table, keys in _DEFAULTS.items()}
    return deepcopy(tables)


FROM_BOARDS = ("top", "least_height")
"""The default that follows from the boards: the shortest whole over the clearance. In the tables above it is
that of the boards a bare survey is planned with."""


def height_of_whole_boards(pickets: Any, top: Mapping[str, Any], system: UnitSystem) -> str:
    """The least height at which the shortest board stands whole over the clearance, as text.

    `pickets`, `top`: those tables as the job file has them; no more than `most_height`. What cannot be read
    there is told elsewhere; the usual height then stands.
    """
    usual = default_tables(system)
    try:
        shortest = min(parse_length(str(stock["length"])) for stock in pickets["stock"])
        clearance = parse_length(str((usual["pickets"] | pickets)["clearance"]))
        most = parse_length(str(top["most_height"])) if "most_height" in top else math.inf
    except (ValueError, KeyError, TypeError):
        return str(usual["top"]["least_height"])
    mark = reading_mark(system)
    whole = math.floor(min(shortest + clearance, most) / mark + SAME_LENGTH) * mark
    return format_length(whole, system, mark)


def bare_survey_stock(system: UnitSystem) -> list[dict[str, str]]:
    """The picket lengths taken as on offer where a bare survey is planned without a job file."""
    return [dict(s) for s in _BARE_STOCK[0 if system is UnitSystem.IMPERIAL else 1]]
