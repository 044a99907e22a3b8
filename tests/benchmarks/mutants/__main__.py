"""Small faults put into the package one by one: how many does the ordinary suite see?

    python -m tests.benchmarks.mutants --seed 7 --count 300

Works in copies of this tree under `--work`. The suite runs once under coverage, which tells the tests that
reach each line (needs the extra `coverage`); then each fault meets those tests alone, the quickest first,
until one fails: `--most` seconds of them and all of those that compare whole outputs, then as many more as
`--survivors-most` allows, so that a fault is not called unseen because the tests that see it are slow.
Survivors are listed.
`--again REPORT` puts the survivors of an earlier report before more of the tests that reach them, or with
`--tests PATH ...` before some tests of the tree as it is now.
"""

import argparse
import ast
import collections
import itertools
import json
import os
import re
import shutil
import subprocess
import sys
import time
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from .reach import KEPT_IN, Reach, read_reach
from .sample import Mutant, again, room, sample
from .worker import WHOLE, WORK

ROOT = Path(__file__).parents[3]
Tests = tuple[list[str], list[str]]
"""Tests that reach a fault, and those whose cases are made, when they are collected, by what it is in."""

Users = dict[str, list[tuple[str, int, str]]]
LEFT_OUT = (".git", "__pycache__", ".*_cache", ".hypothesis", ".venv", "sheets_of_*")


