"""Which tests reach which line of the package, and how long each takes: the suite run once under coverage.

A pytest plugin (`-p tests.benchmarks.mutants.reach`). A context is a test; what a fixture wider than a test
does is reached by every test that uses it, and what a command in a process of its own does by the test that
called it.
"""

import functools
import gc
import importlib
import json
import os
import sys
import time
from collections import Counter
from collections.abc import Generator, Iterable
from pathlib import Path
from typing import Any, NamedTuple

import pytest

KEPT_IN = "FENCEGRADE_REACH"
"""Environment variable: the file that what was found is written to; the plugin does nothing without it."""

CONTEXT = "FENCEGRADE_REACH_TEST"
"""Environment variable: the test that runs, for the processes it starts."""


class Reach(NamedTuple):
    """What the suite reaches: tests with their seconds, and for each file and line the tests as bits.

    `collected`: the same for what runs while a file of tests is collected, such as the making of its cases.
    """

    tests: list[str]
    seconds: list[float]
    lines: dict[str, dict[int, int]]
    collected: dict[str, dict[int, int]]

    def at(self, file: str, lines: Iterable[int], *, collected: bool = False) -> int:
        """The tests, as bits, that reach any of these lines of `file`."""
        known, found = (self.collected if collected else self.lines).get(file, {}), 0
        for line in lines:
            found |= known.get(line, 0)
        return found

    def quickest_first(self, bits: int, near: str) -> list[int]:
        """Numbers of the tests in `bits`; a test whose path begins with `near` may be four times as slow."""
        charge = self.charged(bits)
        return sorted(charge, key=lambda k: charge[k] * (0.25 if self.tests[k].startswith(near) else 1))

    def charged(self, bits: int) -> dict[int, float]:
        """Seconds of each of the tests in `bits`, with its part of the dearest test of its file.

        That one may have made what all the others use, a plan or a set of drawings.
        """
        chosen = [k for k in range(len(self.tests)) if bits >> k & 1]
        files = [test.partition("::")[0] for test in self.tests]
        dearest: dict[str, float] = {}
        for file, seconds in zip(files, self.seconds, strict=True):
            dearest[file] = max(dearest.get(file, 0.0), seconds)
        count = Counter(files[k] for k in chosen)
        return {k: self.seconds[k] + dearest[files[k]] / count[files[k]] for k in chosen}


def read_reach(path: Path) -> Reach:
    """What an earlier run of the suite wrote to `path`."""
    held = json.loads(path.read_text(encoding="utf-8"))
    lines, collected = (
        {f: {int(n): int(bits, 16) for n, bits in at.items()} for f, at in held[key].items()}
        for key in ("lines", "collected")
    )
    return Reach(held["tests"], held["seconds"], lines, collected)


def wide_fixture(name: str, base: str) -> str:
    """The context of a fixture that outlives one test."""
    return f"fixture {base} {name}"


