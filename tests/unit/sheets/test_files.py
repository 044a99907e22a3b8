"""Files written whole or not at all, and never over somebody's work."""

import errno
import json
import os
from pathlib import Path
from typing import Any, BinaryIO

import pytest

from fencegrade.problems import JobMistakesError
from fencegrade.sheets.files import WRITTEN, keep_beside, keep_foreign, write_files


def refused(folder: Path, files: dict[str, Any], force: bool = False) -> list[str]:
    with pytest.raises(JobMistakesError) as caught:
        write_files(folder, files, force)
    return [str(p) for p in caught.value.problems]


def contents(folder: Path) -> dict[str, bytes]:
    return {p.name: p.read_bytes() for p in folder.iterdir() if p.is_file() and p.name != WRITTEN}


def full_disk(file: BinaryIO) -> None:
    file.write(b"x" * 1000)
    raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def test_files_are_written_into_a_new_folder(tmp_path: Path) -> None:
    folder = tmp_path / "a" / "b"

    def two(file: BinaryIO) -> None:
        file.write(b"2")

    paths = write_files(folder, {"one.txt": b"1", "two.txt": two})
    assert paths == [folder / "one.txt", folder / "two.txt"]
    assert contents(folder) == {"one.txt": b"1", "two.txt": b"2"}


def test_what_this_program_wrote_is_replaced_again_and_again(tmp_path: Path) -> None:
    for n in range(3):
        write_files(tmp_path, {"one.txt": b"%d" % n})
    assert contents(tmp_path) == {"one.txt": b"2"}


def test_a_file_of_another_run_stays(tmp_path: Path) -> None:
    write_files(tmp_path, {"one.txt": b"1", "old.txt": b"old"})
    write_files(tmp_path, {"one.txt": b"2"})
    assert contents(tmp_path) == {"one.txt": b"2", "old.txt": b"old"}
    write_files(tmp_path, {"old.txt": b"new"})
    assert contents(tmp_path)["old.txt"] == b"new"


def test_a_foreign_file_is_not_replaced(tmp_path: Path) -> None:
    (tmp_path / "one.txt").write_bytes(b"mine")
    assert refused(tmp_path, {"one.txt": b"1", "two.txt": b"2"}) == [
        f"{tmp_path}/one.txt: this file was not written by fencegrade, or was changed since; "
        "move it away, choose another folder, or write over it"
    ]
    assert contents(tmp_path) == {"one.txt": b"mine"}
    write_files(tmp_path, {"one.txt": b"1"}, force=True)
    assert contents(tmp_path) == {"one.txt": b"1"}


def test_a_file_that_was_changed_since_is_foreign(tmp_path: Path) -> None:
    write_files(tmp_path, {"one.txt": b"1"})
    (tmp_path / "one.txt").write_bytes(b"1 and a remark")
    assert len(refused(tmp_path, {"one.txt": b"2"})) == 1
    assert contents(tmp_path) == {"one.txt": b"1 and a remark"}


def test_every_foreign_file_is_named(tmp_path: Path) -> None:
    for name in "abc":
        (tmp_path / name).write_bytes(b"mine")
    assert [m.split(":")[0] for m in refused(tmp_path, {"a": b"", "c": b"", "d": b""})] == [
        f"{tmp_path}/a",
        f"{tmp_path}/c",
    ]


def test_what_is_no_ordinary_file_is_foreign(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "link").symlink_to(tmp_path / "nowhere")
    assert len(refused(tmp_path, {"pipe": b"", "link": b""})) == 2


def test_a_folder_in_the_place_of_a_file_stays_even_with_force(tmp_path: Path) -> None:
    write_files(tmp_path, {"a.txt": b"old"})
    (tmp_path / "b.txt").mkdir()
    assert refused(tmp_path, {"a.txt": b"new", "b.txt": b"2"}, force=True) == [
        f"{tmp_path}/b.txt: a folder stands where this file belongs; move it away, or choose another folder"
    ]
    assert (tmp_path / "a.txt").read_bytes() == b"old"


