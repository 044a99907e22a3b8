"""What unit tests keep of drawings and pages: how many things of each kind stand where, and their words.

Made again with `FENCEGRADE_KEEP=1` in the environment, as `python -m tests.refresh_samples` does: a line that
changes says that something moved, and the drawing is then to be looked at.
"""

import functools
import os
import zlib
from collections.abc import Iterable, Iterator
from pathlib import Path

from drawn import svg
from fingerprints import fingerprint
from matplotlib.figure import Figure
from odd_jobs import words_of
from refreshed import refresh_samples

from fencegrade.sheets.drawings.picture import Picture

KEPT = Path(__file__).parents[1] / "unit" / "sheets" / "kept"
KEEP = "FENCEGRADE_KEEP"
"""Environment variable: what is made is kept, not compared."""


def drawn_as_kept(name: str, drawings: Iterable[Figure | Picture]) -> None:
    """Drawings look as they were kept under this name."""
    files = ((f"{k}.svg", svg(drawing)) for k, drawing in enumerate(drawings, 1))
    as_kept(name, (line for file, data in files for line in _drawn(file, data)))


def _drawn(name: str, data: bytes) -> list[str]:
    return [f"= {name}", *fingerprint(name, data), " ".join(words_of(name, data))]


def printed(name: str, data: bytes, texts: Iterable[str] = ()) -> Iterator[str]:
    """Lines about a file: what stands where, and a sum that another word would change, a text or page each.

    `texts`: the words, where the file is not read for them.
    """
    words = list(texts) or [" ".join(words_of(name, data))]
    yield f"= {name}"
    yield from fingerprint(name, data)
    yield from (f"{len(text.split())} words, {zlib.crc32(text.encode()):08x}" for text in words)


def as_kept(name: str, lines: Iterable[str]) -> None:
    """Lines are those that were kept under this name; with other libraries nothing is compared."""
    if not (os.environ.get(KEEP) or _same_libraries()):
        return
    made = "\n".join([*lines, ""])
    kept = KEPT / f"{name}.txt"
    if os.environ.get(KEEP):
        kept.write_text(made, encoding="utf-8")
    before = kept.read_text(encoding="utf-8")
    assert made == before, f"{kept.name}: run python -m tests.refresh_samples and look"


@functools.cache
def _same_libraries() -> bool:
    return bool(refresh_samples().same_libraries())
