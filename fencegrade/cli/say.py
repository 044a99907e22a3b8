"""Lines on the screen, with nothing in them that a terminal would obey."""

import json
import os
import shlex
import shutil
import sys
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path

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


def answer(
    as_json: bool, record: Callable[[], object], lines: Iterable[str], written: Sequence[Path] = ()
) -> None:
    """The answer of a command: as JSON and nothing else, or as lines and the files that were written."""
    if as_json:
        say(json.dumps(record()))
        return
    say_all(lines)
    if written:
        say()
        say_written(written)


def say_written(paths: Iterable[Path]) -> None:
    """The files that were written."""
    say("Written")
    say_all(f"  {path}" for path in paths)


def complain(text: str) -> None:
    """A line on standard error; a line break within a name from outside makes no second line of it."""
    typer.echo(harmless(text.replace("\n", "?")), err=True)


def command_line(*words: str | Path) -> str:
    """A command to type next, as it works here: its bare name where the shell finds it, else its path."""
    return " ".join(_quoted(str(word)) for word in (*_called(), *words))


def _called() -> tuple[str, ...]:
    """The words by which this program can be called from the folder it was called from."""
    called = Path(sys.argv[0])
    as_module = called.parts[-2:] == ("fencegrade", "__main__.py")
    if as_module and shutil.which("fencegrade") is None:
        return _shortest(Path(sys.executable)), "-m", "fencegrade"
    if as_module or not called.is_file() or called.name.startswith("__main__"):
        return ("fencegrade",)
    return (_shortest(called),)


def _shortest(program: Path) -> str:
    """A program's bare name where the shell finds it, else its path from here."""
    name = program.name.removesuffix(".exe")
    found = shutil.which(name)
    if found is not None and Path(found).exists() and program.samefile(found):
        return name
    here = Path.cwd()
    whole = program.absolute()
    return str(whole.relative_to(here)) if whole.is_relative_to(here) else str(whole)


def _quoted(word: str) -> str:
    """A word as the shell of this system takes it for one."""
    if os.name == "nt":
        return f'"{word}"' if " " in word else word
    return shlex.quote(word)