def main() -> None:
    """Draws faults, runs the tests that reach them, and prints what survived."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.benchmarks.mutants", description=__doc__.split("\n")[0]
    )
    parser.add_argument("--seed", type=int, default=int(time.time()), help="of the sample; printed")
    parser.add_argument("--count", type=int, default=300)
    parser.add_argument("--only", default="", help="files whose path holds this")
    parser.add_argument(
        "--most",
        type=float,
        default=6.0,
        help="seconds of tests, besides those of whole outputs, for a fault",
    )
    parser.add_argument(
        "--survivors-most",
        type=float,
        default=60.0,
        help="seconds of tests for a fault that the first ones miss",
    )
    parser.add_argument("--jobs", type=int, default=1, help="processes, each with a tree of its own")
    parser.add_argument(
        "--work", type=Path, default=Path("/tmp/fencegrade-mutants"), help="folder to work in"
    )
    parser.add_argument(
        "--keep-reach", action="store_true", help="the copy and its coverage are those of the last run"
    )
    parser.add_argument("--again", type=Path, help="report whose survivors are tried again")
    parser.add_argument("--tests", nargs="*", default=[], help="tests that `--again` runs")
    asked = parser.parse_args()
    asked.work.mkdir(parents=True, exist_ok=True)
    if asked.again and asked.tests:
        print_report(try_again(asked), asked.work)
        return
    tree = asked.work / "tree"
    if not asked.keep_reach:
        lay_tree(tree)
        measure(tree, asked.work / "reach.json")
    reach = read_reach(asked.work / "reach.json")
    if asked.again:
        mutants, name = survivors(asked.again, tree), "again"
    else:
        print(f"seed {asked.seed}: {asked.count} faults in {asked.only or 'the package'}", flush=True)
        mutants, name = sample(tree, asked.count, asked.seed, asked.only), f"seed-{asked.seed}"
    names = users(tree)
    seconds = dict(zip(reach.tests, reach.seconds, strict=True))
    tests = [stages(asked, tests_of(m, reach, tree, names), reach) for m in mutants]
    print_report(fared(asked, mutants, tests, seconds, name), asked.work)


def lay_tree(tree: Path) -> None:
    """A copy of this tree."""
    shutil.rmtree(tree, ignore_errors=True)
    shutil.copytree(ROOT, tree, ignore=shutil.ignore_patterns(*LEFT_OUT), symlinks=True)


def _environment(tree: Path, **more: str) -> dict[str, str]:
    path = os.pathsep.join([str(tree), *os.environ.get("PYTHONPATH", "").split(os.pathsep)])
    kept = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    return {**kept, "PYTHONPATH": path, "MPLBACKEND": "Agg", "OPENBLAS_NUM_THREADS": "1", **more}


def measure(tree: Path, kept_in: Path) -> None:
    """Runs the suite once under coverage."""
    words = [
        sys.executable,
        "-m",
        "pytest",
        "-q",
        "-p",
        "tests.benchmarks.mutants.reach",
        "-p",
        "no:cacheprovider",
    ]
    subprocess.run(words, cwd=tree, env=_environment(tree, **{KEPT_IN: str(kept_in.resolve())}), check=False)


def users(tree: Path) -> Users:
    """For each name the places that read it: file, line, and the name being given a value on import there."""
    found: Users = collections.defaultdict(list)
    for path in (tree / "fencegrade").rglob("*.py"):
        file = str(path.relative_to(tree))
        for top in ast.parse(path.read_text(encoding="utf-8")).body:
            target = getattr(top, "target", None) or next(iter(getattr(top, "targets", [])), None)
            holder = target.id if isinstance(target, ast.Name) else ""
            for node in ast.walk(top):
                if isinstance(node, ast.Name) and not isinstance(node.ctx, ast.Store):
                    found[node.id].append((file, node.lineno, holder))
                elif isinstance(node, ast.Attribute):
                    found[node.attr].append((file, node.lineno, holder))
    return found


def tests_of(mutant: Mutant, reach: Reach, tree: Path, names: Users) -> Tests:
    """The tests that reach a fault, quickest first, and those whose cases are made by what it is in."""
    lines: Iterable[int] = [mutant.line]
    if mutant.function and not (reach.at(mutant.file, lines) or reach.at(mutant.file, lines, collected=True)):
        lines = _statement(mutant, tree)
    found = []
    for collected in (False, True):
        bits = reach.at(mutant.file, lines, collected=collected)
        if not mutant.function:
            bits = _by_names(mutant, reach, names, collected)
        found.append(bits)
    named = 0 if mutant.function else _that_name(mutant.names, reach, tree)
    if not (mutant.function or named or any(found)):
        found[0] = reach.at(mutant.file, reach.lines.get(mutant.file, {}))
    near = str(Path(mutant.file).parent).replace("fencegrade", "tests/unit", 1) + "/"
    order = [*reach.quickest_first(named, near), *reach.quickest_first(found[0] & ~named, near)]
    return [reach.tests[k] for k in order], [reach.tests[k] for k in reach.quickest_first(found[1], near)]


def stages(asked: argparse.Namespace, tests: Tests, reach: Reach) -> list[Tests]:
    """The quickest tests that together take `--most` seconds and all that compare whole outputs; then more.

    A fault that those miss too counts as missed.
    """
    first, all_of_them = (within(most, tests, reach) for most in (asked.most, asked.survivors_most))
    met = {*first[0], *first[1]}
    run, anew = ([t for t in some if t not in met] for some in all_of_them)
    return [first, (run, anew)]


def within(most: float, tests: Tests, reach: Reach) -> Tests:
    """The quickest tests that together take `most` seconds, and all that compare whole outputs."""
    run, anew = (_first(most, some, reach) for some in tests)
    return run, anew


def _first(most: float, tests: list[str], reach: Reach) -> list[str]:
    number = {test: k for k, test in enumerate(reach.tests)}
    charge = reach.charged(sum(1 << number[t] for t in tests))
    spent = itertools.accumulate(0.0 if t.startswith(WHOLE) else charge[number[t]] for t in tests)
    kept = [t for t, sum_ in zip(tests, spent, strict=True) if sum_ <= most or t.startswith(WHOLE)]
    return kept or tests[:1]


def _statement(mutant: Mutant, tree: Path) -> Iterable[int]:
    """Lines of the simple statement around a fault: a call over several lines is reached at its first."""
    lines: Iterable[int] = ()
    for node in ast.walk(ast.parse((tree / mutant.file).read_text(encoding="utf-8"))):
        if isinstance(node, ast.stmt) and not hasattr(node, "body"):
            own = range(node.lineno, (node.end_lineno or node.lineno) + 1)
            lines = own if mutant.line in own else lines
    return lines


def _by_names(mutant: Mutant, reach: Reach, names: Users, collected: bool) -> int:
    """The tests that reach a line which reads one of the names that the fault gives a value to."""
    bits, seen, todo = 0, set(), set(mutant.names)
    while todo:
        name = todo.pop()
        seen.add(name)
        for file, line, holder in names.get(name, []):
            bits |= reach.at(file, [line], collected=collected)
            if holder and holder not in seen:
                todo.add(holder)
    return bits


def _that_name(names: Iterable[str], reach: Reach, tree: Path) -> int:
    """The tests of files that name one of these themselves."""
    named = re.compile(rf"\b({'|'.join(map(re.escape, names))})\b") if names else None
    files = {test.partition("::")[0] for test in reach.tests}
    there = {f for f in files if named and named.search((tree / f).read_text(encoding="utf-8"))}
    return sum(1 << k for k, test in enumerate(reach.tests) if test.partition("::")[0] in there)


def fared(
    asked: argparse.Namespace,
    mutants: list[Mutant],
    tests: Sequence[list[Tests]],
    seconds: dict[str, float],
    name: str,
) -> list[dict[str, Any]]:
    """How each fault fared, also written to `name`.json in the folder of work."""
    tree = asked.work / "tree"
    todo = [_todo(k, m, t, tree) for k, (m, t) in enumerate(zip(mutants, tests, strict=True))]
    told = _worked(asked, todo, seconds)
    report = [
        {
            **m.told(),
            **told.get(k, {"by": "", "how": "not run"}),
            "tests": sum(len(some) for stage in t for some in stage),
        }
        for k, (m, t) in enumerate(zip(mutants, tests, strict=True))
    ]
    _without_false_alarms(asked, report, seconds)
    (asked.work / f"{name}.json").write_text(json.dumps(report, indent=1), encoding="utf-8")
    return report


def _todo(number: int, mutant: Mutant, tests: list[Tests], tree: Path) -> dict[str, Any]:
    original = (tree / mutant.file).read_text(encoding="utf-8")
    return {
        **mutant._asdict(),
        "names": [],
        "number": number,
        "stages": tests,
        "original": original,
    }


def _worked(
    asked: argparse.Namespace, todo: list[dict[str, Any]], seconds: dict[str, float]
) -> dict[int, dict[str, Any]]:
    """How each fared, by its number: every process does a part of them, in a copy of the tree."""
    parts = [todo[k :: asked.jobs] for k in range(asked.jobs)]
    running = [_work(asked.work, k, part, seconds) for k, part in enumerate(parts) if part]
    told = {}
    for process, results in running:
        process.wait()
        for one in map(json.loads, results.read_text(encoding="utf-8").splitlines()):
            told[one["number"]] = one
    return told


def _work(
    work: Path, number: int, todo: list[dict[str, Any]], seconds: dict[str, float]
) -> tuple[subprocess.Popen[bytes], Path]:
    """A process begun that does some of the work, and the file of its results."""
    tree, listed, results = (work / f"{name}-{number}" for name in ("tree", "todo", "results"))
    shutil.rmtree(tree, ignore_errors=True)
    shutil.copytree(work / "tree", tree, symlinks=True)
    results.write_text("", encoding="utf-8")
    held = {"mutants": todo, "seconds": seconds, "results": str(results.resolve())}
    listed.write_text(json.dumps(held), encoding="utf-8")
    words = [
        sys.executable,
        "-m",
        "pytest",
        "-q",
        "-p",
        "tests.benchmarks.mutants.worker",
        "-p",
        "no:cacheprovider",
    ]
    with (work / f"worker-{number}.log").open("w") as log:
        environment = _environment(tree, **{WORK: str(listed.resolve())})
        return subprocess.Popen(words, cwd=tree, env=environment, stdout=log, stderr=log), results


def _without_false_alarms(
    asked: argparse.Namespace, report: list[dict[str, Any]], seconds: dict[str, float]
) -> None:
    """Tests that fail so without any fault are no witnesses: what they saw counts as survived."""
    witnesses = sorted({one["by"] for one in report if one["by"] in seconds})
    todo: list[dict[str, Any]] = [
        {"number": k, "file": ".", "source": None, "function": [], "stages": [([test], [])]}
        for k, test in enumerate(witnesses)
    ]
    told = _worked(asked, todo, seconds)
    false = {witnesses[k] for k, one in told.items() if one["how"] != "survived"}
    for one in report:
        if one["by"] in false:
            one.update(how="false alarm")


def survivors(report: Path, tree: Path) -> list[Mutant]:
    """What a report lists as missed and still stands in the code of `tree`."""
    missed = [one for one in json.loads(report.read_text(encoding="utf-8")) if not caught(one)]
    made = [m for one in missed if (m := again(tree, one))]
    print(f"{len(missed) - len(made)} of {len(missed)} survivors stand no more in the code", flush=True)
    return made


def try_again(asked: argparse.Namespace) -> list[dict[str, Any]]:
    """The survivors of a report before tests of the tree as it is."""
    asked.work /= "again"
    tree = asked.work / "tree"
    lay_tree(tree)
    made = survivors(asked.again, tree)
    words = [sys.executable, "-m", "pytest", "-q", "--collect-only", *asked.tests]
    done = subprocess.run(
        words, cwd=tree, env=_environment(tree), capture_output=True, text=True, check=False
    )
    nodes = [line for line in done.stdout.splitlines() if "::" in line]
    return fared(asked, made, [[(nodes, [])]] * len(made), dict.fromkeys(nodes, 2.0), "again")


def caught(one: dict[str, Any]) -> bool:
    """Whether a test failed, or the fault stopped the program."""
    return one["how"] in {"failed", "time or memory"}


def print_report(report: list[dict[str, Any]], work: Path) -> None:
    """By room how many were caught, then each that was not."""
    rooms: dict[str, list[dict[str, Any]]] = collections.defaultdict(list)
    for one in report:
        rooms[room(one["file"])].append(one)
    for name, held in sorted(rooms.items()):
        print(f"{name:22} {sum(map(caught, held)):4} of {len(held)}")
    all_of_it = sum(map(caught, report))
    print(f"{'in all':22} {all_of_it:4} of {len(report)}, {100 * all_of_it / max(len(report), 1):.1f} %")
    for one in sorted(report, key=lambda o: (o["file"], o["line"])):
        if not caught(one):
            print(f"{one['file']}:{one['line']} {one['operator']} ({one['how']}, {one['tests']} tests)")
            print(f"    {one['before'][:300]}\n    {one['after'][:300]}")
    print(f"everything stands in {work}")


if __name__ == "__main__":
    main()
