"""Files written whole or not at all, and never over a file that this program did not write.

A folder that holds output carries a hidden list of what was written there, with a digest of each file.
A file that is not on the list, or was changed since, is somebody's work and stays, unless the caller
insists. New files are staged beside their places and moved in only when all of them are complete.
"""

import contextlib
import hashlib
import json
import os
import shutil
import tempfile
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import BinaryIO

from fencegrade.problems import JobMistakesError, Problem, mistake

WRITTEN = ".fencegrade-written.json"
"""Name of the hidden list."""

Writer = Callable[[BinaryIO], None]


def write_files(folder: Path, files: Mapping[str, bytes | Writer], force: bool = False) -> list[Path]:
    """Write `files` (name to content, or to a function that writes it) into `folder`, all or none.

    `force`: replace files that this program did not write. Result: the paths written. Errors:
    JobMistakesError, and nothing changed, where the folder or a file cannot be written or a foreign file
    stands in the way.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with _only_writer(folder):
            in_the_way = _folders(folder, files) or ([] if force else _foreign(folder, files))
            if in_the_way:
                raise JobMistakesError(in_the_way)
            return _stage_and_move(folder, files)
    except FileExistsError as error:
        raise _cannot(Path(error.filename or folder), "a file stands where a folder is needed") from None
    except PermissionError as error:
        raise _cannot(Path(error.filename or folder), "may not be written") from None
    except OSError as error:
        raise _cannot(folder, f"cannot be written ({error.strerror or error})") from None


def _cannot(path: Path, found: str) -> JobMistakesError:
    remedy = "nothing was changed; choose another folder, or make room"
    return JobMistakesError([mistake(str(path), found, remedy)])


@contextlib.contextmanager
def _only_writer(folder: Path) -> Iterator[None]:
    """Hold the folder, so that two plans written at once do not mix; no effect where there is no flock."""
    try:
        import fcntl
    except ImportError:
        yield
        return
    held = os.open(folder, os.O_RDONLY)
    try:
        fcntl.flock(held, fcntl.LOCK_EX)
        yield
    finally:
        os.close(held)


def _folders(folder: Path, files: Mapping[str, object]) -> list[Problem]:
    found, remedy = "a folder stands where this file belongs", "move it away, or choose another folder"
    return [mistake(str(folder / name), found, remedy) for name in files if (folder / name).is_dir()]


def _foreign(folder: Path, files: Mapping[str, object]) -> list[Problem]:
    known = _written(folder)
    return [
        mistake(
            str(folder / name),
            "this file was not written by fencegrade, or was changed since",
            "move it away, choose another folder, or replace it with --force",
        )
        for name in files
        if os.path.lexists(folder / name) and _digest(folder / name) not in known.get(name, [])
    ]


def _written(folder: Path) -> dict[str, list[str]]:
    try:
        found = json.loads((folder / WRITTEN).read_text(encoding="utf-8"))
        return {str(k): [str(d) for d in v] for k, v in found["files"].items()}
    except (OSError, ValueError, KeyError, AttributeError, TypeError):
        return {}


def _digest(path: Path) -> str:
    if not path.is_file():
        return ""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _stage_and_move(folder: Path, files: Mapping[str, bytes | Writer]) -> list[Path]:
    stage = Path(tempfile.mkdtemp(prefix=".fencegrade-", dir=folder))
    try:
        for name, content in files.items():
            with (stage / name).open("wb") as file:
                if isinstance(content, bytes):
                    file.write(content)
                else:
                    content(file)
                file.flush()
                os.fsync(file.fileno())
        before = _written(folder)
        after = {name: [_digest(stage / name)] for name in files}
        _note(folder, stage, {k: before.get(k, []) + after.get(k, []) for k in {*before, *after}})
        for name in files:
            (stage / name).replace(folder / name)
        with contextlib.suppress(OSError):  # the list just noted still holds every digest needed
            _note(folder, stage, before | after)
        return [folder / name for name in files]
    finally:
        shutil.rmtree(stage, ignore_errors=True)


def _note(folder: Path, stage: Path, digests: dict[str, list[str]]) -> None:
    """Renew the hidden list; the old one stays whole until the new one is complete."""
    text = json.dumps({"files": dict(sorted(digests.items()))}, indent=1)
    (stage / WRITTEN).write_text(text, encoding="utf-8")
    (stage / WRITTEN).replace(folder / WRITTEN)
