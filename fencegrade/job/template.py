"""What `new` writes: a commented job and a blank survey, in the units asked for."""

import json
from collections.abc import Iterator
from typing import Any

from fencegrade.job.defaults import default_tables
from fencegrade.units import UnitSystem

_COMMENTS = {
    ("job", "tape"): "kept lengths are rounded down to this mark",
    ("job", "currency"): 'sign printed before money, such as "$"',
    ("job", "kerf"): "width of the saw's cut",
    ("job", "least_offcut"): "shortest offcut worth keeping",
    ("top", "style"): "level | sloped | stepped | racked | contour",
    ("top", "least_height"): "nowhere lower than this above the ground",
    ("top", "measured"): "how your local rule measures: every point | average | lower side",
    ("pickets", "width"): "actual width: measure ten boards from the pile",
    ("pickets", "thickness"): "actual thickness",
    ("pickets", "spacing"): "wanted space between pickets, edge to edge",
    ("pickets", "pattern"): "side by side | board on board | shadowbox",
    ("pickets", "fit"): "even gaps | rip last | rip both ends",
    ("pickets", "top_end"): "dog-eared | pointed | flat",
    ("pickets", "bottom_cut"): "square | scribed",
    ("pickets", "clearance"): "wanted space under a picket",
    ("pickets", "most_gap"): "largest open height that may stay under one",
}

_TABLES = ("top", "pickets")


def job_template(system: UnitSystem) -> str:
    """A commented `job.toml`: every key of the main job with its default, the price list to be filled in."""
    return "\n".join(_template_lines(system)) + "\n"


def _template_lines(system: UnitSystem) -> Iterator[str]:
    imperial = system is UnitSystem.IMPERIAL
    defaults = default_tables(system)
    yield "# A fence job. Lengths are texts with their unit: " + (
        '"6 ft", "5-1/2 in", "5\' 3-1/2\\""' if imperial else '"1.8 m", "95 mm"'
    )
    yield "# Lines that start with # are remarks; take the # away to use them."
    yield ""
    yield "[job]"
    yield 'title = "My fence"'
    yield f'units = "{system}"'
    yield from _keys("job", defaults["job"])
    yield ""
    yield "[[run]]                        # one straight line; repeat the table for the next side"
    yield 'name = "north side"'
    yield 'survey = "north.csv"           # distances from the string down to the ground'
    far, near, wide = ("96 ft", "40 ft", "4 ft") if imperial else ("29 m", "12 m", "1.2 m")
    yield f'# start = "{"0 ft" if imperial else "0 m"}"               # default: the first reading'
    yield f'# end = "{far}"                # default: the last reading'
    yield "# [[run.gate]]"
    yield f'# station = "{near}"'
    yield f'# width = "{wide}"'
    yield "# [[run.string]]               # only if the string was not level, or was set up more than once"
    yield f'# start = "{"0 ft" if imperial else "0 m"}"'
    yield f'# end = "{far}"'
    yield f'# fall = "{"0 in" if imperial else "0 mm"}"               # how much lower its far end is'
    yield f'# weight = "{"0.001 lb/ft" if imperial else "1.4 g/m"}"      # with pull: the sag is corrected'
    yield f'# pull = "{"10 lbf" if imperial else "45 N"}"'
    for table in _TABLES:
        yield ""
        yield f"[{table}]"
        yield from _keys(table, defaults[table])
        if table == "top":
            limit = "7 ft" if imperial else "2 m"
            yield f'# most_height = "{limit}"        # local limit, flagged where passed'
    for length in ("6 ft", "8 ft") if imperial else ("1.8 m", "2.1 m", "2.4 m"):
        yield ""
        yield "[[pickets.stock]]"
        yield f'length = "{length}"'
        yield "# price = 0.00                # fill in for every length, or for none"
        yield "# on_hand = 0                 # boards already there, used first at no cost"


def _keys(table: str, keys: dict[str, Any]) -> Iterator[str]:
    for key, value in keys.items():
        left = f"{key} = {json.dumps(value)}"
        yield f"{left:<30} # {_COMMENTS[table, key]}"


def blank_survey(system: UnitSystem) -> str:
    """A survey with its heading and a few stations whose readings are still to be written."""
    unit, drop = ("ft", "in") if system is UnitSystem.IMPERIAL else ("m", "mm")
    stations = range(0, 17, 4) if system is UnitSystem.IMPERIAL else range(6)
    rows = "".join(f"# {s},\n" for s in stations)
    return (
        "# Measure from the string straight down to the soil, every few feet and at every visible break.\n"
        "# Take the # away as you fill in a line; add as many as you need.\n"
        f"station [{unit}],drop [{drop}]\n{rows}"
    )
