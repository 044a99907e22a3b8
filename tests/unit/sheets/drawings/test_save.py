"""Ground, cut boards, comparison, heights and patterns: words that fit, numbers that are those given."""

from pathlib import Path

from drawn import COSTS, HEIGHTS, INCHES, PATTERNS, make_job
from matplotlib.figure import Figure

from fencegrade.fence.tops.table import TopStyle
from fencegrade.job.choices import Pattern
from fencegrade.planning.plan import plan_fence
from fencegrade.sheets.drawings.comparison import ComparedTop, comparison_figure
from fencegrade.sheets.drawings.cut_boards import cut_board_figures
from fencegrade.sheets.drawings.ground import ground_figures
from fencegrade.sheets.drawings.heights_curve import heights_figure
from fencegrade.sheets.drawings.pattern_plan import Laid, pattern_figure
from fencegrade.sheets.drawings.picture import Picture
from fencegrade.sheets.drawings.save import png_bytes, svg_bytes

LAID = Laid(width=5.5, space=3.5, spaces="3-1/2 in", overlap="1 in or more")


def test_every_drawing_repeats_byte_by_byte(tmp_path: Path) -> None:
    job = make_job(tmp_path, 24)
    plan = plan_fence(job)
    run = plan.runs[0]
    choice = ComparedTop(name=TopStyle.LEVEL, plan=plan, words="as planned")

    def drawings() -> list[Figure | Picture]:
        return [
            *ground_figures(run.ground, job.job, [(60.0, 90.0)]),
            *cut_board_figures(PATTERNS, "Paddock", "pickets", INCHES),
            comparison_figure([choice], 0),
            heights_figure(HEIGHTS, COSTS, job.job, knees=[1]),
            pattern_figure(LAID, INCHES, "Paddock", Pattern.SHADOWBOX),
        ]

    for one, again in zip(drawings(), drawings(), strict=True):
        assert svg_bytes(one) == svg_bytes(again)
        assert png_bytes(one, 40) == png_bytes(again, 40)
