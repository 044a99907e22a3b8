"""What differs between systems, as far as it can be tried on one: names, separators, line ends, consoles."""

import json
import runpy
import sys
from pathlib import Path

import pytest

import fencegrade
from fencegrade.cli.say import command_line

from .conftest import Run


@pytest.fixture
def called(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The program where the README's set-up puts it, called from the folder around it."""
    program = tmp_path / ".venv" / "bin" / "fencegrade"
    program.parent.mkdir(parents=True)
    program.write_text("#!/bin/sh\n")
    program.chmod(0o755)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(sys, "argv", [str(program)])
    monkeypatch.setenv("PATH", "/nowhere")
    return program


def test_the_next_command_is_told_by_the_path_it_was_called_by(called: Path) -> None:
    assert command_line("plan", "my fence") == ".venv/bin/fencegrade plan 'my fence'"


def test_the_next_command_is_told_by_its_name_where_the_shell_finds_it(
    called: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PATH", str(called.parent))
    assert command_line("plan", "yard") == "fencegrade plan yard"


def test_from_another_folder_the_whole_path_is_told(
    called: Path, tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path_factory.mktemp("elsewhere"))
    assert command_line("check", "yard") == f"{called} check yard"


def test_the_program_runs_as_a_module_and_tells_the_next_command_so(
    called: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "argv", ["-m", "new", str(tmp_path / "yard")])
    with pytest.raises(SystemExit, match="0"):
        runpy.run_module("fencegrade", run_name="__main__", alter_sys=True)
    assert capsys.readouterr().out.endswith(f"\n  {sys.executable} -m fencegrade plan {tmp_path / 'yard'}\n")
    monkeypatch.setattr(sys, "argv", [str(Path(fencegrade.__file__).with_name("__main__.py"))])
    monkeypatch.setattr("shutil.which", {Path(sys.executable).name: sys.executable}.get)
    assert command_line("plan") == f"{Path(sys.executable).name} -m fencegrade plan"
    monkeypatch.setattr("shutil.which", {"fencegrade": str(called)}.get)
    assert command_line("plan") == "fencegrade plan"


def test_windows_puts_words_in_double_quotes(called: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("fencegrade.cli.say.os.name", "nt")
    monkeypatch.setattr("fencegrade.cli.say._called", lambda: ("fencegrade",))
    assert command_line("plan", "my fence") == 'fencegrade plan "my fence"'


def test_line_ends_and_separators_of_windows_change_nothing(run: Run, job: Path) -> None:
    told = json.loads(run("plan", job, "--json").out)
    (job / "readings").mkdir()
    survey = (job / "lane.csv").read_bytes().replace(b"\n", b"\r\n")
    (job / "readings" / "lane.csv").write_bytes(b"\xef\xbb\xbf" + survey)
    (job / "lane.csv").unlink()
    text = (job / "job.toml").read_text().replace('"lane.csv"', "'readings\\lane.csv'")
    (job / "job.toml").write_bytes(text.replace("\n", "\r\n").encode())
    assert json.loads(run("plan", job, "--json").out)["runs"] == told["runs"]


def test_a_console_that_cannot_write_every_letter(shell: Run, job: Path) -> None:
    text = (job / "job.toml").read_text(encoding="utf-8").replace("Herb garden", "Żwir ½ Ωmega €")
    (job / "job.toml").write_text(text, encoding="utf-8")
    done = shell(f"plan {job} | iconv -f cp1252 -t utf-8", PYTHONIOENCODING="cp1252")
    assert (done.status, done.err) == (0, "")
    assert "?wir ½ ?mega €" in done.out
