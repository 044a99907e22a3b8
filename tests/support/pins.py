"""What functions give over many sizes, kept in a line each: a pin and no proof.

Checks by hand stand beside it; it sees what they leave out, at sizes that lie on limits too. Made again with
`FENCEGRADE_KEEP=1` in the environment, as `python -m tests.refresh_samples` does.
"""

import os
import zlib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict
from enum import Enum
from pathlib import Path
from typing import Any

import numpy as np
from msgspec import Struct, structs

from fencegrade.problems import Problem

KEEP = "FENCEGRADE_KEEP"


def flat(value: Any) -> str:
    """A value in words, numbers to a millionth, records by their fields."""
    match value:
        case Problem():
            return f"{value.severity} {value}"
        case None | int() | str() | Enum():
            return str(value)
        case float():
            return f"{round(value, 6) + 0.0}"
        case np.generic():
            return flat(value.item())
        case np.ndarray():
            return f"[{' '.join(flat(one) for one in value.tolist())}]"
        case Mapping():
            return f"{{{' '.join(f'{key} {flat(one)}' for key, one in value.items())}}}"
        case tuple() | list():
            return f"[{' '.join(map(flat, value))}]"
    return flat(structs.asdict(value) if isinstance(value, Struct) else asdict(value))


def pinned(name: str, value: Any) -> str:
    """A line about a value: the begin of it, and a sum that another would change."""
    text = flat(value)
    return f"  {name}: {text[:72]} {zlib.crc32(text.encode()):08x}"


def as_pinned(kept: Path, lines: Iterable[str]) -> None:
    """Lines are those that were kept in this file."""
    made = list(lines)
    if os.environ.get(KEEP):
        kept.write_text("\n".join([*made, ""]), encoding="utf-8")
    assert made == kept.read_text(encoding="utf-8").splitlines(), f"{kept.name}: look at what changed"


def drawn(options: Mapping[str, list[Any]], count: int, seed: int) -> Iterator[dict[str, Any]]:
    """So many cases, each with one of the options of every name, every option in its turn."""
    random = np.random.default_rng(seed)
    turns = {
        k: [order for _ in range(count) for order in random.permutation(len(v))] for k, v in options.items()
    }
    for n in range(count):
        yield {name: held[turns[name][n]] for name, held in options.items()}
