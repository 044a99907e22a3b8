"""The plan of the house, checked on its source: floors, doors to the outside, documentation, start-up."""

import ast
import json
import re
import subprocess
import sys
from collections.abc import Callable, Iterable, Iterator
from functools import cache
from pathlib import Path

import pytest

import fencegrade

HOUSE = Path(fencegrade.__file__).parent
FLOORS = {
    "units": 0,
    "problems": 0,
    "highs": 0,
    "figures": 0,
    "job": 1,
    "ground": 2,
    "cutting": 3,
    "fence": 4,
    "planning": 5,
    "building": 6,
    "sheets": 7,
    "study": 8,
    "cli": 8,
    "__main__": 8,
}
RUNNERS = {"planning", "building", "study"}
"""Rooms that run the pipeline: they hand a path on to a reader."""

FENCE = (
    {"closed", "slots"},
    {"stock_steps"},
    {"tops"},
    {"pickets", "wood"},
    {"stock"},
    {"enough_stock", "bays"},
    {"low_ground", "gates", "rails"},
    {"posts"},
)
"""The rooms of `fence/` in order: each may use those of its own line's folder and all before it."""

SHEETS = (
    {"files"},
    {"tables"},
    {"*"},
    {"screen", "drawings"},
    {"plan_json"},
    {"paper", "page"},
    {"folder", "resume_files"},
)
"""The rooms of `sheets/` likewise; what they share stands beside them, at the star."""

FILES_ALLOWED = {"job", "sheets", "cli"}
LIGHT = {
    "fencegrade.problems",
    "fencegrade.fence",
    "fencegrade.fence.tops",
    "fencegrade.fence.tops.table",
}
"""What the commands need of the house before any job is read."""

HEAVY = {"matplotlib", "scipy", "numpy"}
DRAWING = {"matplotlib", "reportlab", "jinja2", "PIL"}


def name_of(path: Path) -> str:
    parts = ["fencegrade", *path.relative_to(HOUSE).with_suffix("").parts]
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


MODULES = {name_of(path): path for path in sorted(HOUSE.rglob("*.py"))}


@cache
def tree(module: str) -> ast.Module:
    return ast.parse(MODULES[module].read_text(encoding="utf-8"))


@cache
def nodes(module: str) -> tuple[ast.AST, ...]:
    """Everything in the tree of a module, walked once for all who look at it."""
    return tuple(ast.walk(tree(module)))


def room(module: str) -> str:
    """The folder or file under `fencegrade` that a module belongs to."""
    return module.split(".")[1] if "." in module else ""


def floor(module: str) -> int:
    return FLOORS[room(module)]


@cache
def imports(module: str) -> tuple[str, ...]:
    """Every module imported, wherever in the file; names of a package that are modules count themselves."""
    return tuple(imported(module))


def imported(module: str) -> Iterator[str]:
    for node in nodes(module):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{module} line {node.lineno}: write imports in full"
            assert node.module is not None
            inner = [f"{node.module}.{a.name}" for a in node.names]
            yield from (name if name in MODULES else node.module for name in inner)


def is_data_only(module: str) -> bool:
    """The package root with its version and public names, and the table of top styles: nothing imported."""
    return module in {"fencegrade", "fencegrade.fence.tops.table"}


CHECKS: dict[str, Callable[[str], None]] = {}
"""The checks of one module, by the name of the test that goes through all of them."""


def for_each(modules: Iterable[str]) -> Callable[[Callable[[str], None]], Callable[[], None]]:
    """Make one test of a check of a module: it names every module that fails."""

    def over_all(check: Callable[[str], None]) -> Callable[[], None]:
        CHECKS[check.__name__] = check

        def test() -> None:
            faults = []
            for module in modules:
                try:
                    check(module)
                except AssertionError as fault:
                    faults.append(f"{module}: {fault}")
            assert not faults, "\n".join(faults)

        test.__name__, test.__doc__ = check.__name__, check.__doc__
        return test

    return over_all


@for_each(MODULES)
def test_a_module_imports_only_its_own_floor_and_lower_ones(module: str) -> None:
    if is_data_only(module):
        return
    for other in imports(module):
        if other.split(".")[0] == "fencegrade" and not is_data_only(other):
            assert floor(other) <= floor(module), f"{module} imports {other} from a higher floor"
            if floor(module) == 0:
                assert room(other) in {room(module), "units", "problems"}, f"{module} imports {other}"


