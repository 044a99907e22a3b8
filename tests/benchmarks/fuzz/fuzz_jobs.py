"""Jobs to be fuzzed: sound ones of every kind, and random ones drawn from the job file's own tables."""

import json
from collections.abc import Callable
from dataclasses import dataclass, field
from random import Random
from typing import Any

from fuzz_values import LENGTHS, hostile, scaled_text, spoil_bytes, spoil_tree, toml_text

from fencegrade.job import fields
from fencegrade.job.schema import Key, is_choice, keys, tables

Tree = dict[str, Any]


@dataclass(slots=True, kw_only=True)
class Case:
    """One run of the command: the files of the folder it runs in, and the words after `fencegrade`.

    A file whose content is a text is a symbolic link to that path; None is a folder. Lines in `typed` are
    what somebody types at a terminal; without any there is no terminal. Then come the words of commands that
    must go as well where the first went (`after`).
    """

    words: list[str]
    files: dict[str, bytes | str | None] = field(default_factory=dict)
    typed: list[str] = field(default_factory=list)
    after: list[str] = field(default_factory=list)


def _stock(*lengths: str, price: float | None = None) -> list[Tree]:
    return [{"length": n} | ({"price": price + k} if price else {}) for k, n in enumerate(lengths)]


IMPERIAL: Tree = {
    "job": {"title": "Herb garden", "units": "imperial", "tape": "1/8 in", "currency": "$"},
    "run": [
        {
            "name": "lane side",
            "survey": "a.csv",
            "start": "0 ft",
            "end": "24 ft",
            "gate": [{"station": "10 ft", "width": "3 ft 6 in"}],
            "clearance": [{"start": "0 ft", "end": "4 ft", "height": "1 in"}],
        }
    ],
    "top": {"style": "level", "least_height": "4 ft", "most_height": "5 ft 6 in"},
    "pickets": {
        "width": "3-1/2 in",
        "spacing": "1-3/4 in",
        "stock": _stock("4 ft", "5 ft", "6 ft", price=3.15),
    },
    "soil": {"low_ground": "cheapest", "price": 40.0},
}
METRIC: Tree = {
    "job": {"title": "Paddock lane", "units": "metric", "tape": "1 mm", "currency": "€", "kerf": "3 mm"},
    "run": [
        {
            "name": "lane",
            "survey": "b.csv",
            "stations_taped": "along the slope",
            "string": [
                {"id": "A", "start": "0 m", "end": "5 m", "height": "0 mm", "fall": "-90 mm", "sag": "4 mm"},
                {
                    "id": "B",
                    "start": "4 m",
                    "end": "9 m",
                    "fall": "50 mm",
                    "weight": "1.4 g/m",
                    "pull": "45 N",
                },
            ],
            "keep_open": [{"start": "3.6 m", "end": "4.2 m", "height": "100 mm"}],
            "no_post": [{"start": "6 m", "end": "6.3 m"}],
        },
        {"name": "return", "survey": "c.csv", "root": [{"start": "1 m", "end": "1.4 m"}]},
    ],
    "top": {"style": "contour", "least_height": "1.5 m"},
    "pickets": {
        "width": "90 mm",
        "spacing": "12 mm",
        "fit": "rip both ends",
        "top_end": "flat",
        "bottom_cut": "scribed",
        "stock": _stock("1.5 m", "1.8 m", "2.4 m"),
    },
    "site": {"wind_speed": "40 m/s", "soil": "sand", "sets_depth": True},
    "soil": {"low_ground": "kickboard", "kickboard": _stock("2.4 m")},
}
POINTS: Tree = {
    "job": {"title": "Corner by points", "units": "metric"},
    "run": [{"name": "p", "survey": "d.csv", "from_xy": ["0 m", "0 m"], "to_xy": ["10 m", "0 m"]}],
    "top": {"style": "racked"},
    "pickets": {"pattern": "board on board", "stock": _stock("1.8 m", "2.4 m", price=2.0)},
}
SURVEYS: dict[str, str] = {
    "a.csv": "station [ft],drop [in],note\n0,20,oak post\n6,20 1/4,\n10,24,\n14,30,\n18,22,\n24,20,\n",
    "b.csv": "station [m];drop [mm];string;side\n0;180;A;\n1,5;151;A;\n3;161;A;\n4;170;A;\n5;172;A;\n"
    "4;120;B;\n5;125;B;\n7;130;B;before\n7;180;B;after\n9;140;B;\n",
    "c.csv": "station [m]\tbacksight [m]\tintermediate [m]\tforesight [m]\tknown [m]\tnote\n"
    "\t1.2\t\t\t100\tbm\n0\t\t1.31\t\t\t\n2\t\t1.42\t\t\t\n4\t1.1\t\t1.5\t\t\n6\t\t1.0\t\t\t\n\t\t\t0.9\t99.9\tend\n",
    "d.csv": "x [m],y [m],z [m]\n0,0,12.1\n2.5,0.02,12.3\n5,-0.01,12.2\n7.5,0,11.9\n10,0.01,12.0\n",
    "e.csv": "station,elevation,side\n0 m,0 m,\n3 m,0.1 m,before\n3 m,-0.3 m,after\n6 m,0.2 m,\n9 m,0.1 m,\n",
}
LISTS: dict[str, str] = {
    "l.json": '{"kerf": "1/8 in", "stock": [{"length": "96 in", "price": 7.2, "on_hand": 2},'
    ' {"length": "120 in", "price": 9.4, "limit": 40}], "pieces": [{"length": "31-1/2 in", "count": 12,'
    ' "name": "side"}, {"length": "15 3/4 in", "count": 7}]}',
    "l.csv": "what,length [in],count,price,name\npiece,31 1/2,12,,planter side\nstock,96,,7.20,\n"
    "kerf,1/8,,,\n",
    "m.json": '{"kerf": 3, "stock": [{"length": 2400}, {"length": 3000}],'
    ' "pieces": [{"length": 700, "count": 9}]}',
}
BUILT: Tree = {
    "run": [
        {
            "name": "lane side",
            "picket": [{"number": 3, "far_edge": "1 ft 2 in", "width": "3-1/2 in", "kept": "50 in"}],
            "post": [{"number": 2, "station": "8 ft 1 in", "top": "45 in"}],
            "measured": [{"number": 7, "drop": ["50 in", "51 in"]}, {"number": 8, "drop": "50 in"}],
            "later": [{"first": 1, "last": 2}],
        }
    ],
    "left": [{"length": "5 ft", "count": 30}],
}
BUILT_METRIC: Tree = {
    "run": [
        {
            "name": "lane",
            "picket": [{"number": 2, "far_edge": "204 mm", "kept": "1480 mm"}],
            "post": [{"number": 1, "station": "0 m"}],
            "measured": [{"number": 4, "drop": "1.52 m"}],
        },
        {"name": "return", "later": [{"first": 3, "last": 5}]},
    ],
    "left": [{"length": "1.8 m", "count": 60}],
}
TOPS = ("level", "sloped", "stepped", "racked", "contour")
_LIKELY: dict[Any, tuple[str, ...]] = {
    fields.Length: ("0 in", "-6 in", "4 in", "5 ft", "12 ft", "2 m", "100 mm"),
    fields.Extent: ("0 in", "1 in", "6 in", "2 ft", "150 mm"),
    fields.Size: ("1/2 in", "3-1/2 in", "1 ft", "6 ft", "90 mm", "2.4 m"),
    fields.Pull: ("10 lbf", "45 N"),
    fields.LineWeight: ("1.4 g/m", "0.001 lb/ft"),
    fields.Mass: ("15 g", "80 lb"),
    fields.Volume: ("40 l", "1 cu ft"),
    fields.Speed: ("115 mph", "40 m/s"),
    fields.Pressure: ("20 psf", "1 kPa"),
    fields.Angle: ("90 deg", "100 deg"),
    fields.Slope: ("6 %", "-1:8"),
    fields.Text: ("A", "lane side", "wet", "16 %", "=1+1"),
    fields.Sign: ("$", "€", ""),
}
_NUMERIC: dict[Any, Callable[[Random], Any]] = {
    fields.Price: lambda r: r.choice((0, 0.0, 4.1, 7, 1e9)),
    fields.Count: lambda r: r.choice((0, 1, 2, 3, 30, 10_000_000)),
    fields.Factor: lambda r: r.choice((1, 1.0, 1.25, 3.0)),
    fields.Rate: lambda r: r.choice((0.01, 2, 30.0)),
    fields.Share: lambda r: r.choice((0.0, 0.1, 0.6)),
    fields.SideSlope: lambda r: r.choice((0, 1.0, 3.0, 20)),
}


