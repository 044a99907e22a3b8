"""A pytest plugin that makes fault after fault, each in a forked process, and runs the tests that reach it.

`-p tests.benchmarks.mutants.worker`, with the file of what to do in FENCEGRADE_MUTANTS: faults,
each with its tests in order. All tests are collected once; a fault inside a function is put into the function
itself, so that a forked process starts with everything imported. A fault of what runs on import is left to a
fresh process. All faults meet their first tests before those that survive meet more.
"""

import ast
import contextlib
import gc
import json
import os
import resource
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from types import CodeType, FunctionType
from typing import Any, TextIO

import pytest

from .sites import mutated, sites

WORK = "FENCEGRADE_MUTANTS"
WHOLE = (
    "tests/commands/test_told.py",
    "tests/commands/test_samples.py",
    "tests/commands/test_readme.py::test_what_is_made_between",
)
"""Tests that compare all that is told with what was read once: a fault meets each that reaches it."""

MOST_MEMORY = 6 << 30
FILES = 5
"""A fresh process collects so many files of other tests at first."""

UNREACHED = "no test reaches it"
FIRST = 25
"""So many of the quickest tests go to a fresh process by themselves before the rest."""


def pytest_runtestloop(session: pytest.Session) -> bool | None:
    """Takes the place of pytest's own loop where a file of work is named."""
    if WORK not in os.environ:
        return None
    work = json.loads(Path(os.environ[WORK]).read_text(encoding="utf-8"))
    items = {item.nodeid: item for item in session.items}
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(1))  # so that no fault is left on disk
    _note_functions()
    gc.collect()
    gc.freeze()  # forked processes share what is there, and do not search it
    with Path(work["results"]).open("a", encoding="utf-8") as results:
        missed = list(work["mutants"])
        for stage in range(2):
            missed = [
                one for one in missed if not _tried(session, items, one, stage, work["seconds"], results)
            ]
    return True


def _tried(
    session: pytest.Session,
    items: dict[str, Any],
    one: dict[str, Any],
    stage: int,
    seconds: dict[str, float],
    results: TextIO,
) -> bool:
    """Whether the tests of one stage see a fault; how it fared is written down."""
    if stage >= len(one["stages"]):
        return False
    began = time.monotonic()
    with laid(Path(one["file"]), one["source"]):
        caught = _caught(session, items, one, stage, seconds)
    if stage and caught["how"] == UNREACHED:
        return False
    told = {"number": one["number"], **caught, "stage": stage, "took": round(time.monotonic() - began, 1)}
    results.write(json.dumps(told) + "\n")
    results.flush()
    return bool(caught["by"])


FUNCTIONS: dict[tuple[str, str, int], list[FunctionType]] = {}
"""By file, qualified name and first line, those of the package."""


def _note_functions() -> None:
    gc.unfreeze()  # what is frozen is not listed
    for f in gc.get_objects():
        if isinstance(f, FunctionType) and str(f.__module__).startswith("fencegrade"):
            code = f.__code__
            FUNCTIONS.setdefault((code.co_filename, code.co_qualname, code.co_firstlineno), []).append(f)


@contextlib.contextmanager
def laid(file: Path, text: str | None) -> Iterator[None]:
    """The module with the fault in it on disk, for processes that a test starts."""
    if text is None:
        yield
        return
    kept = file.read_bytes()
    try:
        file.write_text(text, encoding="utf-8")
        _forget_compiled(file)
        yield
    finally:
        file.write_bytes(kept)
        _forget_compiled(file)


def _forget_compiled(file: Path) -> None:
    for old in (file.parent / "__pycache__").glob(f"{file.stem}.*.pyc"):
        old.unlink()


def _caught(
    session: pytest.Session,
    items: dict[str, Any],
    one: dict[str, Any],
    stage: int,
    seconds: dict[str, float],
) -> dict[str, str]:
    """How a fault fared: `by` the test that failed, or what else ended it; empty where nothing did."""
    reaching, anew = one["stages"][stage]
    tests = [t for t in reaching if t in items]
    most = int(30 + 4 * sum(seconds.get(t, 1.0) for t in [*tests, *anew]))
    if one["function"] is None:
        tests, anew = [], list(dict.fromkeys([*tests, *anew]))
    done = {"by": "", "how": "survived" if tests or anew else UNREACHED}
    if tests:
        forked = _forked(session, items, one, tests, seconds)
        # of its first tests a fresh process met a few files alone: then it meets all
        every = [*one["stages"][0][0], *tests] if stage else tests
        done = forked or _fresh(every, most, len(every) if stage else FILES)
    if anew and not done["by"]:
        done = _fresh(anew, most, len(anew) if stage else FILES)
    return done


def _forked(
    session: pytest.Session,
    items: dict[str, Any],
    one: dict[str, Any],
    tests: list[str],
    seconds: dict[str, float],
) -> dict[str, str] | None:
    """The tests in a forked process with the fault put in its place; None where it cannot be put there."""
    most = int(30 + 4 * sum(seconds.get(t, 1.0) for t in tests))
    placed = _placed(one)
    if placed is None:
        return None
    read, write = os.pipe()
    child = os.fork()
    if not child:
        os.close(read)
        _run(session, [items[t] for t in tests], placed, write, _patience(tests, seconds))
    os.close(write)
    with os.fdopen(read, "rb") as told:
        by = _told(told, child, most)
    _, status = os.waitpid(child, 0)
    return _judged(by, status)


def _patience(tests: list[str], seconds: dict[str, float]) -> dict[str, float]:
    """Seconds of the processor that each test may take: five times the longest of its file, and ten."""
    longest: dict[str, float] = {}
    for test, took in seconds.items():
        file = test.partition("::")[0]
        longest[file] = max(longest.get(file, 0.0), took)
    return {test: 10 + 5 * longest.get(test.partition("::")[0], 2.0) for test in tests}