def place_in(order: tuple[set[str], ...], name: str) -> int:
    """The line of an order of rooms that a room stands on."""
    other = next((k for k, line in enumerate(order) if "*" in line), len(order))
    return next((k for k, line in enumerate(order) if name in line), other)


@for_each([m for m in MODULES if room(m) in {"fence", "sheets"} and m.count(".") > 1])
def test_rooms_inside_fence_and_sheets_keep_their_order(module: str) -> None:
    order = FENCE if room(module) == "fence" else SHEETS
    own = module.split(".")[2]
    for other in imports(module):
        if room(other) == room(module) and other.count(".") > 1:
            name = other.split(".")[2]
            if name != own:
                there, here = place_in(order, name), place_in(order, own)
                assert there < here or there == here == place_in(order, "*"), f"imports {other}"


STYLES = {"sloped", "stepped", "racked", "contour"}
"""Names of top styles that are no other word of the house."""


@for_each([m for m in MODULES if not m.startswith("fencegrade.fence.tops")])
def test_no_top_style_is_named_outside_its_room(module: str) -> None:
    for node in nodes(module):
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
            assert node.value.id != "TopStyle", f"{module} line {node.lineno}"
        if isinstance(node, ast.Constant):
            assert node.value not in STYLES, f"{module} line {node.lineno}"


def test_cutting_knows_nothing_of_fences() -> None:
    for module in (m for m in MODULES if room(m) == "cutting"):
        rooms = {room(o) for o in imports(module) if o.startswith("fencegrade.")}
        assert rooms <= {"cutting", "units", "problems", "highs"}, module


def test_every_room_has_its_sentence_in_the_guide() -> None:
    guide = (HOUSE.parent / "DEVELOPERS.md").read_text(encoding="utf-8")
    rooms = {
        f"{p.parent.relative_to(HOUSE).as_posix()}/" for p in HOUSE.rglob("__init__.py") if p.parent != HOUSE
    }
    inner = {r.split("/")[-2] + "/" for r in rooms}
    missing = sorted(r for r in inner if f"`{r}`" not in guide)
    assert not missing


def test_before_a_commit_or_a_push_the_checks_of_ci_are_run() -> None:
    """What `.ci/run` does once the environment stands, and the README's tests, are hooks."""
    root = HOUSE.parent
    hooks = re.findall(r"entry: (.+)", (root / ".pre-commit-config.yaml").read_text(encoding="utf-8"))
    steps = re.findall(
        r"^step (\.venv/\S+ -m (?!pip).+)$", (root / ".ci" / "run").read_text(encoding="utf-8"), re.M
    )
    assert steps
    assert not set(steps) - set(hooks)
    assert any(h.startswith(".venv/bin/python -m pytest") and "-m" not in h.split("pytest")[1] for h in hooks)


@for_each([m for m in MODULES if m != "fencegrade.units.tolerances"])
def test_a_tolerance_has_a_name_and_stands_in_one_place(module: str) -> None:
    """Small numbers stand where a name is given to them; those of the house in `units.tolerances`."""
    for node in tree(module).body:
        if not isinstance(node, ast.Assign | ast.AnnAssign):
            for inner in ast.walk(node):
                if isinstance(inner, ast.Constant) and isinstance(inner.value, float):
                    assert not 0 < inner.value < 1e-4, f"line {inner.lineno}: {inner.value} has no name"


@for_each([m for m in MODULES if room(m) != "cli"])
def test_options_are_named_by_the_commands_alone(module: str) -> None:
    for node in nodes(module):
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            option = re.search(r"(?<![-\w<!])--[a-z]\w+", node.value)
            assert not option, f"line {node.lineno}: {option and option[0]}"


@for_each([m for m in MODULES if room(m) != "cli"])
def test_nothing_prints_outside_the_commands(module: str) -> None:
    for node in nodes(module):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            assert node.func.id not in {"print", "input"}, f"{module} line {node.lineno}"
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
            where = (node.value.id, node.attr)
            assert where not in {("sys", "stdout"), ("sys", "stderr")}, f"{module} line {node.lineno}"


