"""Sheets are whole and of one plan whatever happens: killed at any line, Ctrl-C, a full disk, two at once."""

import errno
import json
import os
import resource
import sys
import threading
from collections.abc import Callable, Collection, Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from types import FrameType
from typing import Any, BinaryIO

import pytest

from fencegrade.job.read import read_job
from fencegrade.planning.plan import FencePlan, plan_fence
from fencegrade.problems import JobMistakesError
from fencegrade.sheets import files as writer
from fencegrade.sheets.files import WRITTEN, write_files
from fencegrade.sheets.folder import write_plan_sheets

EVERY = pytest.mark.parametrize("every", [15, pytest.param(1, marks=pytest.mark.benchmark)])
"""Each how many-th line a process is killed, stopped or starved at; every line in turn takes a minute."""

MOST_LINES = 1_000
OLD = {"a.txt": b"old a", "b.txt": b"old b", "gone.txt": b"old, and no longer made"}
NEW = {"a.txt": b"new a" * 3000, "b.txt": b"new b", "c.txt": b"new c"}

AtLine = Callable[[], None]


def sheets(folder: Path) -> dict[str, bytes]:
    """What a reader of the folder sees; the hidden list and stages are no sheets."""
    return {p.name: p.read_bytes() for p in folder.iterdir() if not p.name.startswith(".")}