class Watch:
    """Gives every test its context, and writes what each reached at the end."""

    def __init__(self, kept_in: Path) -> None:
        coverage = importlib.import_module("coverage")
        self.kept_in, self.root = kept_in, Path.cwd()
        held = kept_in.parent / "coverage"
        held.mkdir(parents=True, exist_ok=True)
        settings = held / "settings"
        settings.write_text(
            f"[run]\nsource = {self.root / 'fencegrade'}\ndata_file = {held / 'data'}\nparallel = true\n"
            f"context = ${{{CONTEXT}-}}\npatch = subprocess\n",
            encoding="utf-8",
        )
        self.cov = coverage.Coverage(config_file=str(settings))
        self.cov.start()
        self.uses: dict[str, set[str]] = {}
        self.passed: dict[str, float] = {}
        self.failed: set[str] = set()
        self.stack: list[str] = []
        self.caches: list[Any] = []
        self.loaded = 0
        self.trace = sys.gettrace()

    def pytest_collection_finish(self, session: pytest.Session) -> None:
        for item in session.items:
            held: Any = item
            fixtures = held._fixtureinfo.name2fixturedefs.values()
            wide = {
                wide_fixture(f[-1].argname, f[-1].baseid) for f in fixtures if f and f[-1].scope != "function"
            }
            self.uses[item.nodeid] = {item.nodeid, *wide}

    def forget(self) -> None:
        """Empties the package's caches: what one test has worked out, the next is to reach by itself."""
        loaded = sum(name.startswith("fencegrade") for name in sys.modules)
        if loaded != self.loaded:
            self.loaded = loaded
            gc.unfreeze()  # what is frozen is not listed
            self.caches = [c for c in gc.get_objects() if isinstance(c, functools._lru_cache_wrapper)]
            self.caches = [c for c in self.caches if c.__module__.startswith("fencegrade")]
        for cache in self.caches:
            cache.cache_clear()

    def enter(self, context: str) -> None:
        self.stack.append(context)
        self.cov.switch_context(context)
        os.environ[CONTEXT] = context

    def leave(self) -> None:
        self.stack.pop()
        context = self.stack[-1] if self.stack else ""
        self.cov.switch_context(context)
        os.environ[CONTEXT] = context

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Generator[None, Any, Any]:
        self.forget()
        if sys.gettrace() is not self.trace:  # a test that watches by itself has put this one out
            for_processes = {k: v for k, v in os.environ.items() if k.startswith("COVERAGE_")}
            self.cov.stop()
            self.cov.start()
            os.environ.update(for_processes)
            self.trace = sys.gettrace()
        self.enter(item.nodeid)
        began = time.process_time()
        try:
            return (yield)
        finally:
            self.passed[item.nodeid] = time.process_time() - began
            self.leave()

    @pytest.hookimpl(wrapper=True)
    def pytest_fixture_setup(self, fixturedef: Any) -> Generator[None, Any, Any]:
        if fixturedef.scope == "function":
            return (yield)
        self.enter(wide_fixture(fixturedef.argname, fixturedef.baseid))
        try:
            return (yield)
        finally:
            self.leave()

    @pytest.hookimpl(wrapper=True)
    def pytest_make_collect_report(self, collector: pytest.Collector) -> Generator[None, Any, Any]:
        if not isinstance(collector, pytest.Module):
            return (yield)
        self.enter(f"collected {collector.nodeid}")
        try:
            return (yield)
        finally:
            self.leave()

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.outcome != "passed":
            self.failed.add(report.nodeid)

    @pytest.hookimpl(trylast=True)
    def pytest_sessionfinish(self) -> None:
        self.cov.stop()
        self.cov.save()
        os.environ.pop(CONTEXT, None)
        self.cov.combine()
        tests = sorted(t for t in self.passed if t not in self.failed)
        bits: dict[str, int] = {}
        for k, test in enumerate(tests):
            for context in (*self.uses[test], f"collected {test.split('::')[0]}"):
                bits[context] = bits.get(context, 0) | 1 << k
        held: dict[str, Any] = {"tests": tests, "seconds": [self.passed[t] for t in tests]}
        held["lines"] = self.by_line({c: b for c, b in bits.items() if not c.startswith("collected ")})
        held["collected"] = self.by_line({c: b for c, b in bits.items() if c.startswith("collected ")})
        self.kept_in.write_text(json.dumps(held), encoding="utf-8")
        print(f"\n{len(tests)} tests passed and are used, {len(self.failed)} are not: {sorted(self.failed)}")

    def by_line(self, bits: dict[str, int]) -> dict[str, dict[int, str]]:
        """For each file and line the tests of the contexts that reached it."""
        data, lines = self.cov.get_data(), {}
        for file in data.measured_files():
            found = {
                line: functools.reduce(lambda a, c: a | bits.get(c, 0), contexts, 0)
                for line, contexts in data.contexts_by_lineno(file).items()
            }
            lines[str(Path(file).relative_to(self.root))] = {n: hex(b) for n, b in found.items() if b}
        return lines


def pytest_load_initial_conftests(early_config: pytest.Config) -> None:
    """Starts watching, where a file for it is named, before any conftest imports the package."""
    if os.environ.get(KEPT_IN):
        if any(name.startswith("fencegrade") for name in sys.modules):
            raise pytest.UsageError("the package was imported before coverage began")
        early_config.pluginmanager.register(Watch(Path(os.environ[KEPT_IN])))