def likely_value(key: Key, random: Random) -> Any:
    """A value a builder might write for a key; now and then a scaled one."""
    if key.table is not None:
        inner = {
            k.name: likely_value(k, random) for k in keys(key.table) if k.required or random.random() < 0.4
        }
        return [inner] * random.choice((1, 1, 2)) if key.listed else inner
    if is_choice(key.kind):
        value: Any = str(random.choice(list(key.kind)))
    elif key.kind in _LIKELY:
        value = random.choice(_LIKELY[key.kind])
        if random.random() < 0.2:
            value = scaled_text(value, random)
    elif key.kind in _NUMERIC:
        value = _NUMERIC[key.kind](random)
    elif key.kind is bool:
        value = random.random() < 0.5
    else:
        value = random.choice(LENGTHS[:6])
    if key.listed:
        return [value] * random.choice((1, 2, 3))
    return [value, value] if key.kind == fields.Point else value


def random_job(random: Random) -> Tree:
    """A sound job with a few keys of the job reference added, each with a likely value."""
    tree = spoil_tree(random.choice((IMPERIAL, IMPERIAL, METRIC, POINTS)), random, gently=True)
    every = [t for t in tables() if t.path[0] != "run" or len(t.path) == 1]
    for _ in range(random.randrange(1, 6)):
        table = random.choice(every)
        key = random.choice(list(keys(table.record)))
        holder: Any = tree
        for step in table.path:
            holder = holder.setdefault(step, {}) if isinstance(holder, dict) else {}
            holder = random.choice(holder) if isinstance(holder, list) and holder else holder
        if isinstance(holder, dict) and key.name != "survey":
            holder[key.name] = likely_value(key, random)
    return tree


