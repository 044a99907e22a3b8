"""Files written whole or not at all, and never over a file that this program did not write.

A folder that holds output carries a hidden list of what was written there, with a digest of each file.
A file that is not on the list, or was changed since, is somebody's work and stays, unless the caller
insists. New files are staged beside their places and moved in only when all of them are complete; a move
that was broken off is finished by the next command that writes there. Sheets of an earlier call of the same
kind that are no longer made go with it, so that the sheets of two plans never lie side by side.
"""

import contextlib
import hashlib
import json
import os
import shutil
import tempfile
from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import datetime
from itertools import count
from pathlib import Path
from typing import BinaryIO

from fencegrade.problems import JobMistakesError, Problem, mistake

WRITTEN = ".fencegrade-written.json"
"""Name of the hidden list."""

_STAGE = ".fencegrade-staged-"
_COMPLETE = ".complete"
"""In a stage: all files are there, and the moving has begun; it lists their names."""

Writer = Callable[[BinaryIO], None]


def write_files(
    folder: Path, files: Mapping[str, bytes | Writer], force: bool = False, kind: str = ""
) -> list[Path]:
    """Write `files` (name to content, or to a function that writes it) into `folder`, all or none.

    `force`: replace files that this program did not write; `kind`: what the files are together, such as
    `plan`: unchanged files of an earlier call of this kind that are not among `files` are removed. Result:
    the paths written. Errors: JobMistakesError, and nothing changed, where the folder or a file cannot be
    written or a foreign file stands in the way.
    """
    try:
        with _made(folder), _only_writer(folder) as alone:
            if alone:
                _finish_moves(folder)
            in_the_way = _folders(folder, files) or ([] if force else _foreign(folder, files))
            if in_the_way:
                raise JobMistakesError(in_the_way)
            return _stage_and_move(folder, files, kind)
    except FileExistsError as error:
        raise _cannot(Path(error.filename or folder), "a file stands where a folder is needed") from None
    except PermissionError as error:
        raise _cannot(Path(error.filename or folder), "may not be written") from None
    except OSError as error:
        raise _cannot(folder, f"cannot be written ({error.strerror or error})") from None


def record_bytes(tree: Mapping[str, object]) -> bytes:
    """What is told for machines, as a file holds it."""
    return (json.dumps(tree, indent=1) + "\n").encode()


def text_bytes(lines: Iterable[str]) -> bytes:
    """Lines of text, as a file holds them."""
    return ("\n".join(lines) + "\n").encode()


def keep_beside(folder: Path, names: Iterable[str]) -> list[Path]:
    """Copy files beside themselves with the date they were last changed, such as `job.2026-05-02.toml`.

    Result: the copies. Errors: JobMistakesError where one cannot be made.
    """
    kept = []
    for name in names:
        path = folder / name
        if not path.is_file():
            continue
        day = f"{datetime.fromtimestamp(path.stat().st_mtime):%Y-%m-%d}"
        copies = (folder / f"{path.stem}.{day}{more}{path.suffix}" for more in _more())
        copy = next(c for c in copies if not c.exists() or c.read_bytes() == path.read_bytes())
        try:
            shutil.copy2(path, copy)
        except OSError as error:
            raise _cannot(copy, f"cannot be written ({error.strerror or error})") from None
        kept.append(copy)
    return kept


def keep_foreign(folder: Path, names: Iterable[str]) -> list[Path]:
    """As `keep_beside`, but of files alone that this program did not write or that were changed since."""
    known = _written(folder)
    strange = [n for n in names if (folder / n).is_file() and _digest(folder / n) not in known.get(n, [])]
    return keep_beside(folder, strange)


def _more() -> Iterator[str]:
    """What is put to a date so that no copy replaces another."""
    yield ""
    yield from (f"-{k}" for k in count(2))


def _half_way(folder: Path, error: OSError) -> JobMistakesError:
    found = f"not every file could be put in its place ({error.strerror or error})"
    remedy = "some may be of the plan before: cure that, and run the command again"
    return JobMistakesError([mistake(str(error.filename2 or error.filename or folder), found, remedy)])


def _cannot(path: Path, found: str) -> JobMistakesError:
    remedy = "nothing was changed; choose another folder, or make room"
    return JobMistakesError([mistake(str(path), found, remedy)])


@contextlib.contextmanager
def _made(folder: Path) -> Iterator[None]:
    """The folder is there; where it was not and nothing comes to lie in it, it is gone again after."""
    there = folder.is_dir()
    folder.mkdir(parents=True, exist_ok=True)
    try:
        yield
    except BaseException:
        if not there:
            with contextlib.suppress(OSError):
                folder.rmdir()
        raise


@contextlib.contextmanager
def _only_writer(folder: Path) -> Iterator[bool]:
    """Hold the folder, so that two plans written at once do not mix; false where there is no flock."""
    try:
        import fcntl
    except ImportError:
        yield False
        return
    held = os.open(folder, os.O_RDONLY)
    try:
        fcntl.flock(held, fcntl.LOCK_EX)
        yield True
    finally:
        os.close(held)


