"""The README is in step: its commands run, its Python runs, its reference is that of the code."""

import doctest
import json
import re
import shlex
import shutil
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from refreshed import refresh_samples

from fencegrade.building.resume import resume_fence
from fencegrade.building.resume_ask import read_ask
from fencegrade.job.as_built import built_text, parse_as_built
from fencegrade.job.cut_list import read_cut_list
from fencegrade.job.read import read_job
from fencegrade.planning.boards import plan_cut_list
from fencegrade.sheets.plan_tables import plan_tables
from fencegrade.sheets.screen.boards_text import offcut_table, pattern_table, stop_table
from fencegrade.sheets.screen.compare_text import comparison_table
from fencegrade.sheets.screen.heights_text import heights_table
from fencegrade.sheets.screen.resume_text import board_table, change_table
from fencegrade.sheets.tables import Kind
from fencegrade.study import compare_tops, heights, plan_fence
from fencegrade.units import UnitSystem

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def between(text: str, begin: str, end: str) -> str:
    inner = re.search(f"{re.escape(begin)}(.*?){re.escape(end)}", text, re.DOTALL)
    assert inner, begin
    return inner[1]


SET_UP = between(README, "<!-- set-up -->", "<!-- end of set-up -->")
COMMANDS = [
    line.strip()
    for line in README.replace(SET_UP, "").splitlines()
    if line.startswith("    .venv/bin/fencegrade")
]


