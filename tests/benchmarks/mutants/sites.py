"""Where a line of code can be made wrong, and how: small faults usual in the literature on mutation testing.

Operators after DeMillo, Lipton and Sayward, "Hints on test data selection", Computer 11 (4), 1978, and Offutt
and others, "An experimental determination of sufficient mutant operators", ACM TOSEM 5 (2), 1996 (titles from
memory): relations, arithmetic, constants, negated conditions, dropped statements, returned values, swapped
arguments; with them the words a user reads. What a machine sees to be no fault is left out: docstrings,
`__all__`, types, decorators, imports.
"""

import ast
import re
from collections.abc import Callable, Iterator
from typing import Any, NamedTuple

Change = Callable[[Any], ast.AST]


class Site(NamedTuple):
    """One fault that can be made: a node by its number in `ast.walk`, its line, and what becomes of it."""

    node: int
    line: int
    operator: str
    change: Change


BOUNDARY = {ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt}
OPPOSITE = {
    ast.Lt: ast.GtE,
    ast.LtE: ast.Gt,
    ast.Gt: ast.LtE,
    ast.GtE: ast.Lt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
}
ARITHMETIC = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.FloorDiv: ast.Mult,
    ast.Mod: ast.Mult,
    ast.Pow: ast.Mult,
    ast.BitAnd: ast.BitOr,
    ast.BitOr: ast.BitAnd,
}
OTHER_NAME = {
    "min": "max",
    "max": "min",
    "minimum": "maximum",
    "maximum": "minimum",
    "any": "all",
    "all": "any",
    "floor": "ceil",
    "ceil": "floor",
    "argmin": "argmax",
    "argmax": "argmin",
}
WRAPPERS = {"abs", "round", "sorted", "reversed", "int", "floor", "ceil", "rint"}
ORDERLESS = {
    *OTHER_NAME,
    "hypot",
    "isclose",
    "gcd",
    "isinstance",
    "issubclass",
    "cast",
    "getattr",
    "hasattr",
    "add_argument",
}
WORD = re.compile(r"[A-Za-z]{2,}")
MARKUP = re.compile(r"[<>{}=\\]|\w;|:\w|\w_\w|/\w+/")


def sites(tree: ast.Module) -> Iterator[Site]:
    """Every fault that can be made in a module."""
    unread = _unread(tree)
    inside = {id(c): n for n in ast.walk(tree) for c in ast.iter_child_nodes(n)}
    for number, node in enumerate(ast.walk(tree)):
        if id(node) in unread:
            continue
        for operator, change in _faults(node, inside.get(id(node))):
            if ast.dump(change(node)) != ast.dump(node):
                yield Site(number, node.lineno, operator, change)  # type: ignore[attr-defined]


def mutated(source: str, site: Site) -> ast.Module:
    """The module with one fault made, its lines where they were."""
    tree = ast.parse(source)
    wanted = list(ast.walk(tree))[site.node]

    class Put(ast.NodeTransformer):
        def visit(self, node: ast.AST) -> Any:
            if node is wanted:
                return ast.copy_location(site.change(node), node)
            return self.generic_visit(node)

    changed: ast.Module = Put().visit(tree)
    return ast.fix_missing_locations(changed)


def _unread(tree: ast.Module) -> set[int]:
    """Nodes whose fault would change nothing that runs."""
    roots: list[ast.AST] = []
    for node in ast.walk(tree):
        match node:
            case ast.Import() | ast.ImportFrom() | ast.Assert():
                roots.append(node)
            case ast.Expr(value=ast.Constant()):
                roots.append(node)
            case ast.Assign(targets=[ast.Name(id="__all__" | "__slots__"), *_]):
                roots.append(node)
            case ast.If(test=ast.Name(id="TYPE_CHECKING")):
                roots.append(node)
            case ast.Raise(exc=ast.Name(id="NotImplementedError")):
                roots.append(node)
            case ast.Call(func=ast.Name(id="TypeVar" | "NewType")):
                roots.append(node)
            case ast.keyword(arg="strict" | "encoding"):
                roots.append(node)
            case ast.Subscript(
                value=ast.Name(id="Literal" | "Annotated" | "Callable" | "tuple" | "dict" | "list")
            ):
                roots.append(node)
        if isinstance(node, ast.AnnAssign):
            roots.append(node.annotation)
        if isinstance(node, ast.arg) and node.annotation:
            roots.append(node.annotation)
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            roots += node.decorator_list
        if isinstance(node, ast.ClassDef):
            roots += node.keywords
        if isinstance(node, ast.FunctionDef) and node.returns:
            roots.append(node.returns)
        if isinstance(node, ast.Assign) and isinstance(node.value, ast.BinOp) and _is_type(node.value):
            roots.append(node)
        if isinstance(node, ast.FormattedValue) and node.format_spec:
            roots.append(node.format_spec)
    return {id(inner) for root in roots for inner in ast.walk(root)}


def _is_type(node: ast.AST) -> bool:
    """Whether it is a union of types, as an alias holds it."""
    if isinstance(node, ast.BinOp):
        return isinstance(node.op, ast.BitOr) and _is_type(node.left) and _is_type(node.right)
    named = isinstance(node, ast.Name) and (
        node.id[:1].isupper() or node.id in {"str", "int", "float", "bool"}
    )
    return named or (isinstance(node, ast.Constant) and node.value is None) or isinstance(node, ast.Subscript)


