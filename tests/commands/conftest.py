"""Running the command as a builder does, and inside the test for speed."""

import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

SURVEY = "station [ft],drop [in]\n0,20\n6,20\n10,24\n14,30\n18,22\n24,20\n"


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """How a command ended."""

    status: int
    out: str
    err: str

    @property
    def errors(self) -> list[str]:
        """The lines on standard error."""
        return self.err.splitlines()


Run = Callable[..., Done]


@pytest.fixture(autouse=True)
def no_pixels(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """A picture is written as SVG and as PNG: no test here looks into a PNG, but those of a module that
    says so."""
    if not getattr(request.module, "PIXELS", False):
        monkeypatch.setattr("fencegrade.sheets.folder.png_bytes", lambda figure: b"")


@pytest.fixture
def run(capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Run:
    """Runs the command's own entry point in this process: as from a shell, but without the start-up."""
    from fencegrade.cli.main import main

    def runner(*words: str | Path) -> Done:
        monkeypatch.setattr(sys, "argv", ["fencegrade", *map(str, words)])
        capfd.readouterr()
        status: object = 0
        try:
            main()
        except SystemExit as ended:
            status = ended.code or 0
        out, err = capfd.readouterr()
        return Done(status=status if isinstance(status, int) else 1, out=out, err=err)

    return runner


@pytest.fixture
def shell() -> Run:
    """Runs the command in a process of its own, by way of a shell line after `fencegrade`."""

    def runner(line: str, **environment: str) -> Done:
        import os

        code = f"{sys.executable} -c 'from fencegrade.cli.main import main; main()' {line}"
        done = subprocess.run(
            ["bash", "-c", code],
            capture_output=True,
            text=True,
            env={**os.environ, **environment},
            timeout=120,
        )
        return Done(status=done.returncode, out=done.stdout, err=done.stderr)

    return runner


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """A sound job of one run."""
    folder = tmp_path / "herb-garden"
    folder.mkdir()
    (folder / "job.toml").write_text(
        '[job]\ntitle = "Herb garden"\nunits = "imperial"\n'
        '[[run]]\nname = "lane side"\nsurvey = "lane.csv"\n'
        '[[pickets.stock]]\nlength = "6 ft"\nprice = 4.10\n[[pickets.stock]]\nlength = "8 ft"\nprice = 6.85\n'
    )
    (folder / "lane.csv").write_text(SURVEY)
    return folder