@pytest.fixture
def fresh(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of what a newcomer has in the folder, and a job folder as the help's examples name it."""

    def inputs_only(folder: str, found: list[str]) -> list[str]:
        return [n for n in found if (Path(folder) / n).is_dir() and Path(folder) != ROOT / "sample_runs"]

    shutil.copytree(ROOT / "sample_runs", tmp_path / "sample_runs", ignore=inputs_only)
    shutil.copytree(tmp_path / "sample_runs" / "herb_garden", tmp_path / "my-fence")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def write_readings(folder: Path) -> None:
    """What the builder does between two commands: the readings are written into the blank survey."""
    for survey in folder.glob("*.csv"):
        text = survey.read_text()
        survey.write_text(re.sub(r"^# (\d+),$", lambda m: f"{m[1]},{20 + int(m[1]) / 8}", text, flags=re.M))


def test_the_columns_of_text_in_every_table_are_those_it_names(job: Path) -> None:
    rows = re.findall(
        r"^\| `(\S+)\.csv` \| [^|]+ \|(.*)\|$", between(README, "<!-- tables -->", "<!-- end"), re.M
    )
    told = {name: set(re.findall(r"`([^`]+)`", re.sub(r" \(.*?\)", "", text))) for name, text in rows}
    small, garden = read_job(job), read_job(ROOT / "sample_runs" / "herb_garden")
    listed = plan_cut_list(read_cut_list(ROOT / "sample_runs" / "planter_boards.json"))
    resumed = resume_fence(garden, read_ask(garden, after=43, texts={"at": "18 ft 8-1/2 in"}), None)
    tables = dict(plan_tables(plan_fence(garden)))
    every = [
        *((re.sub("^[a-z]+_boards", "..._boards", name), table) for name, table in tables.items()),
        ("comparison", comparison_table(compare_tops(small))),
        ("heights_...", heights_table(found := heights(small), found.tables[0])),
        ("resume_chart", change_table(resumed)),
        ("resume_boards", board_table(resumed)),
        ("boards", pattern_table(listed)),
        ("saw_list", stop_table(listed)),
        ("offcuts", offcut_table(listed)),
    ]
    assert told.keys() - {name for name, _ in every} == {"wind"}
    for name, table in every:
        text = {column.head for column in table.columns if column.kind is Kind.TEXT} - {"run"}
        assert text == told[name], name


def test_the_set_up_is_two_commands() -> None:
    lines = [line for line in SET_UP.splitlines() if line.strip()]
    assert len(lines) == 2
    assert all(line.startswith("    ") for line in lines)
    assert "venv" in lines[0]
    assert "pytest" in lines[1]


def test_every_command_line_of_the_readme_runs(fresh: Path, run: Any) -> None:
    assert len(COMMANDS) >= 10
    for line in COMMANDS:
        words = shlex.split(line)[1:]
        done = run(*words)
        assert (done.status, done.err) == (0, ""), line
        assert done.out.strip(), line
        if words[0] == "new":
            write_readings(fresh / words[1])


STANDS = between(README, "<!-- what stands -->", "<!-- end of what stands -->")


@pytest.mark.parametrize("record", re.findall(r"```toml\n(.*?)```", STANDS, re.DOTALL))
def test_every_example_of_what_stands_is_planned_from(fresh: Path, run: Any, record: str) -> None:
    """Each one changes the plan, and none of them is doubted."""
    before = json.loads(run("plan", "my-fence", "--json").out)
    (fresh / "my-fence" / "built.toml").write_text(record)
    done = run("plan", "my-fence", "--json")
    assert (done.status, done.err) == (0, "")
    after = json.loads(done.out)
    assert not any("again" in p["message"] for p in after["problems"] if "built.toml" in p["place"])
    if "left" not in record:
        assert after["runs"] != before["runs"]
    assert built_text(parse_as_built(record), UnitSystem.IMPERIAL)


def all_commands() -> list[str]:
    from fencegrade.cli.main import app

    return [str(c.name) for c in app.registered_commands]


def test_every_command_has_its_example_in_the_readme() -> None:
    shown = {shlex.split(line)[1] for line in COMMANDS}
    assert shown == set(all_commands())


def example(name: str) -> str:
    """The example line that a command's help shows."""
    from fencegrade.cli.main import app

    called = next(c.callback for c in app.registered_commands if c.name == name)
    _, _, found = (called.__doc__ or "").partition("Example: ")
    assert found, f"the help of {name} has no example"
    return " ".join(found.split())


@pytest.mark.parametrize("name", all_commands())
def test_the_example_of_the_help_runs(fresh: Path, run: Any, name: str) -> None:
    line = example(name)
    words = shlex.split(line)
    assert words[:2] == ["fencegrade", name]
    if words[1:] not in [shlex.split(command)[1:] for command in COMMANDS]:  # those are run above
        done = run(*words[1:])
        assert (done.status, done.err) == (0, ""), line
    shown = run(name, "--help").out
    assert " ".join(line.split()) in " ".join(shown.split())


def test_the_python_of_the_readme_runs(fresh: Path) -> None:
    """As it stands there, but for every tenth of the heights that the study goes through."""
    blocks = "\n".join(re.findall(r"```python\n(.*?)```", README, re.DOTALL))
    assert blocks.count("np.arange(200)") == 1
    blocks = blocks.replace("np.arange(200)", "np.arange(0, 200, 10)")
    test = doctest.DocTestParser().get_doctest(blocks, {}, "README", "README.md", 0)
    assert len(test.examples) >= 10
    said: list[str] = []
    runner = doctest.DocTestRunner(optionflags=doctest.ELLIPSIS)
    runner.run(test, out=said.append)
    assert not runner.failures, "".join(said)


def test_it_is_short_and_its_study_shorter() -> None:
    told = README.partition("\n## Surveys reference\n")[0]
    assert told.count("\n") <= 250
    assert between(README, "<!-- study -->", "\n```\n").count("\n>>> ") < 40
    assert README.index("## Job file reference") > max(
        README.rindex(f"## {other}") for other in ("F", "L", "W")
    )


def test_every_public_function_is_shown() -> None:
    import fencegrade

    code = "\n".join(re.findall(r"```python\n(.*?)```", README, re.DOTALL))
    for name in fencegrade.__all__:
        if name.islower():
            assert f"fencegrade.{name}(" in code


def test_what_is_made_between_marks_is_in_step() -> None:
    assert refresh_samples().with_reference(README) == README, "run python -m tests.refresh_samples"


def test_every_key_of_the_job_file_is_in_the_reference_once() -> None:
    from fencegrade.job.schema import keys, tables

    refresh = refresh_samples()
    reference = between(README, refresh.BEGIN, refresh.END)
    for table in tables():
        own = between(reference + "**`", f"**`{table.heading}`**", "**`")
        for key in keys(table.record):
            if key.table is None:
                assert own.count(f"\n| `{key.name}` |") == 1, (table.heading, key.name)
                assert key.description


def test_files_and_folders_that_are_named_exist() -> None:
    for target in re.findall(r"\]\(([^)#]+)\)", README):
        if "://" not in target:
            assert (ROOT / target).exists(), target
    for named in re.findall(
        r"`((?:sample_runs|fencegrade|notebooks)/[\w./]+|DEVELOPERS\.md|notebooks)`", README
    ):
        assert (ROOT / named).exists(), named


def test_the_reading_table_of_the_readme_is_a_survey(fresh: Path, run: Any) -> None:
    table, _ = re.findall(r"```csv\n(.*?)```", README, re.DOTALL)
    (fresh / "mine.csv").write_text(table)
    assert run("plan", "mine.csv").status == 0


def test_the_list_of_the_readme_is_the_sample(tmp_path: Path) -> None:
    """What is bought and cut, and for what, is the same from the table as from JSON."""
    table = tmp_path / "list.csv"
    table.write_text(between(between(README, "<!-- list -->", "<!-- end of list -->"), "```csv\n", "```"))
    told, sample = map(read_cut_list, (table, ROOT / "sample_runs" / "planter_boards.json"))
    for name in ("stock", "pieces"):
        there, here = ([replace(entry, place="") for entry in getattr(k, name)] for k in (told, sample))
        assert there == here
    assert replace(told, stock=(), pieces=(), place="") == replace(sample, stock=(), pieces=(), place="")
