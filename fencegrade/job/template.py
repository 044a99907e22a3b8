"""What `new` writes to be filled in: a commented job and a blank survey, in the units asked for."""

import json
from collections.abc import Collection, Iterator
from typing import Any

from fencegrade.job import fields
from fencegrade.job.as_built import AsBuilt, BuiltRun, CutAlike, TopPoint
from fencegrade.job.defaults import bare_survey_stock, default_tables
from fencegrade.job.schema import Key, Table, is_choice, keys, tables
from fencegrade.units import UnitSystem

_OPEN = ("top", "pickets")
"""Tables that stand open in the template; the others are remarks that hold the defaults."""

_ADVICE = {
    ("pickets", "width"): "actual width: measure ten boards from the pile",
    ("job", "currency"): 'sign printed before money, such as "$"',
}


def job_template(system: UnitSystem) -> str:
    """A commented `job.toml`: every key there is, with its default or an example, and the price list."""
    return "\n".join(_template_lines(system)) + "\n"


def _template_lines(system: UnitSystem) -> Iterator[str]:
    imperial = system is UnitSystem.IMPERIAL
    defaults = default_tables(system)
    yield "# A fence job. Lengths are texts with their unit: " + (
        '"6 ft", "5-1/2 in", "5\' 3-1/2\\""' if imperial else '"1.8 m", "95 mm"'
    )
    yield "# Lines that start with # are remarks, and a value in one is an example, not what is taken:"
    yield "# write your own as you take the # away."
    yield ""
    yield "[job]"
    yield 'title = "My fence"'
    yield f'units = "{system}"'
    yield from _keys("job", defaults["job"])
    yield from _others(_record("job"), {"title", "units", *defaults["job"]}, system)
    yield ""
    yield from _run_lines(system)
    rest = [t for t in tables() if len(t.path) == 1 and t.path[0] not in ("job", "run")]
    for table in (t for t in rest if t.path[0] in _OPEN):
        yield from _table_lines(table, system, "")
    for number, stock in enumerate(bare_survey_stock(system)[: 2 if imperial else 3]):
        yield from ("", *_stock_lines("pickets", stock["length"], explained=number == 0))
    yield ""
    yield "## What follows holds the defaults: take the # away where yours are others."
    for table in (t for t in rest if t.path[0] not in _OPEN):
        yield from _table_lines(table, system, "# ")
        for inner in (
            t for t in tables() if t.path[0] == table.path[0] and t.path[1:] not in ((), ("stock",))
        ):
            yield f"# {inner.heading}"
            yield from _others(inner.record, set(), system)


def _table_lines(table: Table, system: UnitSystem, mark: str) -> Iterator[str]:
    """A table and the stock usual for it, every line of them after `mark`; its other keys as remarks."""
    (name,) = table.path
    usual = default_tables(system).get(name, {})
    stock = usual.pop("stock", [])
    yield ""
    yield f"{mark}{table.heading}"
    yield from (f"{mark}{line}" for line in _keys(name, usual))
    yield from _others(table.record, set(usual), system)
    for one in stock:
        lines = _stock_lines(name, one["length"], explained=False)
        yield from (f"{mark}{line.removeprefix('# ')}" for line in lines)


def _run_lines(system: UnitSystem) -> Iterator[str]:
    near, far = ("0 ft", "96 ft") if system is UnitSystem.IMPERIAL else ("0 m", "29 m")
    yield "[[run]]                        # one straight line; repeat the table for the next side"
    yield 'name = "north side"'
    yield 'survey = "north.csv"           # distances from the string down to the ground'
    yield _line("# start", near, "default: the first reading")
    yield _line("# end", far, "default: the last reading")
    every = list(tables())
    own = next(t for t in every if t.path == ("run",))
    yield from _others(own.record, {"name", "survey", "start", "end"}, system)
    for table in (t for t in every if t.path[0] == "run" and len(t.path) > 1):
        yield f"# {table.heading:<28} # {_WHEN.get(table.path[-1], 'repeat the table for the next')}"
        yield from _others(table.record, set(), system)


def _others(record: Any, shown: Collection[str], system: UnitSystem) -> Iterator[str]:
    """Every key of a table that is not shown yet, as a remark with an example."""
    for key in keys(record):
        if key.name not in shown and key.table is None:
            yield _line(f"# {key.name}", _example(record, key, system), _remark(key))