def _told(told: Any, child: int, most: int) -> str:
    """What the forked process says, which is ended if it stands still."""

    def end(*_: object) -> None:
        os.kill(child, signal.SIGKILL)

    signal.signal(signal.SIGALRM, end)
    signal.alarm(10 * most)  # seconds of the clock, which others use as well
    text: str = told.read().decode()
    signal.alarm(0)
    return text


def _judged(by: str, status: int) -> dict[str, str]:
    code = os.waitstatus_to_exitcode(status)
    if by:
        return {"by": by, "how": "failed"}
    return {"by": "", "how": "survived"} if code == 0 else {"by": f"ended by {code}", "how": "time or memory"}


Placed = list[tuple[list[FunctionType], CodeType]]
"""Functions that are there, each with the code it is to have."""


def _placed(one: dict[str, Any]) -> Placed | None:
    """A fault's function and those made in it before, with their new code; None where it cannot be put so."""
    if one["source"] is None:
        return []
    path, (name, line) = str(Path(one["file"]).resolve()), one["function"]
    codes = list(_codes(_compiled(one, path)))
    if not any(c.co_qualname == name and c.co_firstlineno == line for c in codes):
        return None
    placed = []
    for code in codes:
        own = code.co_qualname == name and code.co_firstlineno == line
        if own or code.co_qualname.startswith(f"{name}.<locals>."):
            found = FUNCTIONS.get((path, code.co_qualname, code.co_firstlineno), [])
            loaded = any(getattr(m, "__file__", None) == path for m in list(sys.modules.values()))
            if own and loaded and not found:
                return None
            if any(f.__code__.co_freevars != code.co_freevars for f in found):
                return None
            placed.append((found, code))
    return placed


def _compiled(one: dict[str, Any], path: str) -> CodeType:
    source = one["original"]
    site = next(s for s in sites(ast.parse(source)) if s.node == one["node"] and _same(source, s, one))
    return compile(mutated(source, site), path, "exec")


def _same(source: str, site: Any, one: dict[str, Any]) -> bool:
    return bool(site.operator == one["operator"] and ast.unparse(mutated(source, site)) == one["source"])


def _codes(code: CodeType) -> Iterator[CodeType]:
    for inner in code.co_consts:
        if isinstance(inner, CodeType):
            yield inner
            yield from _codes(inner)


def _run(
    session: pytest.Session, items: list[Any], placed: Placed, write: int, patience: dict[str, float]
) -> None:
    """In the forked process: the tests one after another until one fails."""
    by = b""
    try:
        signal.signal(signal.SIGALRM, signal.SIG_DFL)
        signal.alarm(0)
        resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
        home = Path(f"/tmp/mutant-{os.getpid()}")
        home.mkdir()
        session.config._tmp_path_factory._basetemp = home  # type: ignore[attr-defined]
        session.testsfailed = 0  # files that could not be collected are no failed tests
        for functions, code in placed:
            for function in functions:
                function.__code__ = code
        order = _by_file(session, items)
        for item, after in zip(order, [*order[1:], None], strict=True):
            signal.setitimer(signal.ITIMER_PROF, patience[item.nodeid])  # its signal ends the process
            item.config.hook.pytest_runtest_protocol(item=item, nextitem=after)
            if session.testsfailed:
                by = item.nodeid.encode()
                break
        os.write(write, by)
        shutil.rmtree(home, ignore_errors=True)
        os._exit(1 if by else 0)
    except BaseException as error:
        with contextlib.suppress(OSError):
            os.write(write, f"ended by {error!r}".encode())
        os._exit(3)


def _by_file(session: pytest.Session, items: list[Any]) -> list[Any]:
    """Files as they come first, within a file the order of collection, which makes each fixture once."""
    place = {item.nodeid: k for k, item in enumerate(session.items)}
    files = {i.nodeid.split("::")[0]: k for k, i in reversed(list(enumerate(items)))}
    return sorted(items, key=lambda i: (files[i.nodeid.split("::")[0]], place[i.nodeid]))


def _fresh(tests: list[str], most: int, files: int) -> dict[str, str]:
    """A fault that needs the package imported anew: a process of its own, the quickest tests first."""
    whole = [t for t in tests if t.startswith(WHOLE)]
    others = [t for t in tests if not t.startswith(WHOLE)]
    first = list(dict.fromkeys(t.split("::")[0] for t in others))[:files]
    others = [t for t in others if t.split("::")[0] in first]
    for part in (others[:FIRST], whole, others[FIRST:]):
        if not part:
            continue
        listed = Path(f"/tmp/mutant-tests-{os.getpid()}")
        listed.write_text("\n".join(part), encoding="utf-8")
        words = [
            sys.executable,
            "-m",
            "pytest",
            "-x",
            "-q",
            "-p",
            "no:cacheprovider",
            "--no-header",
            f"@{listed}",
        ]
        environment = {k: v for k, v in os.environ.items() if k != WORK}
        done = subprocess.Popen(
            words,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            env=environment,
            start_new_session=True,
        )
        try:
            out, _ = done.communicate(timeout=10 * most)
        except subprocess.TimeoutExpired:
            os.killpg(done.pid, signal.SIGKILL)
            done.communicate()
            return {"by": "time", "how": "time or memory"}
        if done.returncode:
            failed = [line for line in out.splitlines() if line.startswith(("FAILED", "ERROR"))]
            return {"by": failed[0] if failed else out[-200:], "how": "failed"}
    return {"by": "", "how": "survived"}
