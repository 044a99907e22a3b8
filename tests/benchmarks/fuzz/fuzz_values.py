"""Hostile values, and ways to spoil text, bytes and trees: the raw material of the fuzzing tests."""

import copy
import json
import math
import re
from collections.abc import Iterator
from random import Random
from typing import Any

TEXTS = (
    "",
    " ",
    "x",
    "nan",
    "\x1b[2J\x1b[31mred\x07",
    "<script>alert(1)</script>",
    "</svg><img src=x onerror=alert(1)>",
    "\"&'><",
    "=1+cmd|' /C calc'!A0",
    "+1",
    "@SUM(A1)",
    "../../../etc/passwd",
    "/etc/passwd",
    "/dev/zero",
    "a\u202eb\u200f",
    "\u0665 ft",
    "\ud7ff\ue000\uffff",
    "柵 𝒇𝒆𝒏𝒄𝒆 e\u0301",
    "$\\frac{1}{0}$ \\alpha^{",
    "%s %d {0} {x} \\",
    "x" * 199,
    "x" * 5000,
    "line\nbreak\r\ttab",
    "[/red][bold]",
)
LENGTHS = (
    "0 in",
    "-0 in",
    "1 in",
    "-1 in",
    "1/16 in",
    "1/3 in",
    "1e-9 in",
    "1e-300 in",
    "0.001 in",
    "1e9 in",
    "999999999.99 in",
    "1e400 in",
    "1e6 ft",
    "200 yd",
    "1 mm",
    "0.1 mm",
    "2 m",
    "25.4 mm",
    "1e12 mm",
    "1/0 in",
    "5' 3-1/2\"",
    "5.10",
    "5' 13\"",
    "1,234 ft",
    "1.234,5 mm",
    "nan in",
    "inf ft",
    "3 furlongs",
    "1" * 119 + " in",
    "९ in",
    "10 lbf",
    "1.4 g/m",
    "12 %",
    "1:8",
    "90 deg",
    "40 l",
    "115 mph",
    "20 psf",
    "80 lb",
)
NUMBERS: tuple[Any, ...] = (
    0,
    -1,
    1,
    2,
    3,
    7,
    0.0,
    -0.0,
    0.5,
    1.5,
    1e-308,
    1e308,
    1e15,
    math.nan,
    math.inf,
    -math.inf,
    2**31,
    2**63,
    2**64 + 1,
    10**30,
    9_999_999,
    10_000_001,
    True,
    False,
)
ODD: tuple[Any, ...] = ([], {}, [[]], [{}], [""], [0], {"x": 1}, ["0 ft", "8 ft"], ["0 ft"], [1, "a", {}], "")
WORDS = (
    *("level", "sloped", "stepped", "racked", "contour", "every point", "average", "lower side", "square"),
    *("side by side", "board on board", "shadowbox", "even gaps", "rip last", "rip both ends", "scribed"),
    *("dog-eared", "pointed", "flat", "butted", "lapped", "boards", "soil", "cheapest", "kickboard"),
    *("imperial", "metric", "start", "end", "left", "right", "raked", "along the slope", "before", "after"),
    *("B", "C", "D", "clay", "sand", "rock", "wet", "dry", "16 %", "softwood"),
)
_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")


def hostile(random: Random) -> Any:
    """A value of any kind, mostly out of place."""
    return random.choice(random.choice((TEXTS, LENGTHS, LENGTHS, NUMBERS, ODD, WORDS)))


def scaled_text(text: str, random: Random) -> str:
    """A text with one of its numbers made larger, smaller or of the other sign."""
    found = list(_NUMBER.finditer(text))
    if not found:
        return text
    match = random.choice(found)
    value = float(match[0]) * random.choice((-1, 0, 0.1, 0.5, 0.9, 0.999, 1.001, 1.1, 1.5, 2, 10, 100, 1000))
    value += random.choice((0, 0, 0, 1, -1, 0.001))
    shown = f"{value:.6f}".rstrip("0").rstrip(".")
    return text[: match.start()] + shown + text[match.end() :]


