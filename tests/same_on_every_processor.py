"""The samples made with and without the vector instructions of this processor must be the same bytes.

    python -m tests.same_on_every_processor

Numpy computes by other instructions on other processors, and its linear algebra by other routines, so that
last bits of a figure differ; none of them may reach a sheet, a drawing or a table.
"""

import os
import platform
import subprocess
import sys
import tempfile
from importlib import import_module
from pathlib import Path
from typing import Any

from tests.refresh_samples import COMMANDS, ROOT, SAMPLES, make

NARROW = "without vector instructions"


def plainest() -> dict[str, str]:
    """The environment of a processor that has only what numpy needs at least."""
    umath: Any = import_module("numpy._core._multiarray_umath")
    environment = {"NPY_DISABLE_CPU_FEATURES": " ".join(umath.__cpu_dispatch__)}
    if platform.machine() in {"x86_64", "AMD64"}:
        environment["OPENBLAS_CORETYPE"] = "Nehalem"
    return environment


def make_all(out: Path) -> None:
    """Make every folder of the samples into `out`."""
    for folder in COMMANDS:
        make(SAMPLES, folder, out / folder)


def differing(one: Path, other: Path) -> list[str]:
    """The files of two folders that are not the same."""
    names = {str(p.relative_to(root)) for root in (one, other) for p in root.rglob("*") if p.is_file()}
    return sorted(n for n in names if (one / n).read_bytes() != (other / n).read_bytes())


def main() -> None:
    """Make both at once, each in a process of its own, and compare. Errors: SystemExit where they differ."""
    with tempfile.TemporaryDirectory() as scratch:
        folders = [Path(scratch) / name for name in ("as it is", NARROW)]
        children = [
            subprocess.Popen(
                [sys.executable, "-m", "tests.same_on_every_processor", str(folder)],
                cwd=ROOT,
                env={**os.environ, **(plainest() if folder.name == NARROW else {})},
                stdout=subprocess.DEVNULL,
            )
            for folder in folders
        ]
        if sum(child.wait() for child in children):
            sys.exit("the samples could not be made")
        if found := differing(*folders):
            sys.exit("not the same on every processor:\n" + "\n".join(f"  {name}" for name in found))
        print(
            f"{sum(p.is_file() for p in folders[0].rglob('*'))} files of the samples are the same both ways"
        )


if __name__ == "__main__":
    if sys.argv[1:]:
        make_all(Path(sys.argv[1]))
    else:
        main()
