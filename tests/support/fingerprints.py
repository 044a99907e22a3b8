"""Where things are drawn and what stands in the data, in few lines: how many of a kind, their numbers summed.

A pin and no proof: it says that something moved, and the drawing or the page is then to be looked at.
"""

import io
import json
import math
import re
import zlib
from collections import defaultdict
from pathlib import Path

NUMBER = re.compile(r"-?(?:\d+\.?\d*|\.\d+)")
TAG = re.compile(r"<([a-z]+)\b([^>]*)>")
UNDRAWN = re.compile(r"(?s)<(style|script|metadata)\b.*?</\1>")
KINDS = (
    *("style", "fill", "stroke", "stroke-width", "stroke-dasharray", "class", "role", "type", "font-size"),
    *("font-weight", "text-anchor", "name", "value", "inputmode", "maxlength", "data-head", "aria-label"),
)
PLACED = re.compile(r'\b(?:d|x|y|x1|y1|x2|y2|cx|cy|r|width|height|textLength|transform|viewBox)="([^"]*)"')
TEXTS = re.compile(r"\((?:[^()\\]|\\.)*\)")


def fingerprint(name: str, data: bytes) -> list[str]:
    """Lines about a file, none for a kind that is compared in other ways."""
    match Path(name).suffix:
        case ".svg" | ".html":
            return [_line(kind, numbers) for kind, numbers in _marked(data.decode()).items()]
        case ".pdf":
            from pypdf import PdfReader

            pages = (page.get_contents() for page in PdfReader(io.BytesIO(data)).pages)
            return [f"{k} {_painted(page.get_data())}" for k, page in enumerate(pages, 1) if page is not None]
        case ".json":
            return _kept(json.loads(data))
    return []


def _line(kind: str, numbers: list[list[float]]) -> str:
    """How many of a kind, the sums of their numbers at odd and at even places, and how far all lie from 0.

    What grows to both sides leaves the sums as they were.
    """
    if not any(numbers):
        return f"{kind}: {len(numbers)}"
    sums = [sum(n for one in numbers for n in one[k::2]) for k in (0, 1)]
    far = math.sqrt(sum(n * n for one in numbers for n in one))
    return f"{kind}: {len(numbers)} at " + " ".join(f"{s:.1f}" for s in (*sums, far))


def _marked(text: str) -> dict[str, list[list[float]]]:
    found: dict[str, list[list[float]]] = defaultdict(list)
    for tag, written in TAG.findall(UNDRAWN.sub(" ", text)):
        said = dict(re.findall(r'([\w-]+)="([^"]*)"', written))
        kind = " ".join([tag, *(f"{k}={said[k]}" for k in KINDS if k in said)])
        found[kind].append([float(n) for place in PLACED.findall(written) for n in NUMBER.findall(place)])
    return found


def _painted(content: bytes) -> str:
    """One line a page: each operator of the page description (ISO 32000-1, annex A) with its operands."""
    found: dict[str, list[list[float]]] = defaultdict(list)
    operands: list[float] = []
    for token in TEXTS.sub("", content.decode("latin-1")).replace("[", " ").replace("]", " ").split():
        if NUMBER.fullmatch(token):
            operands.append(float(token))
        elif not token.startswith("/"):
            found[token].append(operands)
            operands = []
    return "; ".join(_line(operator, numbers) for operator, numbers in sorted(found.items()))


def _kept(data: object) -> list[str]:
    found: dict[str, list[str]] = defaultdict(list)

    def walk(at: object, path: str) -> None:
        match at:
            case dict():
                for key, value in at.items():
                    walk(value, f"{path}.{key}")
            case list():
                for value in at:
                    walk(value, path)
            case _:
                found[path].append(json.dumps(at))

    walk(data, "")
    return [f"{path}: {len(values)} {_alike(values)}" for path, values in found.items()]


def _alike(values: list[str]) -> str:
    """The value that all have, or a sum that another value or order would change."""
    return values[0] if len(set(values)) == 1 else f"{zlib.crc32(' '.join(values).encode()):08x}"