def spoil_survey(text: str, random: Random) -> str:
    """A survey with one row or cell changed, its stations moved, or its readings scattered."""
    lines = text.splitlines()
    separator = next((s for s in "\t;," if s in lines[0]), ",")
    row = random.randrange(len(lines))
    cells = lines[row].split(separator)
    match random.randrange(9):
        case 0 | 1:
            cells[random.randrange(len(cells))] = str(hostile(random))
        case 2 | 3:
            at = random.randrange(len(cells))
            cells[at] = scaled_text(cells[at], random)
        case 4:
            return "\n".join(lines[:row] + lines[row + 1 :]) + "\n"
        case 5:
            lines.insert(random.randrange(len(lines)), lines[row])
        case 6:
            index = random.randrange(len(cells))
            factor = random.choice((1e-6, 1e-3, 0.1, 10, 30, 1e6, -1) if index == 0 else (1e-3, 10, 1000, -1))
            return _column(lines, separator, index, lambda v: v * factor)
        case 7:
            shift = random.choice((1e-3, 1000, 12345, 41234.56789, 1e6, -1e6, 1e9))
            return _column(lines, separator, random.randrange(len(cells)), lambda v: v + shift)
        case _:
            spread = random.choice((0.01, 1, 30))
            return _column(lines, separator, 1, lambda v: v + random.gauss(0, spread))
    lines[row] = separator.join(cells)
    return "\n".join(lines) + "\n"


def _column(lines: list[str], separator: str, index: int, change: Callable[[float], float]) -> str:
    changed = [lines[0]]
    for line in lines[1:]:
        cells = line.split(separator)
        try:
            value = change(float(cells[index].replace(",", ".")))
            cells[index] = f"{value:.5f}".replace(".", "," if separator == ";" else ".")
        except (ValueError, IndexError):
            pass
        changed.append(separator.join(cells))
    return "\n".join(changed) + "\n"