@for_each([m for m in MODULES if room(m) != "sheets"])
def test_matplotlib_is_used_for_sheets_alone(module: str) -> None:
    assert not [o for o in imports(module) if o.split(".")[0] in {"matplotlib", "mpl_toolkits"}]


@for_each([m for m in MODULES if room(m) not in FILES_ALLOWED])
def test_files_are_opened_by_readers_sheets_and_commands_alone(module: str) -> None:
    doors = {"os", "shutil", "tempfile", "tomllib", "csv"}
    if room(module) not in RUNNERS:  # a runner hands a path on to the reader, and opens nothing itself
        doors |= {"pathlib"}
    assert not {o.split(".")[0] for o in imports(module)} & doors
    for node in nodes(module):
        if isinstance(node, ast.Call):
            called = node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")
            assert called not in {
                "open",
                "read_text",
                "write_text",
                "read_bytes",
                "write_bytes",
                "load",
                "savez",
            }, f"{module} line {node.lineno}"


@for_each(MODULES)
def test_every_module_says_what_it_is_for(module: str) -> None:
    """Every room and every file of one begins with a line of its own, a whole sentence or phrase."""
    first = (ast.get_docstring(tree(module)) or "").split("\n")[0]
    assert first, "no docstring"
    assert first.endswith((".", ":", "?")), f"its first line has no end: {first!r}"


def public_definitions(module: str) -> Iterator[tuple[str, ast.FunctionDef | ast.ClassDef]]:
    for node in tree(module).body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_"):
            yield node.name, node
            if isinstance(node, ast.ClassDef):
                for inner in node.body:
                    if isinstance(inner, ast.FunctionDef) and not inner.name.startswith("_"):
                        yield f"{node.name}.{inner.name}", inner


@for_each(MODULES)
def test_public_functions_and_classes_say_what_they_do(module: str) -> None:
    for name, node in public_definitions(module):
        text = ast.get_docstring(node)
        assert text, f"{module}.{name} (line {node.lineno}) has no docstring"
        first = text.split("\n\n")[0].strip()
        assert first.endswith((".", ":", "?")), f"{module}.{name}: its first sentence has no end: {first!r}"


def switched_on(keywords: list[ast.keyword]) -> set[str | None]:
    return {k.arg for k in keywords if isinstance(k.value, ast.Constant) and k.value.value is True}


@for_each(MODULES)
def test_records_are_frozen_and_keyword_only(module: str) -> None:
    """What a builder said is a slotted dataclass, what is worked out of it a Struct."""
    for node in nodes(module):
        if not isinstance(node, ast.ClassDef) or node.name.startswith("_"):
            continue
        if any(isinstance(base, ast.Name) and base.id == "Struct" for base in node.bases):
            assert switched_on(node.keywords) >= {"frozen", "kw_only"}, f"{module}.{node.name}"
        for mark in node.decorator_list:
            called = mark.func if isinstance(mark, ast.Call) else mark
            if isinstance(called, ast.Name) and called.id == "dataclass":
                given = switched_on(mark.keywords if isinstance(mark, ast.Call) else [])
                assert {"slots", "kw_only"} <= given, f"{module}.{node.name}"


def lines_told(node: ast.AST) -> range:
    """The lines of a text that stands by itself: a docstring, or a word about a constant."""
    if (
        isinstance(node, ast.Expr)
        and isinstance(node.value, ast.Constant)
        and isinstance(node.value.value, str)
    ):
        return range(node.lineno, (node.end_lineno or node.lineno) + 1)
    return range(0)


@for_each(MODULES)
def test_functions_and_files_are_short(module: str) -> None:
    text = MODULES[module].read_text(encoding="utf-8")
    told = {line for node in nodes(module) for line in lines_told(node)}
    code = [
        line
        for number, line in enumerate(text.splitlines(), start=1)
        if number not in told and line.strip() and not line.strip().startswith("#")
    ]
    assert len(code) <= 350, f"{module} has {len(code)} lines"
    for node in nodes(module):
        if isinstance(node, ast.FunctionDef):
            assert node.end_lineno is not None
            length = node.end_lineno - node.lineno + 1
            most = 75 if room(module) == "cli" else 50  # a command's options are its signature
            assert length <= most, f"{module}.{node.name} is {length} lines long"


