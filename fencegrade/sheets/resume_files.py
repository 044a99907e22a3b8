"""The files of a resumed run, written into one folder, and the record written back."""

from pathlib import Path

from fencegrade.building.resume import Resumed
from fencegrade.job.as_built import FILE, AsBuilt, built_text
from fencegrade.sheets.facts import grounds_of
from fencegrade.sheets.files import Writer, keep_foreign, record_bytes, text_bytes, write_files
from fencegrade.sheets.plan_tables import marked_provisional
from fencegrade.sheets.screen.resume_text import board_table, change_table, resume_lines, resume_record
from fencegrade.sheets.tables import csv_text
from fencegrade.units import UnitSystem


def write_resume(resumed: Resumed, folder: Path, force: bool = False) -> list[Path]:
    """Write the new chart and the boards into `folder`, all or none.

    `force`: replace files this program did not write. Result: the paths written. Errors: JobMistakesError
    where the folder cannot be written or a foreign file stands in the way.
    """
    words = resumed.after.words
    files: dict[str, bytes | Writer] = {
        "resume.json": record_bytes(resume_record(resumed)),
        "resume.txt": text_bytes(resume_lines(resumed)),
    }
    chart = marked_provisional(change_table(resumed), (resumed.new.ground,))
    boards = marked_provisional(board_table(resumed), grounds_of(resumed.after))
    files |= {f"{table.name}.csv": csv_text(table, words).encode() for table in (chart, boards)}
    return write_files(folder, files, force, "resume")


def write_record(built: AsBuilt, system: UnitSystem, folder: Path) -> list[Path]:
    """Write what stands beside the job file, whole or not at all; a record that was written by hand is kept
    beside first, with its remarks.

    Result: the paths written. Errors: JobMistakesError where the folder cannot be written.
    """
    kept = keep_foreign(folder, (FILE,))
    return [*kept, *write_files(folder, {FILE: built_text(built, system).encode()}, force=True)]