_OPTIONS: dict[str, list[list[str]]] = {
    "plan": [
        [],
        [],
        ["--json"],
        ["--top", "level"],
        ["--top", "sloped", "--json"],
        ["--top", "stepped", "--json"],
        ["--top", "racked"],
        ["--top", "contour", "--json"],
    ],
    "check": [[], ["--json"]],
    "compare": [[], ["--json"]],
    "heights": [[], ["--json"]],
}


def job_case(random: Random) -> Case:
    """A job with one to three accidents, and a command on it."""
    command = random.choice(("plan", "plan", "plan", "check", "check", "heights", "compare"))
    kind = random.random()
    if kind < 0.45:
        tree = random_job(random)
    else:
        tree = random.choice((IMPERIAL, METRIC, POINTS))
        for _ in range(random.choice((0, 1, 1, 2, 3))):
            tree = spoil_tree(tree, random, gently=kind < 0.75)
    surveys = dict(SURVEYS)
    if random.random() < 0.4:
        name = random.choice(list(surveys))
        surveys[name] = spoil_survey(surveys[name], random)
    files: dict[str, bytes | str | None] = {n: t.encode() for n, t in surveys.items()}
    files["job.toml"] = toml_text(tree).encode("utf-8", "replace")
    if random.random() < 0.15:
        name = random.choice(list(files))
        data = files[name]
        assert isinstance(data, bytes)
        files[name] = spoil_bytes(data, random)
    return Case(words=[command, ".", *random.choice(_OPTIONS[command])], files=files)


def survey_case(random: Random) -> Case:
    """A bare survey with accidents."""
    name = random.choice(list(SURVEYS))
    text = SURVEYS[name]
    for _ in range(random.choice((0, 1, 1, 2, 3))):
        text = spoil_survey(text, random)
    data = text.encode("utf-8", "replace")
    if random.random() < 0.3:
        data = spoil_bytes(data, random)
    command = random.choice(("plan", "plan", "check", "heights", "compare"))
    return Case(words=[command, name, *random.choice(_OPTIONS[command])], files={name: data})


def list_case(random: Random) -> Case:
    """A cut list with accidents."""
    name = random.choice(list(LISTS))
    text = LISTS[name]
    if name.endswith("json"):
        tree = json.loads(text)
        for _ in range(random.choice((0, 1, 1, 2))):
            tree = spoil_tree(tree, random, gently=random.random() < 0.6)
        text = json.dumps(tree)
    else:
        for _ in range(random.choice((0, 1, 2))):
            text = spoil_survey(text, random)
    data = text.encode("utf-8", "replace")
    if random.random() < 0.2:
        data = spoil_bytes(data, random)
    more = random.choice(([], ["--json"]))
    return Case(words=["boards", name, "--seconds", "0.2", *more], files={name: data})


def option_case(random: Random) -> Case:
    """`plumb`, `resume` and odd options, with hostile words in their places."""
    files: dict[str, bytes | str | None] = {n: t.encode() for n, t in SURVEYS.items()}
    files["job.toml"] = toml_text(IMPERIAL).encode()
    built = BUILT
    for _ in range(random.choice((0, 1, 2))):
        built = spoil_tree(built, random, gently=random.random() < 0.5)
    files["built.toml"] = toml_text(built).encode("utf-8", "replace")
    words = list(
        random.choice(
            (
                ["plumb", "--lean", "3/8 in", "--over", "4 ft", "--height", "6 ft", "--boards", "6"],
                [
                    "plumb",
                    "--lean",
                    "3/8 in",
                    "--over",
                    "4 ft",
                    "--job",
                    ".",
                    "--after",
                    "5",
                    "--toward",
                    "end",
                ],
                ["plumb", "--lean", "9 mm", "--over", "1.2 m", "--limit", "2 mm", "--spacing", "8 mm"],
                ["resume", ".", "--after", "3", "--at", "1 ft 2 in", "--left", "5 ft:40"],
                ["resume", "."],
                ["resume", ".", "--json"],
                ["plan", ".", "--top", "level", "--json"],
                ["boards", "job.toml", "--seconds", "1"],
                ["check", "a.csv", "--json"],
            )
        )
    )
    for _ in range(random.choice((0, 1, 1, 2))):
        if len(words) < 2:
            break
        at = random.randrange(1, len(words))
        match random.randrange(4):
            case 0:
                words[at] = str(hostile(random)).replace("\0", "")
            case 1:
                words[at] = scaled_text(words[at], random)
            case 2:
                del words[at]
            case _:
                words.insert(at, words[random.randrange(len(words))])
    return Case(words=[w for w in words if "\0" not in w] or ["--help"], files=files)