def _example(record: Any, key: Key, system: UnitSystem) -> Any:
    """A value a key may have, in the units of the system."""
    if is_choice(key.kind):
        return str(next(iter(key.kind)))
    at = 0 if system is UnitSystem.IMPERIAL else 1
    for name in (f"{record.__name__}.{key.name}", key.name):
        if name in _OWN_EXAMPLES:
            return _OWN_EXAMPLES[name][at]
    one = next((values for kind, values in _EXAMPLES if key.kind == kind), ("...", "..."))[at]
    return [one] if key.listed else one


_WHEN = {
    "string": "only if the string was not level, was set up more than once, or sagged",
    "gate": "an opening; repeat the table for the next",
}

_OWN_EXAMPLES: dict[str, tuple[Any, Any]] = {
    "most_height": ("7 ft", "2 m"),
    "reading_error": ("1/8 in", "3 mm"),
    "most_misclosure": ("1/2 in", "12 mm"),
    "most_offset": ("2 ft", "0.6 m"),
    "from_xy": (["0 ft", "0 ft"], ["0 m", "0 m"]),
    "to_xy": (["40 ft", "0 ft"], ["12 m", "0 m"]),
    "swing_rise": (["1 in", "1-1/2 in", "2 in"], ["25 mm", "40 mm", "50 mm"]),
    "widths": (["5-1/2 in", "5-9/16 in"], ["140 mm", "141 mm"]),
    "fixed": (["0 ft", "48 ft"], ["0 m", "15 m"]),
    "BuiltRun.name": ("north side", "north side"),
    "BoardsLeft.length": ("8 ft", "2.4 m"),
    "BoardsLeft.count": (14, 14),
    "PicketUp.width": ("5-9/16 in", "137 mm"),
    "PostSet.number": (3, 3),
    "PostSet.station": ("16 ft 1/2 in", "4.89 m"),
    "PostSet.top": ("66 in", "1680 mm"),
    "number": (43, 43),
    "far_edge": ("19 ft 3-1/2 in", "5.88 m"),
    "kept": ("71-1/4 in", "1810 mm"),
    "gap": ("7/32 in", "6 mm"),
    "lean": (["3/8 in", "4 ft"], ["9 mm", "1.2 m"]),
    "drop": (["71-1/4 in", "71-3/4 in"], ["1810 mm", "1822 mm"]),
    "start": ("10 ft", "3 m"),
    "end": ("14 ft", "4.2 m"),
    "station": ("12 ft", "3.6 m"),
    "id": ("A", "A"),
    "join": ("south side", "south side"),
    "StringLine.start": ("0 ft", "0 m"),
    "StringLine.end": ("48 ft", "15 m"),
    "StringLine.fall": ("3 in", "75 mm"),
    "Gate.width": ("4 ft", "1.2 m"),
    "ExistingPost.height": ("6 ft", "1.8 m"),
    "OpenStretch.height": ("4 in", "100 mm"),
    "ClearanceStretch.height": ("3 in", "75 mm"),
    "left_edge": ("18 ft 10 in", "5.74 m"),
    "most_step": ("8 in", "200 mm"),
    "moisture_now": ("wet", "wet"),
    "moisture_service": ("dry", "dry"),
    "Posts.thickness": ("3-1/2 in", "90 mm"),
    "gate_width": ("5-1/2 in", "140 mm"),
    "gate_thickness": ("5-1/2 in", "140 mm"),
    "gate_hole_diameter": ("14 in", "350 mm"),
    "Stock.length": ("10 ft", "3.0 m"),
    "Stock.price": (12.5, 12.5),
    "Stock.limit": (0, 0),
    "bearing": ("1-1/2 in", "40 mm"),
    "Rails.count": (3, 3),
    "Soil.price": (38.0, 38.0),
    "gravel_bag_price": (5.2, 5.2),
    "bag_price": (6.5, 6.5),
    "gravel_bags_on_hand": (4, 4),
    "bags_on_hand": (12, 12),
    "box_price": (14.0, 14.0),
    "framing_box_price": (18.0, 18.0),
    "hinge_price": (9.0, 9.0),
    "latch_price": (17.5, 17.5),
    "drop_rod_price": (16.0, 16.0),
    "rails_an_hour": (6.0, 6.0),
    "pickets_an_hour": (20.0, 20.0),
    "payload": ("1200 lb", "500 kg"),
    "first": (12, 12),
    "last": (18, 18),
}
"""Examples by the name of a key, or by record and key where another record has one of that name."""

