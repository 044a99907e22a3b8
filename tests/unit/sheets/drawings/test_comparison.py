"""Several tops to one scale."""

from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from drawn import make_job, svg_texts
from kept import drawn_as_kept
from msgspec import structs

from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.fence.tops.table import TopStyle
from fencegrade.planning.plan import plan_fence
from fencegrade.sheets.drawings.comparison import ComparedTop, _key, comparison_figure
from fencegrade.sheets.drawings.picture import Shape


@pytest.mark.parametrize(("feet", "slope"), [(24, 0.0), (100, 1.0), (30, 8.0), (500, 0.0)])
def test_comparison_says_each_top_and_draws_all_to_one_scale(tmp_path: Path, feet: int, slope: float) -> None:
    job = make_job(tmp_path, feet, slope)
    styles = (TopStyle.LEVEL, TopStyle.SLOPED, TopStyle.CONTOUR)
    choices = [
        ComparedTop(
            name=s, plan=plan_fence(job, s), words="; ".join([f"costs ${k}00 <b>less</b>"] * (1 + 5 * k))
        )
        for k, s in enumerate(styles)
    ]
    picture = comparison_figure(choices, 0)
    drawn_as_kept(f"comparison_{feet}", [picture])
    texts = svg_texts(picture)
    for choice in choices:
        assert f"{choice.name}:" in texts
        assert choice.words in " ".join(texts), "in as many lines as it takes"
    boxes = [t.box for t in picture.texts]
    assert not [
        1 for a, b in combinations(boxes, 2) if a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
    ]
    lines = [s for s in picture.items if isinstance(s, Shape) and s.width == 1.3]
    spans = {(line.points[0][0], line.points[-1][0]) for line in lines}
    assert (len(lines), len(spans)) == (3, 1)
    rises = {round(max(y for _, y in one.points) - min(y for _, y in one.points), 1) for one in lines}
    assert max(rises) - min(rises) <= 0.11


def test_what_is_drawn_without_a_word_beside_it_has_a_key(tmp_path: Path) -> None:
    """The accent, the limit's dots, the strings' dashes, soil and kickboards: each where some top has it."""
    run = plan_fence(make_job(tmp_path, 24)).runs[0]
    bare = structs.replace(run, flags={f: np.zeros(len(run.slots), dtype=bool) for f in run.flags})
    bare = structs.replace(bare, closing=structs.replace(run.closing, fills=(), kickboards=()))
    over = structs.replace(bare, flags={**bare.flags, PicketFlag.OVER_HEIGHT: np.ones(len(run.slots), bool)})
    filled = structs.replace(bare, closing=structs.replace(bare.closing, fills=("one",), kickboards=("one",)))
    strung = ["string"] if run.ground.strings else []
    assert [words for _, words in _key([bare])] == strung
    assert [words for _, words in _key([bare, over])] == [
        "boards to look at, told under their top",
        "height limit",
        *strung,
    ]
    assert [words for _, words in _key([filled])] == [*strung, "soil that is added", "kickboard"]
