"""Few settings of the stop: fewer lengths, the same boards bought, and every gap within its limits."""

from pathlib import Path
from typing import Any, ClassVar

import numpy as np
import pytest

from fencegrade.job.read import read_job
from fencegrade.planning.doubt import GroundUnder
from fencegrade.planning.plan import FencePlan, plan_fence
from fencegrade.sheets.charts import settings, stops
from fencegrade.sheets.mark_in_place import in_place
from fencegrade.units.arrays import Floats, Indices, Marks

SAMPLES = Path(__file__).parents[3] / "sample_runs"


def planned(folder: Path, sample: str, keys: str) -> FencePlan:
    folder.mkdir()
    for file in (SAMPLES / sample).glob("*.csv"):
        (folder / file.name).write_bytes(file.read_bytes())
    text = (SAMPLES / sample / "job.toml").read_text(encoding="utf-8")
    (folder / "job.toml").write_text(text.replace("[pickets]\n", f"[pickets]\n{keys}\n"), encoding="utf-8")
    return plan_fence(read_job(folder))


@pytest.mark.parametrize("sample", ["herb_garden", "paddock_lane"])
def test_fewer_settings_change_no_purchase_and_no_gap_s_limit(tmp_path: Path, sample: str) -> None:
    each = planned(tmp_path / "each", sample, 'stop_settings = "every length"')
    few = planned(tmp_path / "few", sample, "")
    assert few.stock.bought.tolist() == each.stock.bought.tolist()
    assert stops(settings(few, 0)) < stops(settings(each, 0))
    a, b = few.runs[0], each.runs[0]
    assert (a.stock == b.stock).all()
    assert (a.cuts.kept <= b.cuts.kept).all()
    most = np.where(a.zones.open, np.inf, np.maximum(a.zones.most_gap, b.cuts.gap))
    assert (a.cuts.gap <= most + 1e-6).all()
    assert (a.cuts.kept[in_place(b)] == b.cuts.kept[in_place(b)]).all()
    assert not (in_place(a) & ~in_place(b)).any()


class Told(GroundUnder, frozen=True, kw_only=True):
    """Boards whose chance is none from a known length on."""

    sound: ClassVar = np.array([3, 17, 40, 41, 99, 20])

    def chance(self, kept: Marks, index: Indices | slice = slice(None)) -> Floats:
        return np.where(kept >= self.sound[index], 0.0, 1.0)


def test_the_shortest_length_within_the_limit_is_found_to_the_mark() -> None:
    none: Any = None
    ground = Told(layout=none, full=none, cut=none, unread=none, mark=1.0)
    kept, least = np.full(6, 41), np.array([10, 10, 10, 10, 10, 41])
    some = np.array([True, True, True, True, False, True])
    shortest = ground.shortest(kept, least, np.full(6, 0.5), some)
    assert shortest.tolist() == [10, 17, 40, 41, 41, 41]
    assert kept.tolist() == [41] * 6
