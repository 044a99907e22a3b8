"""The files of a resumed run, written into one folder."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from fencegrade.building.record import BuiltRecord
from fencegrade.building.resume import Resumed
from fencegrade.sheets.files import Writer, write_files
from fencegrade.sheets.screen.built_text import (
    board_record_table,
    post_record_table,
    rail_record_table,
    record_json,
    record_lines,
)
from fencegrade.sheets.screen.resume_text import (
    board_table,
    change_table,
    resume_lines,
    resume_record,
)
from fencegrade.sheets.tables import csv_text
from fencegrade.units.words import Words


def resumed_lines(resumed: Resumed, record: BuiltRecord | None) -> Iterator[str]:
    """The rest laid again, then the record where there is one."""
    yield from resume_lines(resumed)
    if record is not None:
        yield ""
        yield from record_lines(record, Words.of_readings(resumed.plan.job.job.units))


def resumed_json(resumed: Resumed, record: BuiltRecord | None) -> dict[str, Any]:
    """The same for machines."""
    words = Words.of(resumed.plan.job.job)
    return resume_record(resumed) | ({} if record is None else {"as_built": record_json(record, words)})


def write_resume(
    resumed: Resumed, record: BuiltRecord | None, folder: Path, force: bool = False
) -> list[Path]:
    """Write the new chart, the boards and the record into `folder`, all or none.

    `force`: replace files this program did not write. Result: the paths written. Errors: JobMistakesError
    where the folder cannot be written or a foreign file stands in the way.
    """
    words = Words.of(resumed.plan.job.job)
    files: dict[str, bytes | Writer] = {
        "resume.json": (json.dumps(resumed_json(resumed, record), indent=1) + "\n").encode(),
        "resume.txt": ("\n".join(resumed_lines(resumed, record)) + "\n").encode(),
        "resume_chart.csv": csv_text(change_table(resumed), words).encode(),
        "resume_boards.csv": csv_text(board_table(resumed), words).encode(),
    }
    if record is not None:
        for table in (board_record_table(record), post_record_table(record), rail_record_table(record)):
            files[f"{table.name}.csv"] = csv_text(table, words).encode()
    return write_files(folder, files, force, "resume")
