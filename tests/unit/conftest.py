"""Writes a job folder from a few texts and reads it back."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from fencegrade.job.read import Job, read_job

LEVEL = "station [ft],elevation [in]\n0,0\n8,0\n16,0\n24,0\n"
ROLLING = "station [ft],elevation [in]\n0,0\n4,-1\n8,-5\n12,-13\n16,-9\n20,-3\n24,1\n"
STOCK = '[[pickets.stock]]\nlength = "6 ft"\nprice = 4.0\n[[pickets.stock]]\nlength = "8 ft"\nprice = 6.5\n'

WriteJob = Callable[..., Job]


def _writer(folder: Path) -> WriteJob:
    def writer(
        tables: str = "",
        *,
        stock: str = STOCK,
        units: str = "imperial",
        job: str = "",
        pickets: str = "",
        **runs: str | tuple[str, str],
    ) -> Job:
        text = [f'[job]\ntitle = "Herb garden"\nunits = "{units}"\n{job}\n']
        for name, run in (runs or {"lane": ROLLING}).items():
            survey, keys = (run, "") if isinstance(run, str) else run
            (folder / f"{name}.csv").write_text(survey)
            text.append(f'[[run]]\nname = "{name}"\nsurvey = "{name}.csv"\n{keys}\n')
        text.append(f"{tables}\n[pickets]\n{pickets}\n{stock}")
        (folder / "job.toml").write_text("".join(text))
        return read_job(folder)

    return writer


@pytest.fixture
def write_job(tmp_path: Path) -> WriteJob:
    """Writes and reads a job; a run is its survey or (survey, keys), by name; `tables` go before pickets."""
    return _writer(tmp_path)


@pytest.fixture(scope="module")
def write_once(tmp_path_factory: pytest.TempPathFactory) -> WriteJob:
    """The same for the job that several tests of a module look at."""
    return _writer(tmp_path_factory.mktemp("once"))


@pytest.fixture(scope="module")
def no_other_height() -> Iterator[None]:
    """Tops are compared without looking for a better height of each: for tests that never read it."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("fencegrade.planning.compare.better_height", lambda plan: None)
        yield
