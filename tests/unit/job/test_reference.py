"""The job file's reference says what the reader does."""

import re
from pathlib import Path

import pytest
from job_reference import reference_markdown, written_as

from fencegrade.job.defaults import FROM_BOARDS, default_tables
from fencegrade.job.read import read_job
from fencegrade.job.records import JobFile
from fencegrade.job.schema import is_choice, keys, tables
from fencegrade.units import UnitSystem

REFERENCE = reference_markdown()
ROW = re.compile(r"^\| `(\w+)` \| (.+) \| (.+) \| (.+) \| (.+) \|$", re.MULTILINE)


def rows(heading: str) -> dict[str, tuple[str, ...]]:
    """The lines of one table of the reference: key to its other cells."""
    own = REFERENCE.split(f"**`{heading}`**")[1].split("\n**`")[0]
    return {found[0]: found[1:] for found in ROW.findall(own)}


def test_every_table_stands_once_and_the_whole_file_is_walked() -> None:
    headings = [t.heading for t in tables()]
    assert len(headings) == len(set(headings))
    assert {t.path[0] for t in tables()} == {k.name for k in keys(JobFile)}
    needed = {k.name for k in keys(JobFile) if k.required}
    assert needed == {"job", "run", "top", "pickets", "posts", "rails", "soil"}
    for heading in headings:
        assert REFERENCE.count(f"**`{heading}`**") == 1
        assert rows(heading)


@pytest.mark.parametrize(("system", "column"), [(UnitSystem.IMPERIAL, 2), (UnitSystem.METRIC, 3)])
def test_defaults_shown_are_the_defaults_taken(tmp_path: Path, system: UnitSystem, column: int) -> None:
    """What a silent job is said to assume is what the reference shows."""
    (tmp_path / "s.csv").write_text("station [ft],drop [in]\n0,20\n8,20\n")
    (tmp_path / "job.toml").write_text(
        f'[job]\ntitle = "t"\nunits = "{system}"\n[[run]]\nname = "n"\nsurvey = "s.csv"\n'
        '[[pickets.stock]]\nlength = "8 ft"\n'
    )
    assumed = {a.key: a.value for a in read_job(tmp_path).assumed}
    assert len(assumed) > 20
    for place, value in assumed.items():
        table, key = re.findall(r"^\[(\w+)\] (\w+)$", place)[0]
        shown = "of the boards" if (table, key) == FROM_BOARDS else value
        assert rows(f"[{table}]")[key][column] == shown


def test_what_is_needed_is_what_has_no_default() -> None:
    needed = {(t.heading, k) for t in tables() for k, c in rows(t.heading).items() if c[2] == "**needed**"}
    assert ("[job]", "title") in needed
    assert ("[[run]]", "survey") in needed
    assert ("[[run.gate]]", "width") in needed
    for heading, key in needed:
        table = heading.strip("[]").split(".")[0]
        assert key not in default_tables(UnitSystem.IMPERIAL).get(table, {}) or "." in heading


def test_words_to_choose_from_are_all_named() -> None:
    for table in tables():
        for key in keys(table.record):
            if is_choice(key.kind):
                shown = " ".join(rows(table.heading)[key.name][:2])
                assert all(choice in shown for choice in key.kind), (table.heading, key.name)


def test_every_kind_of_value_has_its_words() -> None:
    for table in tables():
        for key in keys(table.record):
            assert written_as(key)
            assert key.description, (table.heading, key.name)
