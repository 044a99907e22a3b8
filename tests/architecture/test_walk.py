"""One reading's way from the survey to a board's cut length, as DEVELOPERS.md writes it down."""

import pickle
import re
import sys
from hashlib import sha256
from pathlib import Path
from types import FrameType

import fencegrade
from fencegrade.job.read import read_job
from fencegrade.planning.plan import plan_fence

HOUSE = Path(fencegrade.__file__).parent
GUIDE = HOUSE.parent / "DEVELOPERS.md"
MOST = 25
"""More modules than this on the way and nobody follows it (own choice)."""

JOB = """
[job]
title = "walk"
units = "imperial"
[[run]]
name = "lane side"
survey = "lane.csv"
[[pickets.stock]]
length = "8 ft"
"""

Returned = dict[tuple[str, str], list[str]]
"""What every function of the package gave back, in order, by its module and name."""


def returned(folder: Path, drop: int) -> Returned:
    """Plan a fence with `drop` (in) at 20 ft, watched until its first cut lengths are known."""
    readings = [f"{k},{drop if k == 20 else 20 + k % 7}" for k in range(0, 41, 4)]
    (folder / "lane.csv").write_text("station [ft],drop [in]\n" + "\n".join(readings) + "\n")
    found: Returned = {}

    def watch(frame: FrameType, event: str, given: object) -> None:
        path = Path(frame.f_code.co_filename)
        if event == "return" and path.is_relative_to(HOUSE):
            module = str(path.relative_to(HOUSE).with_suffix(""))
            try:
                digest = sha256(pickle.dumps(given)).hexdigest()
            except (pickle.PicklingError, TypeError, AttributeError):
                digest = ""
            found.setdefault((module, frame.f_code.co_qualname), []).append(digest)
            if frame.f_code.co_name == "cut_pickets":
                sys.setprofile(None)

    before = sys.getprofile()
    sys.setprofile(watch)
    try:
        plan_fence(read_job(folder))
    finally:
        sys.setprofile(before)
    return found


def test_the_way_of_a_drop_is_written_down(tmp_path: Path) -> None:
    """A module is on the way where another drop at 20 ft makes one of its functions give something else."""
    (tmp_path / "job.toml").write_text(JOB)
    returned(tmp_path, 26)  # whatever is only ever done once is done
    here, there = returned(tmp_path, 26), returned(tmp_path, 27)
    passed = {module for (module, name), given in here.items() if there.get((module, name)) != given}
    written = GUIDE.read_text(encoding="utf-8").split("<!-- the walk -->")[1]
    told = re.findall(r"^\d+\. `([\w/]+)`", written, re.MULTILINE)
    assert len(told) == len(set(told)) <= MOST
    assert set(told) == passed, f"DEVELOPERS.md lacks {passed - set(told)}; not passed: {set(told) - passed}"
