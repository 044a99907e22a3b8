"""Runs one case in this process and says what is wrong with how it ended."""

import contextlib
import csv
import io
import json
import math
import os
import re
import resource
import signal
import subprocess
import sys
import threading
import time
import tomllib
import traceback
import warnings
from collections.abc import Iterator
from dataclasses import dataclass
from html.parser import HTMLParser
from pathlib import Path
from types import FrameType
from typing import Any
from xml.etree import ElementTree

from formats import format_faults
from fuzz_jobs import Case

MOST_SECONDS = 10.0
"""Of the processor, so that a busy machine is no fault."""

MOST_BYTES = 1_000_000_000
STATUSES = {0, 1, 2}
STOPPED = 130
"""The status of a command at a terminal whose input ended."""


class TookTooLongError(BaseException):
    """The command was still at work after `MOST_SECONDS`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ended:
    """How a case ended: its status, what it printed, seconds, and a fault in words or nothing."""

    status: int
    out: str
    err: str
    seconds: float
    fault: str


def lay_files(case: Case, folder: Path) -> None:
    """Put the files of a case into a folder."""
    for name, content in case.files.items():
        path = folder / name
        if content is None:
            path.mkdir()
        elif isinstance(content, str):
            path.symlink_to(content)
        else:
            path.write_bytes(content)


def judged(case: Case, folder: Path) -> Ended:
    """Run a case in `folder`, which holds its files, and judge it."""
    out, err = _Stream(), _Stream()
    began = time.monotonic()
    fault, status, before = "", -1, _content(folder)
    with _inside(folder), warnings.catch_warnings(record=True) as warned:
        warnings.simplefilter("always")
        try:
            with (
                contextlib.redirect_stdout(out),
                contextlib.redirect_stderr(err),
                _alarm(),
                _typing(case.typed, out),
            ):
                status = _status(case.words)
        except TookTooLongError as error:
            fault = f"more than {MOST_SECONDS:.0f} s: {_where(error)}"
        except BaseException as error:
            fault = f"{type(error).__name__}: {_where(error)}: {str(error)[:200]}"
    seconds = time.monotonic() - began
    numeric = [w for w in warned if issubclass(w.category, RuntimeWarning)]
    if numeric and not fault:
        fault = f"warning: {numeric[0].message} ({numeric[0].filename}:{numeric[0].lineno})"
    shown, told = out.text(), err.text()
    fault = fault or next(_faults(case, status, shown, told), "")
    fault = fault or next(_file_faults(status, before, _content(folder)), "")
    if case.after and status == 0 and not fault:
        then = judged(Case(words=case.after), folder)
        fault = then.fault or (f"then {case.after}: {then.err}" if then.status else "")
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024
    if peak > MOST_BYTES and not fault:
        fault = f"memory: {peak / 1e6:.0f} MB"
    return Ended(status=status, out=shown, err=told, seconds=seconds, fault=fault)


class _Stream(io.TextIOWrapper):
    """A text stream in memory, with a buffer of bytes beneath as the real ones have."""

    def __init__(self) -> None:
        super().__init__(io.BytesIO(), encoding="utf-8", errors="replace", write_through=True)

    def text(self) -> str:
        buffer = self.buffer
        assert isinstance(buffer, io.BytesIO)
        return buffer.getvalue().decode("utf-8")


class _Terminal(_Stream):
    """Standard input of somebody who types these lines and then ends it."""

    def isatty(self) -> bool:
        return True


@contextlib.contextmanager
def _typing(lines: list[str], out: _Stream) -> Iterator[None]:
    """Standard input is a terminal at which these lines are typed, or nothing."""
    before, sys.stdin = sys.stdin, _Terminal() if lines else io.StringIO()
    if lines:
        sys.stdin.write("".join(f"{line}\n" for line in lines))
        sys.stdin.seek(0)
        out.isatty = lambda: True  # type: ignore[method-assign]
    try:
        yield
    finally:
        sys.stdin = before


def _content(folder: Path) -> dict[str, bytes]:
    files = (p for p in folder.rglob("*") if p.is_file() and not p.is_symlink())
    return {str(p.relative_to(folder)): p.read_bytes() for p in files}


def _file_faults(status: int, before: dict[str, bytes], after: dict[str, bytes]) -> Iterator[str]:
    """What is wrong with the files a command has left."""
    if status and after != before:
        yield f"failed, yet wrote {sorted(after.keys() ^ before.keys()) or 'over a file'}"
    for name in after.keys() - before.keys():
        if name.endswith(".svg"):
            ElementTree.fromstring(after[name])
        elif name.endswith(".json") and not Path(name).name.startswith("."):
            yield from (f"{name}: {fault}" for fault in json_faults(after[name].decode()))
        elif name.endswith(".html"):
            yield from (f"{name}: {fault}" for fault in page_faults(after[name].decode()))
        elif name.endswith(".toml"):
            tomllib.loads(after[name].decode())
        elif name.endswith(".csv") and Path(name).parent.name:
            widths = {len(row) for row in csv.reader(io.StringIO(after[name].decode("utf-8-sig"))) if row}
            if len(widths) > 1:
                yield f"{name}: rows of {sorted(widths)} cells"


class _Page(HTMLParser):
    """The elements of a page that are open, its scripts, and the handlers written into its elements."""

    def __init__(self) -> None:
        super().__init__()
        self.faults: list[str] = []
        self.data: list[str] | None = None

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = dict(attrs)
        if any(name.startswith("on") for name in found):
            self.faults.append(f"a handler written into <{tag}>")
        self.faults += [f"loads {found[k]}" for k in ("src", "href") if (found.get(k) or "#")[0] not in "#d"]
        self.data = [] if tag == "script" and found.get("type") == "application/json" else None

    def handle_data(self, data: str) -> None:
        if self.data is not None:
            self.data.append(data)

    def handle_endtag(self, tag: str) -> None:
        if self.data is not None:
            try:
                json.loads("".join(self.data))
            except ValueError as error:
                self.faults.append(f"its data: {error}")
        self.data = None


def page_faults(text: str) -> list[str]:
    """What is wrong with a page: handlers in elements, something loaded from elsewhere, broken data."""
    page = _Page()
    page.feed(text)
    page.close()
    return page.faults


def _status(words: list[str]) -> int:
    from fencegrade.cli.main import main

    before, sys.argv = sys.argv, ["fencegrade", *words]
    try:
        main()
    except SystemExit as ended:
        return ended.code if isinstance(ended.code, int) else 0 if ended.code is None else 1
    finally:
        sys.argv = before
    return 0


@contextlib.contextmanager
def _inside(folder: Path) -> Iterator[None]:
    before = Path.cwd()
    os.chdir(folder)
    try:
        yield
    finally:
        os.chdir(before)


@contextlib.contextmanager
def _alarm() -> Iterator[None]:
    def ring(number: int, frame: FrameType | None) -> None:
        raise TookTooLongError

    before = signal.signal(signal.SIGPROF, ring)
    signal.setitimer(signal.ITIMER_PROF, MOST_SECONDS)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)


def _where(error: BaseException) -> str:
    """The innermost lines of the package that an error came through."""
    frames = [f for f in traceback.extract_tb(error.__traceback__) if "fencegrade/" in f.filename]
    return " < ".join(
        f"{f.filename.rpartition('fencegrade/')[2]}:{f.lineno} {f.name}" for f in reversed(frames[-3:])
    )


_BARE = re.compile(r"(?<![a-z])(nan|inf|None)(?![a-z])")
"""What no answer says; one at a terminal says again what was typed."""


def _faults(case: Case, status: int, out: str, err: str) -> Iterator[str]:
    if status not in STATUSES and not (status == STOPPED and case.typed):
        yield f"status {status}"
    if "Traceback" in err:
        yield "a traceback on standard error"
    for text in (out, err):
        odd = next((c for c in text if not (c.isprintable() or c == "\n")), None)
        if odd is not None:
            yield f"control character {odd!r} printed: {_near(text, odd)!r}"
    if status and not err.strip():
        yield "failed without a word"
    reports = case.words[0] == "check"  # the readings, whatever is planned on them
    if status and out.strip() and not (case.typed or reports):
        yield "failed with output"
    if status == 1:
        for line in err.splitlines():
            if ": " not in line or "; " not in line:
                yield f"no place or remedy: {line[:200]!r}"
            if len(line) > 2000:
                yield f"a line of {len(line)} characters"
    if status == 0 and err:
        yield f"words on standard error though all went well: {err[:200]!r}"
    plain = {"--help", "--version"} & set(case.words)
    if "--json" in case.words and (status == 0 or (reports and out.strip())) and not plain:
        yield from json_faults(out)
    if status == 0 and _BARE.search(_unnamed(case, out)) and "--help" not in case.words and not case.typed:
        yield "nan, inf or None printed"


def _unnamed(case: Case, out: str) -> str:
    """What is printed without the names that runs have, which may be any text."""
    job = case.files.get("job.toml") or ""
    for name in re.findall(
        r'name = "([^"]+)"', job if isinstance(job, str) else job.decode("utf-8", "replace")
    ):
        out = out.replace(name, "")
    return out


def _near(text: str, character: str) -> str:
    at = text.index(character)
    return text[max(0, at - 40) : at + 20]


def json_faults(text: str) -> Iterator[str]:
    """What is wrong with an answer in JSON."""

    def refuse(name: str) -> Any:
        raise ValueError(f"holds {name}")

    try:
        tree = json.loads(text, parse_constant=refuse)
    except ValueError as error:
        yield f"not JSON: {error}"
        return
    if not all(math.isfinite(x) and abs(x) < 1e15 for x in _floats(tree)):
        yield "a number beyond all measure in the JSON"
    yield from format_faults(tree)


def _floats(tree: Any) -> Iterator[float]:
    if isinstance(tree, dict):
        tree = list(tree.values())
    if isinstance(tree, list):
        for value in tree:
            yield from _floats(value)
    elif isinstance(tree, float):
        yield tree


def usage_of_a_process(words: list[str], folder: Path, seconds: float = 60.0) -> tuple[int, str, int, float]:
    """Run a command in a process of its own: status, standard error, peak memory (bytes), processor seconds.

    One that is at work after `seconds` is killed, and its status is then negative.
    """
    code = "from fencegrade.cli.main import main; main()"
    with (folder / ".err").open("w+b") as err, Path(os.devnull).open("wb") as nowhere:
        process = subprocess.Popen(
            [sys.executable, "-c", code, *words], cwd=folder, stdout=nowhere, stderr=err
        )
        timer = threading.Timer(seconds, process.kill)
        timer.start()
        _, status, usage = os.wait4(process.pid, 0)
        timer.cancel()
        process.returncode = os.waitstatus_to_exitcode(status)
        err.seek(0)
        used = usage.ru_utime + usage.ru_stime
        return process.returncode, err.read().decode(), usage.ru_maxrss * 1024, used
