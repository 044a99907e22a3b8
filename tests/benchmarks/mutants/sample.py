"""A sample of faults over all rooms, each room by its lines of code."""

import ast
import collections
from collections.abc import Iterator
from pathlib import Path
from random import Random
from typing import Any, NamedTuple

from .sites import Site, mutated, sites

FUNCTIONS = (ast.FunctionDef, ast.AsyncFunctionDef)


class Mutant(NamedTuple):
    """One fault: its file and line, what is changed to what, and what it lies in."""

    file: str
    line: int
    operator: str
    before: str
    after: str
    node: int
    source: str
    """Text of the module with the fault in it."""
    function: tuple[str, int] | None
    """Qualified name and first line of the outermost function it lies in; None for what runs on import."""
    names: frozenset[str]
    """Names that a fault outside all functions gives a value to."""

    def told(self) -> dict[str, Any]:
        """What is kept of it in a report."""
        return {
            "file": self.file,
            "line": self.line,
            "operator": self.operator,
            "before": self.before,
            "after": self.after,
        }


def room(file: str) -> str:
    """The room a module lies in."""
    parts = Path(file).parts[1:-1]
    return "/".join(parts[:2] if parts[:1] in (("fence",), ("sheets",)) else parts[:1]) or "study"


def code_lines(source: str) -> int:
    """Lines that hold code."""
    return len({n.lineno for n in ast.walk(ast.parse(source)) if isinstance(n, ast.stmt | ast.expr)})


def sample(tree: Path, count: int, seed: int, only: str = "") -> list[Mutant]:
    """`count` faults of the package in `tree`, drawn by `seed`: rooms by their lines, a line, a fault on it.

    `only` keeps to files whose path holds it.
    """
    random = Random(seed)
    files = sorted(str(p.relative_to(tree)) for p in (tree / "fencegrade").rglob("*.py"))
    sources = {f: (tree / f).read_text(encoding="utf-8") for f in files if only in f}
    lines: dict[str, list[tuple[str, list[Site]]]] = collections.defaultdict(list)
    weight: collections.Counter[str] = collections.Counter()
    for file, source in sources.items():
        weight[room(file)] += code_lines(source)
        by_line: dict[int, list[Site]] = collections.defaultdict(list)
        for site in sites(ast.parse(source)):
            by_line[site.line].append(site)
        lines[room(file)] += [(file, at) for _, at in sorted(by_line.items())]
    drawn = []
    for name, share in _shares({r: n for r, n in weight.items() if lines[r]}, count).items():
        for file, at in random.sample(lines[name], min(share, len(lines[name]))):
            drawn.append(mutant(file, sources[file], random.choice(at)))
    random.shuffle(drawn)
    return drawn


def _shares(weight: dict[str, int], count: int) -> dict[str, int]:
    """`count` parted by weight, the largest remainders rounded up."""
    total = sum(weight.values())
    exact = {r: count * n / total for r, n in weight.items()}
    shares = {r: int(x) for r, x in exact.items()}
    for name in sorted(exact, key=lambda r: shares[r] - exact[r])[: count - sum(shares.values())]:
        shares[name] += 1
    return shares


def mutant(file: str, source: str, site: Site) -> Mutant:
    """One fault of a module, made."""
    tree = ast.parse(source)
    node = list(ast.walk(tree))[site.node]
    before = ast.unparse(node)
    changed = mutated(source, site)
    after = ast.unparse(ast.fix_missing_locations(site.change(node)))
    function, names = _where(tree, node)
    if function and (called := function[0].partition(".")[0]) in _called_on_import(tree):
        function, names = None, frozenset({called})
    return Mutant(
        file, site.line, site.operator, before, after, site.node, ast.unparse(changed), function, names
    )


def again(tree: Path, told: dict[str, Any]) -> Mutant | None:
    """A fault of an earlier report in a tree changed since: the nearest of the same kind and words."""
    if not (tree / told["file"]).is_file():
        return None
    source = (tree / told["file"]).read_text(encoding="utf-8")
    near = sorted(sites(ast.parse(source)), key=lambda s: abs(s.line - told["line"]))
    for site in near:
        if site.operator == told["operator"]:
            made = mutant(told["file"], source, site)
            if (made.before, made.after) == (told["before"], told["after"]):
                return made
    return None


def _called_on_import(tree: ast.Module) -> set[str]:
    """Functions of a module that it calls itself when it is imported."""
    functions = {f.name: f for f in tree.body if isinstance(f, FUNCTIONS)}
    todo: list[ast.AST] = [node for node in tree.body if not isinstance(node, FUNCTIONS)]
    found: set[str] = set()
    while todo:
        for node in _running(todo.pop()):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
                name = node.func.id
                if name in functions and name not in found:
                    found.add(name)
                    todo += functions[name].body
    return found


def _running(node: ast.AST) -> Iterator[ast.AST]:
    """A statement and what is in it but the bodies of functions."""
    if not isinstance(node, (*FUNCTIONS, ast.Lambda)):
        yield node
        for inner in ast.iter_child_nodes(node):
            yield from _running(inner)


def _where(tree: ast.Module, node: ast.AST) -> tuple[tuple[str, int] | None, frozenset[str]]:
    """The outermost function whose body holds a node, or the names that the statement around it defines."""
    path: list[ast.AST] = []

    def find(at: ast.AST) -> bool:
        path.append(at)
        if at is node or any(find(child) for child in ast.iter_child_nodes(at)):
            return True
        path.pop()
        return False

    find(tree)
    names: set[str] = set()
    within = ""
    for above, below in zip(path, [*path[1:], None], strict=True):
        if isinstance(above, ast.ClassDef):
            within += f"{above.name}."
            names = {above.name}
        elif isinstance(above, FUNCTIONS):
            if below in above.body:
                first = min([above.lineno, *(d.lineno for d in above.decorator_list)])
                return (within + above.name, first), frozenset()
            return None, frozenset({above.name})
        elif isinstance(above, ast.Assign | ast.AnnAssign):
            targets = above.targets if isinstance(above, ast.Assign) else [above.target]
            names |= {n.id for t in targets for n in ast.walk(t) if isinstance(n, ast.Name)}
    return None, frozenset(names)
