"""The text of a TOML file to its raw tree; what cannot be read becomes one mistake with its line.

Job files and as-built records are both TOML, and both come from outside: a syntax error, a number of
thousands of digits or a nesting without end must be named the same way in either.
"""

import re
import tomllib
from typing import Any

from fencegrade.problems import refuse

MOST_PARTS = 100
"""Parts of a dotted key; the reader's time grows with their square."""

_LONG_KEY = re.compile(
    r"""(?<![\w-])(?:(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+\.[ \t]*+){%d}""" % MOST_PARTS  # noqa: UP031
)


_AGAIN = "Cannot overwrite a value"
"""What the reader says of a key that stands twice in a table."""


def toml_tree(text: str, place: str) -> dict[str, Any]:
    """The tables of a TOML text; `place` names the file.

    Errors: JobMistakesError, with the line where one is known.
    """
    if _LONG_KEY.search(text):
        refuse(place, "is nested too deeply", "write the tables of the job reference")
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        found, _, line = str(error).partition(" (at line ")
        where = f"{place} line {line.partition(',')[0]}" if line else place
        remedy = _remedy(text, line.partition(",")[0])
        if found == _AGAIN or found.startswith("Cannot declare"):
            refuse(where, f"{_again(text, line, found)} is written a second time", "keep one of the two")
        refuse(where, f"is not valid TOML: {found}", remedy)
    except ValueError:
        refuse(place, "holds a number of thousands of digits", "take it out")
    except RecursionError:
        refuse(place, "is nested too deeply", "write the tables of the job reference")


def _remedy(text: str, line: str) -> str:
    """What to write, by the line that could not be read."""
    lines = text.splitlines()
    told = lines[int(line) - 1] if line.isdigit() and 0 < int(line) <= len(lines) else ""
    if number := re.search(r"=\s*([-+]?\d{1,9}),(\d{1,9})\s*(?:#|$)", told):
        return f"write the number with a point: {number[1]}.{number[2]}"
    return 'write key = "value", with texts and lengths in quotes'


def _again(text: str, line: str, found: str) -> str:
    """The key or the table that is written twice, as it stands on its line."""
    number = int(line.partition(",")[0] or 0)
    written = text.splitlines()[number - 1].strip() if 0 < number <= len(text.splitlines()) else found
    return written.partition("=")[0].strip() if found == _AGAIN else written