def _folders(folder: Path, files: Mapping[str, object]) -> list[Problem]:
    found, remedy = "a folder stands where this file belongs", "move it away, or choose another folder"
    return [mistake(str(folder / name), found, remedy) for name in files if (folder / name).is_dir()]


def _foreign(folder: Path, files: Iterable[str]) -> list[Problem]:
    known = _written(folder)
    return [
        mistake(
            str(folder / name),
            "this file was not written by fencegrade, or was changed since",
            "move it away, choose another folder, or write over it",
        )
        for name in files
        if os.path.lexists(folder / name) and _digest(folder / name) not in known.get(name, [])
    ]


def _written(folder: Path) -> dict[str, list[str]]:
    """The digests that each file written here may have."""
    try:
        found = json.loads((folder / WRITTEN).read_text(encoding="utf-8"))
        return {str(k): [str(d) for d in v] for k, v in found["files"].items() if _is_name(str(k))}
    except (OSError, ValueError, KeyError, AttributeError, TypeError, RecursionError):
        return {}


def _kinds(folder: Path) -> dict[str, str]:
    """What kind each file written here is of."""
    try:
        found = json.loads((folder / WRITTEN).read_text(encoding="utf-8"))
        return {str(k): str(v) for k, v in found.get("kinds", {}).items() if _is_name(str(k))}
    except (OSError, ValueError, AttributeError, TypeError, RecursionError):
        return {}


def _digest(path: Path) -> str:
    if not path.is_file():
        return ""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _stage_and_move(folder: Path, files: Mapping[str, bytes | Writer], kind: str) -> list[Path]:
    stage = Path(tempfile.mkdtemp(prefix=_STAGE, dir=folder))
    moving = False
    try:
        for name, content in files.items():
            _stage(stage / name, content)
        before, kinds = _written(folder), _kinds(folder)
        stale = [n for n, k in kinds.items() if kind and k == kind and n not in files]
        after = {name: [_digest(stage / name)] for name in files}
        kinds |= dict.fromkeys(files, kind)
        _note(folder, stage, {k: before.get(k, []) + after.get(k, []) for k in {*before, *after}}, kinds)
        _stage(stage / _COMPLETE, json.dumps({"files": list(files), "stale": stale}).encode())
        moving = True
        _move(folder, stage)
        with contextlib.suppress(OSError):  # the list just noted still holds every digest needed
            left = {n: d for n, d in (before | after).items() if n not in stale}
            _note(folder, stage, left, {n: k for n, k in kinds.items() if n in left})
        return [folder / name for name in files]
    except BaseException as error:
        if moving:  # broken off half-way through: every file is complete, so go on to the end
            with contextlib.suppress(OSError):
                _move(folder, stage)
        if moving and isinstance(error, OSError):
            raise _half_way(folder, error) from None
        raise
    finally:
        if not (moving and any((stage / name).exists() for name in files)):
            shutil.rmtree(stage, ignore_errors=True)


def _stage(path: Path, content: bytes | Writer) -> None:
    with path.open("wb") as file:
        if isinstance(content, bytes):
            file.write(content)
        else:
            content(file)
        file.flush()
        os.fsync(file.fileno())


def _move(folder: Path, stage: Path) -> None:
    """Move the files of a complete stage into their places, and take away those no longer made."""
    told, known = _told(stage), _written(folder)
    for name in told["files"]:
        if (stage / name).exists():
            (stage / name).replace(folder / name)
    for name in told["stale"]:
        if (folder / name).is_file() and _digest(folder / name) in known.get(name, []):
            (folder / name).unlink()


def _told(stage: Path) -> dict[str, list[str]]:
    """The names of a complete stage, none that leads out of the folder."""
    found = json.loads((stage / _COMPLETE).read_text(encoding="utf-8"))
    return {key: [str(n) for n in found[key] if _is_name(str(n))] for key in ("files", "stale")}


def _is_name(name: str) -> bool:
    return name not in {"", ".", ".."} and not {"/", os.sep} & set(name)


def _finish_moves(folder: Path) -> None:
    """Finish what a command that was killed left behind: a complete stage is moved in, another dropped."""
    for stage in sorted(folder.glob(f"{_STAGE}*")):
        with contextlib.suppress(OSError, ValueError, KeyError, TypeError):
            waiting = [n for n in _told(stage)["files"] if (stage / n).is_file()]
            if not _foreign(folder, waiting):
                _move(folder, stage)
        shutil.rmtree(stage, ignore_errors=True)


def _note(folder: Path, stage: Path, digests: dict[str, list[str]], kinds: dict[str, str]) -> None:
    """Renew the hidden list; the old one stays whole until the new one is complete."""
    known = {name: kind for name, kind in sorted(kinds.items()) if kind}
    text = json.dumps({"files": dict(sorted(digests.items())), "kinds": known}, indent=1)
    _stage(stage / WRITTEN, text.encode())
    (stage / WRITTEN).replace(folder / WRITTEN)
