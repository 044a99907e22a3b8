"""All that is behind a plan, for the screen: proofs, other choices, work, assumptions, cautions."""

from collections.abc import Iterator

from fencegrade.planning.plan import FencePlan
from fencegrade.problems import Severity
from fencegrade.sheets.cautions import CHECK_THREE
from fencegrade.sheets.plan_cautions import short_cautions
from fencegrade.sheets.proof import pickets_proof
from fencegrade.sheets.rail_lines import spare_words
from fencegrade.sheets.run_words import concrete_lines, frame_lines, pattern_lines, wind_lines
from fencegrade.sheets.screen.delivered_text import board_lines
from fencegrade.sheets.screen.wrapping import section
from fencegrade.sheets.work import low_ground_lines, work_lines
from fencegrade.units.words import Words


def detail_lines(plan: FencePlan) -> Iterator[str]:
    """Everything the summary has no room for, section by section."""
    words = plan.words
    yield from section("Buying", _buying(plan, words))
    yield from section("Pattern", pattern_lines(plan))
    yield from section("Gate leaves", frame_lines(plan))
    yield from section("Wind and soil, a screen and no design", (line.strip() for line in wind_lines(plan)))
    title, *choices = list(low_ground_lines(plan, words)) or [""]
    yield from section(title, (line.strip() for line in choices))
    yield from section("Boards as delivered", board_lines(plan.job, [r.ground for r in plan.runs]))
    yield from section("Work", work_lines(plan))
    yield from section("Worth knowing", (str(p) for p in plan.problems if p.severity is Severity.NOTE))
    yield from section(
        "Assumed, since the job does not say", (f"{a.key} = {a.value}" for a in plan.job.assumed)
    )
    yield from section("Cautions", short_cautions(plan))
    yield ""
    yield CHECK_THREE


def _buying(plan: FencePlan, words: Words) -> Iterator[str]:
    yield from filter(None, [pickets_proof(plan), spare_words(plan, words)])
    yield from (line.strip() for line in concrete_lines(plan))