def _faults(node: ast.AST, parent: ast.AST | None) -> Iterator[tuple[str, Change]]:
    match node:
        case ast.Compare():
            for k, op in enumerate(node.ops):
                for name, table in (("boundary", BOUNDARY), ("relation", OPPOSITE)):
                    if type(op) in table:
                        yield name, _with_relation(k, table[type(op)])
        case ast.BinOp() if type(node.op) in ARITHMETIC and not (_is_list(node.left) or _is_list(node.right)):
            yield "arithmetic", lambda n: ast.BinOp(n.left, ARITHMETIC[type(n.op)](), n.right)
        case ast.UnaryOp(op=ast.USub() | ast.Not()):
            yield "sign" if isinstance(node.op, ast.USub) else "negation", lambda n: n.operand
        case ast.BoolOp():
            yield (
                "and/or",
                lambda n: ast.BoolOp(ast.Or() if isinstance(n.op, ast.And) else ast.And(), n.values),
            )
        case ast.Constant() if not isinstance(parent, ast.UnaryOp):
            yield from _constants(node, parent)
        case ast.Call():
            yield from _calls(node)
        case ast.Return(value=ast.expr()):
            yield "return", lambda n: ast.Return(_another(n.value))
    if isinstance(node, ast.If | ast.While | ast.IfExp) and not isinstance(
        node.test, ast.Compare | ast.Constant
    ):
        yield "condition", _negated_test
    if isinstance(node, ast.If) and not isinstance(node.test, ast.Constant):
        yield "never", _never
    if isinstance(node, ast.Expr) and isinstance(node.value, ast.Call | ast.Yield | ast.YieldFrom):
        yield "dropped", lambda _: ast.Expr(_idle(node))
    if isinstance(node, ast.AugAssign | ast.Raise | ast.Continue):
        yield "dropped", lambda _: ast.Pass()
    if isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Subscript | ast.Attribute):
        yield "dropped", lambda _: ast.Pass()
    if isinstance(node, ast.AugAssign) and type(node.op) in ARITHMETIC and not _is_list(node.value):
        yield "arithmetic", lambda n: ast.AugAssign(n.target, ARITHMETIC[type(n.op)](), n.value)


def _with_relation(k: int, relation: type[ast.cmpop]) -> Change:
    return lambda n: ast.Compare(n.left, [*n.ops[:k], relation(), *n.ops[k + 1 :]], n.comparators)


def _idle(node: ast.Expr) -> ast.expr:
    """Nothing, in a generator that stays one."""
    if isinstance(node.value, ast.Call):
        return ast.Constant(None)
    return ast.YieldFrom(ast.Tuple([], ast.Load()))


def _negated_test(node: Any) -> Any:
    node.test = ast.UnaryOp(ast.Not(), node.test)
    return node


def _never(node: Any) -> Any:
    node.test = ast.BoolOp(ast.And(), [ast.Constant(False), node.test])
    return node


def _is_list(node: ast.AST) -> bool:
    """Whether adding to it joins, so that another sign would only stop the program."""
    if isinstance(node, ast.Constant):
        return isinstance(node.value, str | bytes)
    return isinstance(node, ast.JoinedStr | ast.List | ast.Tuple | ast.Set | ast.ListComp | ast.Dict)


def _another(value: ast.expr) -> ast.expr:
    """A returned value gone wrong: a condition turned round, nothing of what is listed, or none at all."""
    match value:
        case ast.Compare() | ast.BoolOp() | ast.UnaryOp(op=ast.Not()):
            return ast.UnaryOp(ast.Not(), value)
        case ast.BinOp() if not (_is_list(value.left) or _is_list(value.right)):
            return ast.BinOp(value, ast.Add(), ast.Constant(1))
        case ast.JoinedStr():
            return ast.Constant("")
        case ast.List() | ast.ListComp():
            return ast.List([], ast.Load())
        case ast.Tuple():
            return ast.Tuple([*value.elts[1:], *value.elts[:1]], ast.Load())
    return ast.Constant(None)


def _constants(node: ast.Constant, parent: ast.AST | None) -> Iterator[tuple[str, Change]]:
    value = node.value
    if isinstance(value, bool):
        yield "constant", lambda n: ast.Constant(not n.value)
    elif isinstance(value, int):
        yield "constant", lambda n: ast.Constant(n.value + 1)
    elif isinstance(value, float):
        yield "constant", lambda n: ast.Constant(n.value * 1.25 if n.value else 1.0)
    elif isinstance(value, str) and not MARKUP.search(value):
        words = value.split()
        if len(WORD.findall(value)) > 1 and words != words[::-1]:
            yield "words", lambda n: ast.Constant(_spaced(n.value, n.value.split()[::-1]))
        if len(WORD.findall(value)) > 1 or (
            words and isinstance(parent, ast.JoinedStr) and WORD.search(value)
        ):
            yield "words", lambda n: ast.Constant(_spaced(n.value, n.value.split()[:-1]))


def _spaced(value: str, words: list[str]) -> str:
    before = value[: len(value) - len(value.lstrip())]
    after = value[len(value.rstrip()) :]
    return before + " ".join(words) + after


def _calls(node: ast.Call) -> Iterator[tuple[str, Change]]:
    name = node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")
    if name in OTHER_NAME:
        yield "function", _renamed
    if name in WRAPPERS and len(node.args) == 1 and not node.keywords:
        yield "function", lambda n: n.args[0]
    if (
        len(node.args) > 1
        and name not in ORDERLESS
        and not any(isinstance(a, ast.Starred) for a in node.args[:2])
        and ast.dump(node.args[0]) != ast.dump(node.args[1])
    ):
        yield "swapped", lambda n: ast.Call(n.func, [n.args[1], n.args[0], *n.args[2:]], n.keywords)


def _renamed(node: Any) -> Any:
    if isinstance(node.func, ast.Name):
        node.func = ast.Name(OTHER_NAME[node.func.id], ast.Load())
    else:
        node.func = ast.Attribute(node.func.value, OTHER_NAME[node.func.attr], ast.Load())
    return node
