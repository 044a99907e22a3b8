"""Make again all that is kept with the code but made by it: sheets of the samples, what is told of odd jobs,
and in the README its first list and its references.

    python -m tests.refresh_samples

Run it after a change that means to alter them, and look at every file that changed.
"""

import json
import os
import shutil
import subprocess
import sys
import tempfile
from importlib.metadata import version
from pathlib import Path

ROOT = Path(__file__).parents[1]
SAMPLES = ROOT / "sample_runs"
MADE_WITH = SAMPLES / "made_with.json"
BEGIN, END = (
    "<!-- job reference, made by python -m tests.refresh_samples -->",
    "<!-- end of job reference -->",
)
LIST_BEGIN, LIST_END = (
    "<!-- list of the first sample, made by python -m tests.refresh_samples -->",
    "<!-- end of list -->",
)
SURVEYS_BEGIN, SURVEYS_END = (
    "<!-- kinds of survey, made by python -m tests.refresh_samples -->",
    "<!-- end of kinds -->",
)
FORMATS_BEGIN, FORMATS_END = (
    "<!-- formats reference, made by python -m tests.refresh_samples -->",
    "<!-- end of formats reference -->",
)

COMMANDS = {
    "herb_garden/sheets": ["plan", "herb_garden"],
    "herb_garden/tops": ["compare", "herb_garden"],
    "herb_garden/ground": ["check", "herb_garden"],
    "herb_garden/heights": ["heights", "herb_garden"],
    "paddock_lane/sheets": ["plan", "paddock_lane"],
    "planter_boards": ["boards", "planter_boards.json"],
}
"""Each folder of made files, with the command that makes it; job and folder lie under `sample_runs`."""

KEPT_BY = ("tests/unit/sheets/drawings", "tests/unit/sheets/paper", "tests/unit/fence/test_as_kept.py")
"""Unit tests that keep how drawings and pages look, and what the rooms of the fence give."""

MADE_BY = ("highspy", "matplotlib", "numpy", "pillow", "reportlab", "scipy")
"""Libraries that have a say in the bytes of drawings and pages, and in which of two equal plans is found."""


def make(inputs: Path, folder: str, out: Path) -> None:
    """Run the command that makes one folder, into `out`. Errors: SystemExit where it fails."""
    from fencegrade.cli.main import main

    command, job = COMMANDS[folder]
    before = sys.argv
    sys.argv = ["fencegrade", command, str(inputs / job), "--out", str(out)]
    try:
        main()
    except SystemExit as ended:
        if ended.code:
            raise
    finally:
        sys.argv = before


def libraries() -> dict[str, str]:
    """Versions of the libraries that make the files, and the kind of processor they were built for."""
    import platform
    import zlib
    from importlib.metadata import PackageNotFoundError

    import matplotlib.ft2font

    found = {
        "freetype": str(matplotlib.ft2font.__freetype_version__),
        "processor": platform.machine(),
        "zlib": zlib.ZLIB_RUNTIME_VERSION,
    }
    for name in MADE_BY:
        try:
            found[name] = version(name)
        except PackageNotFoundError:
            found[name] = "none"
    return dict(sorted(found.items()))


def same_libraries() -> bool:
    """Whether what is kept was made by the libraries at hand."""
    kept: dict[str, str] = json.loads(MADE_WITH.read_text(encoding="utf-8"))
    return kept == libraries()


def with_reference(readme: str) -> str:
    """The README with all that is made anew between marks: its first list, and the references of formats and
    of the job file."""
    sys.path.append(str(Path(__file__).parent / "support"))
    from format_reference import formats_markdown
    from job_reference import reference_markdown
    from survey_reference import surveys_markdown

    listed = _between(readme, LIST_BEGIN, LIST_END, first_list())
    known = _between(listed, FORMATS_BEGIN, FORMATS_END, formats_markdown())
    surveyed = _between(known, SURVEYS_BEGIN, SURVEYS_END, surveys_markdown())
    return _between(surveyed, BEGIN, END, reference_markdown())


def first_list() -> str:
    """The first lines of what the first sample has to buy, as the screen shows them."""
    import fencegrade
    from fencegrade.sheets.screen.summary import summary_lines

    said = list(summary_lines(fencegrade.plan_fence(fencegrade.read_job(SAMPLES / "herb_garden"))))
    first = next(k for k, line in enumerate(said) if line.startswith("To buy"))
    whole = next(line for line in said[first:] if line.startswith("  pickets:"))
    return "\n".join(["```text", *said[first : first + 6], "   ...", whole, "```"])


def _between(text: str, begin: str, end: str, made: str) -> str:
    before, _, rest = text.partition(begin)
    _, _, after = rest.partition(end)
    return f"{before}{begin}\n\n{made.strip()}\n\n{end}{after}"


def refresh() -> None:
    """Make everything again in place."""
    readme = ROOT / "README.md"
    readme.write_text(with_reference(readme.read_text(encoding="utf-8")), encoding="utf-8")
    for folder in COMMANDS:
        shutil.rmtree(SAMPLES / folder, ignore_errors=True)
        make(SAMPLES, folder, SAMPLES / folder)
    import many_fences
    import many_fills
    import many_surveys
    import many_wrongs
    import quick_lists
    from odd_jobs import KEPT, NAMES, told

    with tempfile.TemporaryDirectory() as folder:
        for name in NAMES:
            for file, text in told(name, Path(folder)).items():
                (KEPT / file).write_text(text, encoding="utf-8")
    for kept in (quick_lists, many_surveys, many_fills, many_wrongs, many_fences):
        kept.KEPT.write_text(kept.all_told(), encoding="utf-8")
    words = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", *KEPT_BY]
    subprocess.run(words, cwd=ROOT, env={**os.environ, "FENCEGRADE_KEEP": "1"}, check=True)
    MADE_WITH.write_text(json.dumps(libraries(), indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    refresh()
    print("made again; now look at every file that changed")
