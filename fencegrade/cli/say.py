"""Lines on the screen, with nothing in them that a terminal would obey."""

from collections.abc import Iterable

import typer


def harmless(text: str) -> str:
    """The text with every control character but the line break shown as a question mark."""
    return "\n".join(
        line if line.isprintable() else "".join(c if c.isprintable() else "?" for c in line)
        for line in text.split("\n")
    )


def say(text: str = "") -> None:
    """A line on standard output."""
    typer.echo(harmless(text))


def say_all(lines: Iterable[str]) -> None:
    """Several lines on standard output."""
    for line in lines:
        say(line)


def complain(text: str) -> None:
    """A line on standard error; a line break within a name from outside makes no second line of it."""
    typer.echo(harmless(text.replace("\n", "?")), err=True)
