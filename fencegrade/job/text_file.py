"""Files from outside: bytes to text with plain line feeds, or the one mistake that keeps them from it."""

import stat
from itertools import islice
from pathlib import Path

from msgspec import Struct

from fencegrade.problems import JobMistakesError, Problem, mistake

MOST_LINES = 2_000_000
_MOST_NAMES = 50
_WORKBOOKS = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0")
_MARKS = {b"\xef\xbb\xbf": "utf-8", b"\xff\xfe": "utf-16-le", b"\xfe\xff": "utf-16-be"}


class Wanted(Struct, frozen=True, kw_only=True):
    """A kind of file that is read: its most bytes, and what to do where it is larger, no file or no text."""

    most_bytes: int
    shorten: str
    instead: str
    save: str


SURVEY_FILE = Wanted(
    most_bytes=200_000_000,
    shorten="split the survey into several runs",
    instead="name a survey CSV",
    save="save it as CSV UTF-8 from the spreadsheet",
)
JOB_FILE = Wanted(
    most_bytes=2_000_000,
    shorten="keep readings in the survey CSV",
    instead="give a job folder, its job.toml or a survey CSV",
    save="save it as UTF-8 in a plain text editor",
)
PLAIN_FILE = Wanted(
    most_bytes=200_000_000,
    shorten="divide it into several",
    instead="name the file itself",
    save="save it as UTF-8 text",
)


def at_line(place: str, line: int) -> str:
    """The place of a line of a file."""
    return f"{place} line {line}"


def printable(text: str) -> str:
    """The text with every character that cannot be printed turned into a space."""
    return text if text.isprintable() else "".join(c if c.isprintable() else " " for c in text).strip()


def read_text(path: Path, place: str, wanted: Wanted) -> str | Problem:
    """The file's text with plain line feeds, or the one mistake that keeps it from being read.

    path: the file; UTF-8 with or without byte order mark, or UTF-16 with one.
    place: how messages name the file; wanted: what it is to be.
    Result: the text, or a mistake (missing, not a file, not readable, too large, not text).
    """
    data = _read_bytes(path, place, wanted)
    if isinstance(data, Problem):
        return data
    if data.startswith(_WORKBOOKS):
        return mistake(place, "this is a spreadsheet workbook, not a text file", wanted.save)
    text = _decoded(data, place, wanted)
    if isinstance(text, Problem):
        return text
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    zero = text.find("\0")
    if zero >= 0:
        line = at_line(place, 1 + text.count("\n", 0, zero))
        return mistake(line, "a zero character: this is not a text file", wanted.save)
    if text.count("\n") > MOST_LINES:
        return mistake(place, f"the file has more than {MOST_LINES:,} lines", wanted.shorten)
    return text


def sound_text(path: Path, place: str, wanted: Wanted) -> str:
    """As `read_text`; errors: JobMistakesError with the mistake."""
    text = read_text(path, place, wanted)
    if isinstance(text, Problem):
        raise JobMistakesError([text])
    return text


def _read_bytes(path: Path, place: str, wanted: Wanted) -> bytes | Problem:
    try:
        mode = path.stat().st_mode
        if stat.S_ISDIR(mode):
            return mistake(place, "this is a folder, not a file", wanted.instead)
        if not stat.S_ISREG(mode):
            return mistake(place, "this is not an ordinary file", wanted.instead)
        with path.open("rb") as stream:
            data = stream.read(wanted.most_bytes + 1)
    except FileNotFoundError:
        return mistake(place, "there is no such file", _near(path) or "check the name and the folder")
    except PermissionError:
        return mistake(place, "the file may not be read", "check its permissions")
    except (OSError, ValueError, MemoryError) as error:
        reason = getattr(error, "strerror", None) or error
        return mistake(place, f"the file cannot be read ({reason})", "check the name and the disk")
    if len(data) > wanted.most_bytes:
        found = f"the file is larger than {wanted.most_bytes // 1_000_000} MB"
        return mistake(place, found, wanted.shorten)
    return data


def _near(path: Path) -> str:
    """A word on a file of nearly this name, as a capital letter or a second ending makes it."""
    try:
        names = sorted(entry.name for entry in islice(path.parent.iterdir(), _MOST_NAMES))
    except OSError:
        return ""
    wanted = path.name.lower()
    near = [n for n in names if n.lower() == wanted or n.lower().removesuffix(".txt") == wanted]
    return f'the folder holds "{printable(near[0])}": write the same name in both places' if near else ""


def _decoded(data: bytes, place: str, wanted: Wanted) -> str | Problem:
    codec, mark = next(((c, m) for m, c in _MARKS.items() if data.startswith(m)), ("utf-8", b""))
    body = data.removeprefix(mark)
    try:
        return body.decode(codec)
    except UnicodeDecodeError as error:
        before = body[: error.start].decode(codec, "ignore")
        line = 1 + before.replace("\r\n", "\n").replace("\r", "\n").count("\n")
        found = f"byte 0x{body[error.start]:02X} is not {'UTF-8' if codec == 'utf-8' else 'UTF-16'} text"
        return mistake(at_line(place, line), found, wanted.save)