def loaded_by(code: str) -> set[str]:
    """Top-level names of the modules that a fresh interpreter has loaded after running `code`."""
    script = f"import sys, json\n{code}\nsys.stderr.write('\\n@' + json.dumps(sorted(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    names: list[str] = json.loads(done.stderr.rpartition("@")[2])
    return set(names)


def running(*words: str) -> str:
    """Code that runs the command and goes on."""
    return (
        f"sys.argv = ['fencegrade', *{words!r}]\nfrom fencegrade.cli.main import main\n"
        "try:\n main()\nexcept SystemExit: pass"
    )


@pytest.mark.parametrize(
    "words", [["--help"], ["plan", "--help"], ["check", "--help"], ["--version"], ["nonsense"]]
)
def test_help_loads_nothing_heavy(words: list[str]) -> None:
    loaded = loaded_by(running(*words))
    assert not {name for name in loaded if name.split(".")[0] in HEAVY}
    assert not {name for name in loaded if name.startswith("fencegrade.") and floor(name) < 8} - LIGHT


def test_the_package_itself_loads_nothing_heavy() -> None:
    assert not {name for name in loaded_by("import fencegrade") if name.split(".")[0] in HEAVY}


def test_a_first_plan_of_a_bare_survey_loads_no_drawing_library(tmp_path: Path) -> None:
    survey = tmp_path / "yard.csv"
    survey.write_text("station [ft],drop [in]\n0,20\n6,20\n10,24\n14,30\n18,22\n24,20\n")
    loaded = loaded_by(running("plan", str(survey), "--details"))
    assert "fencegrade.planning.plan" in loaded
    assert not {name for name in loaded if name.split(".")[0] in DRAWING}


class TestTheRulesThemselves:
    """Each rule is seen to catch what it is for."""

    def test_every_module_is_gone_through(self) -> None:
        seen: list[str] = []
        for_each(["a", "b"])(lambda module: seen.append(module))()
        assert seen == ["a", "b"]

        def never(module: str) -> None:
            raise AssertionError("no")

        with pytest.raises(AssertionError, match=r"a: no\s+b: no"):
            for_each(["a", "b"])(never)()

    def broken(self, monkeypatch: pytest.MonkeyPatch, module: str, source: str) -> None:
        monkeypatch.setitem(MODULES, module, Path(__file__))
        monkeypatch.setattr(f"{__name__}.tree", lambda name: ast.parse(source))
        for kept in (nodes, imports):  # what is known of other modules of that name does not count
            monkeypatch.setattr(f"{__name__}.{kept.__name__}", kept.__wrapped__)

    def test_an_import_upwards(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.broken(monkeypatch, "fencegrade.job.bad", "from fencegrade.planning.plan import plan_fence")
        with pytest.raises(AssertionError, match="higher floor"):
            CHECKS["test_a_module_imports_only_its_own_floor_and_lower_ones"]("fencegrade.job.bad")

    def test_a_hidden_import_upwards(self, monkeypatch: pytest.MonkeyPatch) -> None:
        source = "def f():\n    from fencegrade.sheets import words"
        self.broken(monkeypatch, "fencegrade.fence.bad", source)
        with pytest.raises(AssertionError, match="higher floor"):
            CHECKS["test_a_module_imports_only_its_own_floor_and_lower_ones"]("fencegrade.fence.bad")

    def test_a_print(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.broken(monkeypatch, "fencegrade.job.bad", "print('x')")
        with pytest.raises(AssertionError, match="line 1"):
            CHECKS["test_nothing_prints_outside_the_commands"]("fencegrade.job.bad")

    def test_an_open_file(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.broken(monkeypatch, "fencegrade.fence.bad", "x = open('y')")
        with pytest.raises(AssertionError, match="line 1"):
            CHECKS["test_files_are_opened_by_readers_sheets_and_commands_alone"]("fencegrade.fence.bad")

    def test_a_missing_docstring(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.broken(monkeypatch, "fencegrade.fence.bad", "class A:\n    'It is.'\n    def b(self): pass")
        with pytest.raises(AssertionError, match=r"A\.b"):
            CHECKS["test_public_functions_and_classes_say_what_they_do"]("fencegrade.fence.bad")
