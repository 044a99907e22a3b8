"""What `new` writes to be filled in: a commented job and a blank survey, in the units asked for."""

import json
from collections.abc import Iterator
from typing import Any

from fencegrade.job.defaults import bare_survey_stock, default_tables
from fencegrade.job.schema import Key, is_choice, keys, tables
from fencegrade.units import UnitSystem

_OPEN = ("top", "pickets")
"""Tables that stand open in the template; the others are remarks that hold the defaults."""

_ADVICE = {
    ("pickets", "width"): "actual width: measure ten boards from the pile",
    ("job", "currency"): 'sign printed before money, such as "$"',
}


def job_template(system: UnitSystem) -> str:
    """A commented `job.toml`: every key that has a default with it, and the price list to be filled in."""
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
    yield from _run_lines(imperial)
    for table in _OPEN:
        yield ""
        yield f"[{table}]"
        yield from _keys(table, defaults[table])
        if table == "top":
            yield _line("# most_height", "7 ft" if imperial else "2 m", "local limit, flagged where passed")
    for number, stock in enumerate(bare_survey_stock(system)[: 2 if imperial else 3]):
        yield from ("", *_stock_lines("pickets", stock["length"], explained=number == 0))
    yield ""
    yield "## What follows holds the defaults: take the # away where yours are others."
    for table in (t for t in defaults if t not in ("job", *_OPEN)):
        yield ""
        yield f"# [{table}]"
        stock = defaults[table].pop("stock", [])
        yield from (f"# {line}" for line in _keys(table, defaults[table]))
        for one in stock:
            lines = _stock_lines(table, one["length"], explained=False)
            yield from (f"# {line.removeprefix('# ')}" for line in lines)


def _run_lines(imperial: bool) -> Iterator[str]:
    near, far, wide = ("0 ft", "96 ft", "4 ft") if imperial else ("0 m", "29 m", "1.2 m")
    yield "[[run]]                        # one straight line; repeat the table for the next side"
    yield 'name = "north side"'
    yield 'survey = "north.csv"           # distances from the string down to the ground'
    yield _line("# start", near, "default: the first reading")
    yield _line("# end", far, "default: the last reading")
    yield "# [[run.gate]]                 # an opening; repeat the table for the next"
    yield _line("# station", "40 ft" if imperial else "12 m", "its near edge")
    yield _line("# width", wide, "clear width")
    yield "# [[run.string]]               # only if the string was not level, or was set up more than once"
    yield _line("# start", near, "station of its first end")
    yield _line("# end", far, "station of its far end")
    yield _line("# fall", "0 in" if imperial else "0 mm", "how much lower its far end is")
    yield _line("# weight", "0.001 lb/ft" if imperial else "1.4 g/m", "with pull: the sag is corrected")
    yield _line("# pull", "10 lbf" if imperial else "45 N", "how hard it was pulled")


def _stock_lines(table: str, length: str, explained: bool) -> Iterator[str]:
    yield f"[[{table}.stock]]"
    yield f'length = "{length}"'
    if explained:
        yield "# price = 0.00                 # fill in for every length, or for none"
        yield "# on_hand = 0                  # how many are already there, used first at no cost"
    else:
        yield "# price = 0.00"


def _keys(table: str, values: dict[str, Any]) -> Iterator[str]:
    record = next(t.record for t in tables() if t.path == (table,))
    known = {key.name: key for key in keys(record)}
    for name, value in values.items():
        yield _line(name, value, _ADVICE.get((table, name)) or _remark(known[name]))


def _remark(key: Key) -> str:
    """What documents the key, with the words it may be where the line does not name them."""
    if is_choice(key.kind) and not all(choice in key.description for choice in key.kind):
        return f"{key.description}: {' | '.join(key.kind)}"
    return key.description


def _line(name: str, value: Any, remark: str) -> str:
    return f"{f'{name} = {json.dumps(value)}':<30} # {remark}"


def blank_survey(system: UnitSystem) -> str:
    """A survey with its heading and a few stations whose readings are still to be written."""
    stations = range(0, 17, 4) if system is UnitSystem.IMPERIAL else range(6)
    rows = "".join(f"# {s},\n" for s in stations)
    return (
        "# Measure from the string straight down to the soil, every few feet and at every visible break.\n"
        "# Take the # away as you fill in a line; add as many as you need.\n"
        f"{survey_heading(system)}\n{rows}"
    )


def survey_heading(system: UnitSystem) -> str:
    """The heading of a survey of string readings in the units of the system."""
    return "station [ft],drop [in]" if system is UnitSystem.IMPERIAL else "station [m],drop [mm]"
