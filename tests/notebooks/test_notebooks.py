"""The notebooks run from top to bottom and are kept without their outputs."""

import ast
import json
from pathlib import Path
from typing import Any

import pytest

import fencegrade

FOLDER = Path(__file__).parents[2] / "notebooks"
NOTEBOOKS = sorted(FOLDER.glob("*.ipynb"))


def cells(path: Path, kind: str) -> list[dict[str, Any]]:
    """The cells of one kind."""
    book = json.loads(path.read_text(encoding="utf-8"))
    return [cell for cell in book["cells"] if cell["cell_type"] == kind]


def test_there_are_notebooks() -> None:
    assert len(NOTEBOOKS) >= 3


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda p: p.stem)
def test_outputs_are_stripped(path: Path) -> None:
    for cell in cells(path, "code"):
        assert cell["outputs"] == []
        assert cell["execution_count"] is None


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda p: p.stem)
def test_only_the_public_interface_is_imported(path: Path) -> None:
    """Notebooks use `import fencegrade` and its public names, never its inner modules."""
    code = "\n".join("".join(cell["source"]) for cell in cells(path, "code"))
    for node in ast.walk(ast.parse(code)):
        if isinstance(node, ast.ImportFrom):
            assert (node.module or "").split(".")[0] != "fencegrade"
        if isinstance(node, ast.Import):
            assert not [a.name for a in node.names if a.name.startswith("fencegrade.")]
        if (
            isinstance(node, ast.Attribute)
            and isinstance(node.value, ast.Name)
            and node.value.id == "fencegrade"
        ):
            assert node.attr in fencegrade.__all__


@pytest.mark.notebooks
@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda p: p.stem)
def test_the_notebook_runs(path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    nbclient = pytest.importorskip("nbclient", reason="the notebooks extra is not installed")
    nbformat = pytest.importorskip("nbformat", reason="the notebooks extra is not installed")
    monkeypatch.setenv("MPLBACKEND", "module://matplotlib_inline.backend_inline")
    book = nbformat.read(path, as_version=4)
    nbclient.NotebookClient(
        book, timeout=180, kernel_name="python3", resources={"metadata": {"path": str(tmp_path)}}
    ).execute()
    shown = [out for cell in book.cells if cell.cell_type == "code" for out in cell.outputs]
    assert any(out.output_type == "stream" and out.text.strip() for out in shown)
    assert not [out for out in shown if out.output_type == "error"]