class TestFailures:
    def test_a_disk_that_fills_half_way_leaves_the_earlier_output(self, tmp_path: Path) -> None:
        write_files(tmp_path, {"a.txt": b"old a", "b.txt": b"old b"})
        (message,) = refused(tmp_path, {"a.txt": b"new a", "b.txt": full_disk})
        assert message == (
            f"{tmp_path}: cannot be written (No space left on device); "
            "nothing was changed; choose another folder, or make room"
        )
        assert contents(tmp_path) == {"a.txt": b"old a", "b.txt": b"old b"}
        write_files(tmp_path, {"a.txt": b"new a", "b.txt": b"new b"})
        assert contents(tmp_path) == {"a.txt": b"new a", "b.txt": b"new b"}

    def test_nothing_half_written_is_left(self, tmp_path: Path) -> None:
        refused(tmp_path, {"a.txt": b"a", "b.txt": full_disk})
        assert list(tmp_path.iterdir()) == []

    def test_a_writer_that_fails_otherwise_leaves_nothing_either(self, tmp_path: Path) -> None:
        def broken(file: BinaryIO) -> None:
            file.write(b"half")
            raise ZeroDivisionError

        with pytest.raises(ZeroDivisionError):
            write_files(tmp_path, {"a.txt": broken})
        assert list(tmp_path.iterdir()) == []

    def test_a_real_full_device(self, tmp_path: Path) -> None:
        """The kernel's own full device, written through as a sheet would be."""

        def through(file: BinaryIO) -> None:
            with Path("/dev/full").open("wb", buffering=0) as full:
                full.write(b"x")

        assert "No space left on device" in refused(tmp_path, {"a.txt": through})[0]

    @pytest.mark.parametrize("below", ["", "sheets", "a/b"])
    def test_a_path_below_a_file(self, tmp_path: Path, below: str) -> None:
        (tmp_path / "file").write_bytes(b"mine")
        (message,) = refused(tmp_path / "file" / below, {"a.txt": b"a"})
        assert message.startswith(f"{tmp_path}/file")
        assert "nothing was changed" in message
        assert (tmp_path / "file").read_bytes() == b"mine"

    def test_a_folder_that_may_not_be_written(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        def refuse(*args: object, **kwargs: object) -> str:
            raise PermissionError(errno.EACCES, "Permission denied", str(tmp_path))

        monkeypatch.setattr("tempfile.mkdtemp", refuse)
        assert refused(tmp_path, {"a.txt": b"a"}) == [
            f"{tmp_path}: may not be written; nothing was changed; choose another folder, or make room"
        ]

    def test_a_system_without_file_locks_writes_too(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        import sys

        monkeypatch.setitem(sys.modules, "fcntl", None)
        write_files(tmp_path, {"a.txt": b"a"})
        assert contents(tmp_path) == {"a.txt": b"a"}


@pytest.mark.parametrize("text", ["", "{", "[]", '{"files": 3}', '{"files": {"a.txt": 3}}', "\x00"])
def test_a_spoilt_list_makes_every_file_foreign_and_no_crash(tmp_path: Path, text: str) -> None:
    write_files(tmp_path, {"a.txt": b"a"})
    (tmp_path / WRITTEN).write_text(text)
    assert len(refused(tmp_path, {"a.txt": b"b"})) == 1
    write_files(tmp_path, {"a.txt": b"b"}, force=True)
    write_files(tmp_path, {"a.txt": b"c"})
    assert contents(tmp_path) == {"a.txt": b"c"}


def test_the_hidden_list_names_what_was_written(tmp_path: Path) -> None:
    write_files(tmp_path, {"b.txt": b"b", "a.txt": b"a"})
    assert list(json.loads((tmp_path / WRITTEN).read_text())["files"]) == ["a.txt", "b.txt"]


class TestKeptBeside:
    """Copies with the date of the last change."""

    def kept(self, folder: Path, *names: str) -> list[str]:
        return [p.name for p in keep_beside(folder, names)]

    def write(self, path: Path, content: bytes) -> None:
        path.write_bytes(content)
        os.utime(path, (1_800_000_000, 1_800_000_000))

    def test_a_copy_has_the_date_and_replaces_no_other(self, tmp_path: Path) -> None:
        self.write(tmp_path / "job.toml", b"1")
        assert self.kept(tmp_path, "none.csv", "job.toml") == ["job.2027-01-15.toml"]
        assert self.kept(tmp_path, "job.toml") == ["job.2027-01-15.toml"], "the same need not be kept twice"
        for content, copy in ((b"2", "job.2027-01-15-2.toml"), (b"3", "job.2027-01-15-3.toml")):
            self.write(tmp_path / "job.toml", content)
            assert self.kept(tmp_path, "job.toml") == [copy]
            assert (tmp_path / copy).read_bytes() == content
        assert (tmp_path / "job.2027-01-15.toml").read_bytes() == b"1"

    def test_only_what_others_wrote_or_changed_is_kept(self, tmp_path: Path) -> None:
        write_files(tmp_path, {"a.txt": b"a", "b.txt": b"b"})
        self.write(tmp_path / "b.txt", b"mine")
        self.write(tmp_path / "c.txt", b"mine")
        names = ["a.txt", "b.txt", "c.txt", "d.txt"]
        assert [p.name for p in keep_foreign(tmp_path, names)] == ["b.2027-01-15.txt", "c.2027-01-15.txt"]

    def test_a_copy_that_cannot_be_made_is_told(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        self.write(tmp_path / "job.toml", b"1")

        def full(*_: object) -> None:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

        monkeypatch.setattr("shutil.copy2", full)
        with pytest.raises(JobMistakesError) as caught:
            keep_beside(tmp_path, ["job.toml"])
        assert [str(p) for p in caught.value.problems] == [
            f"{tmp_path}/job.2027-01-15.toml: cannot be written (No space left on device); "
            "nothing was changed; choose another folder, or make room"
        ]


def test_a_move_broken_off_goes_on_to_its_end_and_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The second file cannot be moved at first; the next command moves what is left."""
    replaced, tries = Path.replace, []

    def stubborn(self: Path, target: Path) -> Path:
        if Path(target).name == "b.txt":
            tries.append(target)
            if len(tries) < 3:
                raise OSError(errno.EIO, "Input/output error", str(self), None, str(target))
        return replaced(self, target)

    monkeypatch.setattr(Path, "replace", stubborn)
    assert refused(tmp_path, {"a.txt": b"1", "b.txt": b"2", "c.txt": b"3"}) == [
        f"{tmp_path}/b.txt: not every file could be put in its place (Input/output error); "
        "some may be of the plan before: cure that, and run the command again"
    ]
    assert contents(tmp_path) == {"a.txt": b"1"}
    write_files(tmp_path, {"d.txt": b"4"})
    assert contents(tmp_path) == {"a.txt": b"1", "b.txt": b"2", "c.txt": b"3", "d.txt": b"4"}