def record_case(random: Random) -> Case:
    """A job of which a part stands, under every top and command; its record is kept now and then."""
    tree, built = random.choice(((IMPERIAL, BUILT), (METRIC, BUILT_METRIC)))
    tree = spoil_tree(tree, random, gently=True) if random.random() < 0.3 else tree
    tree = {**tree, "top": {**tree["top"], "style": random.choice(TOPS)}}
    for _ in range(random.choice((0, 1, 1, 2))):
        built = spoil_tree(built, random, gently=random.random() < 0.7)
    files: dict[str, bytes | str | None] = {n: t.encode() for n, t in SURVEYS.items()}
    files["job.toml"] = toml_text(tree).encode("utf-8", "replace")
    files["built.toml"] = toml_text(built).encode("utf-8", "replace")
    number = random.choice((1, 3, 5, 20, 60))
    at = random.choice(("1 ft 2 in", "8 ft", "21 ft 3/8 in", "500 mm", "2.4 m"))
    kept = ["resume", ".", "--after", str(number), "--at", at, "--keep"]
    some = [["resume", "."], ["resume", ".", "--json"], ["heights", "."], ["check", "."], ["compare", "."]]
    words = random.choice([kept, kept, *some, ["plan", ".", "--json"], ["plan", ".", "--out", "sheets"]])
    return Case(words=words, files=files, after=["plan", ".", "--json"] if words is kept else [])


def sheets_case(random: Random) -> Case:
    """A job with one accident, and every sheet, drawing and page of it."""
    case = job_case(random)
    command = random.choice((["plan", "."], ["plan", ".", "--top", random.choice(TOPS)], ["compare", "."]))
    case.words = [*command, "--out", "sheets"]
    return case


def new_case(random: Random) -> Case:
    """A job asked for at a terminal, with likely, hostile and missing answers, or made without one."""
    files: dict[str, bytes | str | None] = {}
    if random.random() < 0.3:
        files = {n: t.encode() for n, t in SURVEYS.items()}
        tree = random.choice((IMPERIAL, METRIC, POINTS))
        files["job.toml"] = toml_text(spoil_tree(tree, random, gently=True)).encode("utf-8", "replace")
    words = ["new", "."]
    if random.random() < 0.3:
        name = random.choice(list(SURVEYS))
        files[name] = spoil_survey(SURVEYS[name], random).encode("utf-8", "replace")
        words += ["--survey", name]
    words += [w for w in ("--metric", "--blank", "--force") if random.random() < 0.15]
    typed = [_typed(random) for _ in range(random.choice((0, 0, 2, 8, 60)))]
    return Case(words=words, files=files, typed=typed)


def _typed(random: Random) -> str:
    draw = random.random()
    if draw < 0.35:
        return ""
    if draw < 0.5:
        return random.choice(("back", "skip", "?", "yes", "no", "done", "readings", "change", "questions"))
    if draw < 0.9:
        return random.choice((*LENGTHS[:6], "4 ft", "6 in", "1.8 m", "level", "30", "3", "1", "0", "24 ft"))
    return str(hostile(random)).replace("\n", " ").replace("\r", " ")


def any_case(random: Random) -> Case:
    """A case of any kind."""
    draw = random.random()
    kinds = (
        (0.5, job_case),
        (0.63, survey_case),
        (0.73, list_case),
        (0.81, option_case),
        (0.91, record_case),
        (0.93, sheets_case),
    )
    return next((kind for most, kind in kinds if draw < most), new_case)(random)