_EXAMPLES: tuple[tuple[Any, tuple[Any, Any]], ...] = (
    (fields.Length, ("2 ft", "0.6 m")),
    (fields.Extent, ("1 in", "25 mm")),
    (fields.Size, ("4 ft", "1.2 m")),
    (fields.Pull, ("10 lbf", "45 N")),
    (fields.LineWeight, ("0.001 lb/ft", "1.4 g/m")),
    (fields.Mass, ("0.1 lb", "40 g")),
    (fields.Volume, ("1 cu ft", "40 l")),
    (fields.Speed, ("115 mph", "51 m/s")),
    (fields.Pressure, ("20 psf", "1 kPa")),
    (fields.Angle, ("90 deg", "90 deg")),
    (fields.Slope, ("6 %", "6 %")),
    (fields.Price, (4.1, 4.1)),
    (fields.Count, (1, 1)),
    (fields.Factor, (1.1, 1.1)),
    (fields.Rate, (2.0, 2.0)),
    (fields.Share, (0.1, 0.1)),
    (fields.SideSlope, (3.0, 3.0)),
    (fields.Sign, ("$", "EUR")),
    (bool, (True, True)),
)


def _stock_lines(table: str, length: str, explained: bool) -> Iterator[str]:
    yield f"[[{table}.stock]]"
    yield f'length = "{length}"'
    if explained:
        yield "# price = 0.00                 # fill in for every length, or for none"
        yield "# on_hand = 0                  # how many are already there, used first at no cost"
        yield "# limit = 0                    # where no more can be bought; leave it out otherwise"
    else:
        yield from ("# price = 0.00", "# on_hand = 0", "# limit = 0")


def _keys(table: str, values: dict[str, Any]) -> Iterator[str]:
    known = {key.name: key for key in keys(_record(table))}
    for name, value in values.items():
        yield _line(name, value, _ADVICE.get((table, name)) or _remark(known[name]))


def _record(table: str) -> Any:
    return next(t.record for t in tables() if t.path == (table,))


def _remark(key: Key) -> str:
    """What documents the key, with the words it may be where the line does not name them."""
    if is_choice(key.kind) and not all(choice in key.description for choice in key.kind):
        return f"{key.description}: {' | '.join(key.kind)}"
    return key.description


def _line(name: str, value: Any, remark: str) -> str:
    return f"{f'{name} = {json.dumps(value)}':<30} # {remark}"


def blank_survey(system: UnitSystem) -> str:
    """A survey with its heading and a few stations whose readings are still to be written."""
    stations, step = (range(0, 17, 4), "4 ft") if system is UnitSystem.IMPERIAL else (range(6), "1.2 m")
    rows = "".join(f"# {s},\n" for s in stations)
    return (
        "# Measure from the string straight down to the soil, "
        f"every {step} or closer and at every visible break.\n"
        "# Take the # away as you fill in a line; add as many as you need.\n"
        f"{survey_heading(system)}\n{rows}"
    )


def survey_heading(system: UnitSystem) -> str:
    """The heading of a survey of string readings in the units of the system."""
    return "station [ft],drop [in]" if system is UnitSystem.IMPERIAL else "station [m],drop [mm]"


def blank_built(system: UnitSystem) -> str:
    """A `built.toml` with nothing in it yet: every row that what stands may need, as remarks."""
    lines = [
        "# What stands, once building begins: every command reads it here, beside job.toml. Take the # away",
        "# from what you write; `fencegrade resume` can write into it as well.",
    ]
    for table in tables(AsBuilt):
        if table.record not in (TopPoint, CutAlike):
            lines.append(f"# {table.heading:<28} # {table.words}")
            own = _WRITTEN_BY_PROGRAM if table.record is BuiltRun else ()
            lines += _others(table.record, own, system)
    return "\n".join(lines) + "\n"


_WRITTEN_BY_PROGRAM = ("style", "limit", "board_width")
"""Keys of what stands that keeping an edge writes, for nobody to fill in."""