def slow_writer(content: bytes) -> Callable[[BinaryIO], None]:
    """Writes a file in two halves, so that it can be caught half written."""

    def write(file: BinaryIO) -> None:
        file.write(content[: len(content) // 2])
        file.flush()
        file.write(content[len(content) // 2 :])

    return write


@contextmanager
def at_line(number: int, act: AtLine, within: Collection[str] = ()) -> Iterator[list[int]]:
    """`act` at the n-th line that the writer of files runs, or that some of its functions run.

    The list it gives counts the lines.
    """
    seen = [0]

    def each(frame: FrameType, event: str, argument: Any) -> Any:
        name, place = frame.f_code.co_name, frame.f_code.co_filename
        if place != writer.__file__ and not (place == __file__ and name == "write"):
            return None
        if event == "line" and (not within or name in within):
            seen[0] += 1
            if seen[0] == number:
                sys.settrace(None)
                act()
        return each

    sys.settrace(each)
    try:
        yield seen
    finally:
        sys.settrace(None)


def write_new(folder: Path) -> None:
    write_files(folder, {n: slow_writer(c) for n, c in NEW.items()}, kind="plan")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    write_files(tmp_path, OLD, kind="plan")
    (tmp_path / "mine.txt").write_bytes(b"mine")
    return tmp_path


def refill(folder: Path) -> None:
    """The folder as the fixture makes it."""
    write_files(folder, OLD, kind="plan")
    assert whole(folder) == "old"


def whole(folder: Path) -> str:
    """Which plan the sheets are of; fails where they are of none or of both."""
    found = sheets(folder)
    assert found.pop("mine.txt") == b"mine"
    assert found in (OLD, NEW)
    return "old" if found == OLD else "new"


def lines_in_all(folder: Path, within: Collection[str] = ()) -> int:
    with at_line(-1, lambda: None, within) as seen:
        write_new(folder)
    assert whole(folder) == "new"
    refill(folder)
    assert 40 < seen[0] < MOST_LINES
    return seen[0]


def started(act: Callable[[], int]) -> int:
    """Run something in a process of its own, which holds its own locks; the process."""
    child = os.fork()
    if not child:
        status = 99
        try:
            status = act()
        finally:
            os._exit(status)
    return child


def ended(child: int) -> int:
    """The exit status of a process, once it has ended."""
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def in_a_child(act: Callable[[], int]) -> int:
    """Run something in a process of its own to its end; its exit status."""
    return ended(started(act))


@EVERY
def test_killed_at_every_line(folder: Path, every: int) -> None:
    """No sheet is ever half written, and the next command there finds the sheets of one plan."""
    ends = set()
    for number in range(1, lines_in_all(folder) + 1, every):

        def killed(number: int = number) -> int:
            with at_line(number, lambda: os._exit(9)):
                write_new(folder)
            return 0

        assert in_a_child(killed) == 9
        halves = sheets(folder)
        assert all(v in (OLD.get(n), NEW.get(n), b"mine") for n, v in halves.items())
        assert set(halves) >= OLD.keys() & NEW.keys()
        write_files(folder, {"other.txt": b"other"}, kind="other")
        (folder / "other.txt").unlink()
        ends.add(whole(folder))
        assert not list(folder.glob(".fencegrade-staged-*"))
        refill(folder)
    assert ends == {"old", "new"}


@EVERY
def test_stopped_at_every_line(folder: Path, every: int) -> None:
    """After Ctrl-C the sheets are of one plan at once."""
    ends = set()
    for number in range(1, lines_in_all(folder) + 1, every):

        def stopped(number: int = number) -> int:
            def stop() -> None:
                raise KeyboardInterrupt

            try:
                with at_line(number, stop):
                    write_new(folder)
            except KeyboardInterrupt:
                return 130
            return 0

        assert in_a_child(stopped) == 130
        ends.add(whole(folder))
        refill(folder)
    assert ends == {"old", "new"}


TOUCH_THE_DISK = {"_stage", "_note", "_move", "_told", "_digest", "write"}
UNCHANGED, HALF_WAY, HARMLESS = 3, 4, 5


@EVERY
def test_a_disk_that_fills_at_every_line(folder: Path, every: int) -> None:
    """An error in words that says truly whether anything was changed; the sheets are of one plan at once."""
    ends = set()
    for number in range(1, lines_in_all(folder, TOUCH_THE_DISK) + 1, 1 + every // 4):

        def filled(number: int = number) -> int:
            def full() -> None:
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

            try:
                with at_line(number, full, TOUCH_THE_DISK):
                    write_new(folder)
            except JobMistakesError as error:
                if "No space left on device" not in str(error):
                    return 98
                return UNCHANGED if "nothing was changed" in str(error) else HALF_WAY
            return HARMLESS

        status = in_a_child(filled)
        assert status in {UNCHANGED, HALF_WAY, HARMLESS}
        end = whole(folder)
        assert end == "old" or status != UNCHANGED
        ends.add(status)
        refill(folder)
    assert ends == {UNCHANGED, HALF_WAY, HARMLESS}


def test_a_stage_from_elsewhere_reaches_nothing_outside_the_folder(tmp_path: Path) -> None:
    """A folder that came from somebody else may hold a stage and a list with names that lead out of it."""
    out, other = tmp_path / "out", tmp_path / "other"
    stage = out / ".fencegrade-staged-x"
    stage.mkdir(parents=True)
    other.mkdir()
    (other / "precious.txt").write_bytes(b"precious")
    digest = writer._digest(other / "precious.txt")
    name = "../other/precious.txt"
    (stage / ".complete").write_text(json.dumps({"files": [name, "../new.txt"], "stale": [name]}))
    (out / WRITTEN).write_text(json.dumps({"files": {name: [digest]}, "kinds": {name: "plan"}}))
    write_files(out, {"a.txt": b"a"}, kind="plan")
    assert (other / "precious.txt").read_bytes() == b"precious"
    assert not (tmp_path / "new.txt").exists()


def test_a_sheet_changed_by_hand_is_not_taken_away(tmp_path: Path) -> None:
    write_files(tmp_path, {"a.txt": b"a", "b.txt": b"b"}, kind="plan")
    (tmp_path / "b.txt").write_bytes(b"ticked off")
    write_files(tmp_path, {"a.txt": b"a2"}, kind="plan")
    assert sheets(tmp_path) == {"a.txt": b"a2", "b.txt": b"ticked off"}


def test_sheets_of_another_kind_stay(tmp_path: Path) -> None:
    write_files(tmp_path, {"comparison.txt": b"c"}, kind="comparison")
    write_files(tmp_path, {"a.txt": b"a", "b.txt": b"b"}, kind="plan")
    write_files(tmp_path, {"a.txt": b"a"}, kind="plan")
    assert set(sheets(tmp_path)) == {"comparison.txt", "a.txt"}


def test_a_new_folder_is_gone_again_where_nothing_came_of_it(tmp_path: Path) -> None:
    def full(file: BinaryIO) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    with pytest.raises(JobMistakesError):
        write_files(tmp_path / "out", {"a.txt": full})
    assert not (tmp_path / "out").exists()


def test_two_writers_do_not_mix(tmp_path: Path) -> None:
    """Two threads, which the lock holds apart as it does two processes, each with a set of its own."""
    sets = [{f"{n}.txt": bytes([k]) * 2000 for n in "abcde"[: 5 - k]} for k in range(2)]
    go = threading.Barrier(2)

    def write(which: int) -> None:
        for _ in range(25):
            go.wait()
            write_files(tmp_path, sets[which], kind="plan")
            go.wait()
            assert sheets(tmp_path) in sets
            go.wait()

    faults: list[BaseException] = []

    def guarded(which: int) -> None:
        try:
            write(which)
        except BaseException as error:
            faults.append(error)
            go.abort()

    threads = [threading.Thread(target=guarded, args=(k,)) for k in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    assert not faults


@pytest.mark.usefixtures("no_paper")
def test_two_plans_into_one_folder_do_not_mix(job: Path, tmp_path: Path) -> None:
    """Two processes at once: in the end every sheet is that of one of the two plans."""
    tops = ("level", "racked")
    plans = [plan_fence(read_job(job), top) for top in tops]
    for plan, top in zip(plans, tops, strict=True):
        write_plan_sheets(plan, tmp_path / top)
    alone = [sheets(tmp_path / top) for top in tops]
    assert alone[0] != alone[1]

    def written(plan: FencePlan) -> int:
        write_plan_sheets(plan, tmp_path / "both")
        return 0

    both = [started(partial(written, plan)) for plan in plans]
    assert [ended(child) for child in both] == [0, 0]
    assert sheets(tmp_path / "both") in alone


@pytest.mark.usefixtures("no_paper")
def test_a_file_too_large_for_the_system_leaves_the_earlier_plan(job: Path, tmp_path: Path) -> None:
    """A real limit of the operating system, met in the middle of a file."""
    out = tmp_path / "out"
    write_plan_sheets(plan_fence(read_job(job)), out)
    before, contour = sheets(out), plan_fence(read_job(job), "contour")

    def limited() -> int:
        resource.setrlimit(resource.RLIMIT_FSIZE, (3_000, 3_000))
        with pytest.raises(JobMistakesError, match="File too large"):
            write_plan_sheets(contour, out)
        return 0

    assert in_a_child(limited) == 0
    assert sheets(out) == before
    assert not list(out.glob(".fencegrade-staged-*"))