def leaves(tree: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """The path of every value in a tree, branches included."""
    if path:
        yield path
    if isinstance(tree, dict):
        for key, value in tree.items():
            yield from leaves(value, (*path, key))
    elif isinstance(tree, list):
        for index, value in enumerate(tree):
            yield from leaves(value, (*path, index))


def spoil_tree(tree: dict[str, Any], random: Random, gently: bool) -> dict[str, Any]:
    """A copy of a tree with one change: a number scaled, or less gently a value replaced, moved or lost."""
    tree = copy.deepcopy(tree)
    paths = list(leaves(tree))
    if not paths:
        return tree
    path = random.choice(paths)
    holder = tree
    for step in path[:-1]:
        holder = holder[step]
    key, value = path[-1], holder[path[-1]]
    if gently:
        holder[key] = _nudged(value, random)
        return tree
    match random.randrange(8):
        case 0 | 1 | 2:
            holder[key] = hostile(random)
        case 3:
            holder[key] = _nudged(value, random)
        case 4:
            del holder[key]
        case 5 if isinstance(holder, list):
            holder.insert(key, copy.deepcopy(value))
        case 5:
            holder[random.choice(("price", "x", "height", "\x1b[1m", "", "a b", "name"))] = value
        case 6:
            holder[key] = [value] * random.choice((0, 1, 2, 40))
        case _:
            other = random.choice(paths)
            holder[key] = copy.deepcopy(_at(tree, other))
    return tree


def _nudged(value: Any, random: Random) -> Any:
    if isinstance(value, bool):
        return not value
    if isinstance(value, str):
        words = [w for w in WORDS if w != value] if value in WORDS else []
        return random.choice(words) if words else scaled_text(value, random)
    if isinstance(value, int):
        return max(0, value + random.choice((-1, 1, 1, 2, 10)))
    if isinstance(value, float):
        return value * random.choice((0.0, 0.5, 0.99, 1.01, 2.0, 10.0))
    if isinstance(value, list) and value:
        shuffled = [copy.deepcopy(v) for v in value]
        random.shuffle(shuffled)
        return shuffled if random.random() < 0.5 else shuffled[:-1]
    return value


def _at(tree: Any, path: tuple[Any, ...]) -> Any:
    for step in path:
        tree = tree[step]
    return tree


def toml_text(tree: dict[str, Any]) -> str:
    """A tree as TOML, a key a line, inner tables inline."""
    return "".join(f"{_key(k)} = {_value(v)}\n" for k, v in tree.items())


def _key(key: str) -> str:
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else json.dumps(key)


def _value(value: Any) -> str:
    if isinstance(value, dict):
        return "{" + ", ".join(f"{_key(k)} = {_value(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_value, value)) + "]"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return (
            json.dumps(value).replace("\x7f", "\\u007f")
            if max(value, default="") < "\ud800"
            else _wide(value)
        )
    return "nan" if value != value else str(value).replace("1e+308", "1e308")


def _wide(text: str) -> str:
    """A TOML text whose characters beyond the first plane stand for themselves."""
    plain = json.dumps(text, ensure_ascii=False)
    return "".join(c if c.isprintable() or c == " " else f"\\u{ord(c):04x}" for c in plain)


def spoil_bytes(data: bytes, random: Random) -> bytes:
    """Bytes with one accident: flipped, cut off, doubled, stuffed, or in another encoding."""
    at = random.randrange(len(data) + 1)
    match random.randrange(12):
        case 0 | 1:
            return data[:at] + bytes([random.randrange(256)]) + data[at + 1 :]
        case 2:
            return data[:at]
        case 3:
            return data[:at] + data[at:] * 2
        case 4:
            return data[:at] + random.randbytes(random.randrange(1, 40)) + data[at:]
        case 5:
            return data[:at] + random.choice(
                (b"\0", b'"', b"'", b"[", b"{", b"#", b"\n", b"\r", b",", b";", b"\x1b")
            )
        case 6:
            return random.choice((b"\xef\xbb\xbf", b"\xff\xfe", b"\xfe\xff", b"PK\x03\x04")) + data
        case 7:
            codec = random.choice(("utf-16", "utf-16-be", "latin-1", "cp1252", "utf-8-sig"))
            return data.decode("utf-8", "replace").encode(codec, "replace")
        case 8:
            return data.replace(b"\n", random.choice((b"\r\n", b"\r", b"\n\n", b"")))
        case 9:
            return (
                data[:at] + random.choice((b"[", b"{a=", b'"', b"1", b"x,", b"\n", b"-")) * 3000 + data[at:]
            )
        case 10:
            lines = data.split(b"\n")
            random.shuffle(lines)
            return b"\n".join(lines)
        case _:
            lines = data.split(b"\n")
            lines.insert(random.randrange(len(lines)), random.choice(lines))
            return b"\n".join(lines)
