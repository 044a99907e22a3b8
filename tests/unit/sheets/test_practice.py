"""Good practice and cautions stand at their task, with the job's own figures."""

import math
from collections.abc import Callable
from dataclasses import replace

from fencegrade.fence.low_ground.gaps import GapAction
from fencegrade.job.as_built import AsBuilt, BuiltRun, PicketUp
from fencegrade.job.read import Job
from fencegrade.planning.buying import buying_list
from fencegrade.planning.marked import marked_pickets
from fencegrade.planning.plan import FencePlan, plan_fence
from fencegrade.sheets.cautions import Work
from fencegrade.sheets.page.page import phone_page
from fencegrade.sheets.paper.setting_out import SQUARE
from fencegrade.sheets.plan_cautions import cautions, short_cautions, work_cautions
from fencegrade.sheets.practice import KICKBOARD
from fencegrade.sheets.screen.summary import summary_lines
from fencegrade.sheets.sources import sources_used
from fencegrade.sheets.unbroken import unbroken
from fencegrade.sheets.work import low_ground_lines, pace_words
from fencegrade.units import UnitSystem

WriteJob = Callable[..., Job]

LEVEL = "station [ft],elevation [in]\n0,0\n12,0\n24,0\n"


def at(plan: FencePlan, work: Work) -> str:
    return " ".join(c.whole for c in work_cautions(plan, work))


def test_setting_out_has_the_offset_and_the_corner_s_diagonal(write_job: WriteJob) -> None:
    side = (LEVEL.replace("24,0", "18,0").replace("12,0", "9,0"), 'join = "lane"\n')
    text = at(plan_fence(write_job(lane=LEVEL, side=side)), Work.PLANNING)
    assert "half a post (1-3/4 in) farther in" in text
    assert "6, 8 and 10 ft" in text
    assert math.hypot(24, 18) == 30
    assert "they are 30' 0\" apart where it is square" in text
    assert "and 42' 0\" where the two go straight on" in text
    assert "3-4-5" not in at(plan_fence(write_job(lane=LEVEL)), Work.PLANNING)


def test_water_waiting_and_hours_stand_with_the_posts(write_job: WriteJob) -> None:
    plan = plan_fence(write_job("[crew]\nposts_an_hour = 2\n", lane=LEVEL))
    text = at(plan, Work.POSTS)
    assert "about 0.8 gal to begin with" in text  # three quarts for 80 lb
    assert "2 days before rails" in text
    assert "pace" not in " ".join(c.whole for c in cautions(plan)), "hours are no caution"
    assert pace_words(plan).startswith(f"setting posts {len(plan.runs[0].posts) / 2:.1f} h; ")
    assert pace_words(plan).endswith(" h together, without waiting for concrete")
    page = phone_page(plan, []).decode()
    assert unbroken(pace_words(plan)) in page
    assert "trip" not in page
    gate = '[[run.gate]]\nstation = "3 ft"\nwidth = "3 ft"\n'
    hauled = plan_fence(write_job('[crew]\npickets_an_hour = 9\npayload = "500 lb"\n', lane=(LEVEL, gate)))
    assert pace_words(hauled).endswith(" h together, without gates and waiting for concrete")
    told = f"{math.ceil(buying_list(hauled).weight / 500)} trips with your vehicle"
    assert told in " ".join(" ".join(summary_lines(hauled)).split())
    assert told in phone_page(hauled).decode()
    metric = "station [m],elevation [mm]\n0,0\n3,10\n6,0\n"
    stock = '[[pickets.stock]]\nlength = "2.1 m"\n'
    text = at(plan_fence(write_job(units="metric", stock=stock, lane=metric)), Work.POSTS)
    assert "about 2.0 l to begin with" in text  # 0.0375 qt/lb x 55.1 lb
    assert "3 m or more from overhead lines" in text


def test_cautions_of_a_metric_job_name_no_authority_of_one_country(write_job: WriteJob) -> None:
    metric = "station [m],elevation [mm]\n0,0\n3,10\n6,0\n"
    stock = '[[pickets.stock]]\nlength = "2.1 m"\n'
    said = " ".join(
        c.short + c.whole for c in cautions(plan_fence(write_job(units="metric", stock=stock, lane=metric)))
    )
    ours = " ".join(c.short + c.whole for c in cautions(plan_fence(write_job(lane=LEVEL))))
    for name in ("811", "OSHA", "EPA", "US 29 CFR", "a cup"):
        assert name in ours
        assert name not in said
    assert "|" not in said + ours


def test_the_pile_is_sorted_and_culls_are_counted(write_job: WriteJob) -> None:
    assert "spare = 0.05 under [pickets]" in at(plan_fence(write_job(lane=LEVEL)), Work.CUTTING)
    plan = plan_fence(write_job(lane=LEVEL, pickets="spare = 0.05"))
    spares = sum(line.spare for line in buying_list(plan).lines if line.part == "pickets")
    assert f"split ones aside; {spares:g} more are on the list for those that are" in at(plan, Work.CUTTING)


def test_spares_are_those_that_are_on_the_list_still(write_job: WriteJob) -> None:
    """As the fence goes up fewer are listed, and once the last board is up none is."""
    job = write_job(lane=LEVEL, pickets="spare = 0.05")
    (run,) = plan_fence(job).runs
    for up, told in ((len(run.slots) - 1, "; 1 more is on the list for those"), (len(run.slots), ". ")):
        last = PicketUp(number=up, far_edge=float(run.slots.right[up - 1]))
        built = AsBuilt(run=(BuiltRun(name="lane", picket=(last,)),))
        assert f"split ones aside{told}" in at(plan_fence(replace(job, built=built)), Work.CUTTING)


def test_practice_has_no_words_on_the_screen_and_every_caution_has(write_job: WriteJob) -> None:
    plan = plan_fence(write_job(lane=LEVEL))
    short = list(short_cautions(plan))
    assert all(short)
    assert len(short) == len(set(short)) < len(list(cautions(plan)))
    assert all("{" not in c.whole + c.short for c in cautions(plan))


def test_a_wall_in_the_line_is_for_an_engineer(write_job: WriteJob) -> None:
    low = 'least_height = "4 ft"\n'
    face = "station [ft],elevation [in],side\n0,0,\n8,0,before\n8,20,after\n16,20,\n"
    stock = '[[pickets.stock]]\nlength = "4 ft"\n[[pickets.stock]]\nlength = "6 ft"\n'
    walled, level = (
        plan_fence(write_job(f'[top]\nstyle = "stepped"\n{low}', stock=stock, lane=s)) for s in (face, LEVEL)
    )
    assert "licensed engineer" in at(walled, Work.POSTS)
    assert "licensed engineer" not in at(level, Work.POSTS)


def test_no_builder_s_sheet_says_from_memory(write_job: WriteJob) -> None:
    plan = plan_fence(write_job('[site]\nwind_speed = "115 mph"\n', lane=LEVEL))
    told = " ".join(f"{what}: {source}" for what, source in sources_used(plan))
    told += " ".join(plan.runs[0].wind.assumptions) if plan.runs[0].wind else ""
    assert "from memory" not in told
    assert "not checked against the document" in told


SOIL = '[soil]\nlow_ground = "{}"\nprice = 45\n[[soil.kickboard]]\nlength = "8 ft"\nprice = 9\n'
SHORT_OR_DEAR = (
    '[[pickets.stock]]\nlength = "4 ft"\nprice = 3\n[[pickets.stock]]\nlength = "5 ft"\nprice = 40\n'
)


def test_a_kickboard_has_one_stretch_and_how_it_is_made(write_job: WriteJob) -> None:
    """Of two bays the second has a dip: the board closes all of it, pickets of full length too."""
    dip = "station [ft],drop [in]\n0,30\n4,30\n8,30\n12,30\n14,34\n16,34\n"
    tables = '[top]\nleast_height = "50 in"\n' + SOIL.format("kickboard")
    plan = plan_fence(write_job(tables, pickets='spacing = "1/2 in"', stock=SHORT_OR_DEAR, lane=dip))
    (run,), kick = plan.runs, plan.families.kickboards
    (board,) = run.closing.kickboards
    (gap,) = [g for g in run.gaps if g.action is GapAction.KICKBOARD]
    assert kick is not None
    assert (gap.first, gap.last) == (board.first, board.last)
    assert [name for b in kick.traced() for name in b.names] == [f"lane under pickets {gap.first}-{gap.last}"]
    assert not run.closing.boarded[board.first - 1]
    page = phone_page(plan).decode()
    assert KICKBOARD in page
    assert f"kickboard under pickets {gap.first}-{gap.last}" in page
    head, *ways = low_ground_lines(plan, plan.words)
    assert head == "Low ground, each before what boards taken longer in doubt may add"
    (planned,) = [way for way in ways if way.endswith("as planned")]
    doubt = marked_pickets(plan)
    assert ("in doubt" in planned) == bool(doubt.more + doubt.charted_more)
    assert not [p for p in plan.problems if "no kickboard is laid" in p.found]


def test_a_job_without_one_kickboard_laid_says_by_which_rule(write_job: WriteJob) -> None:
    """Tops along the ground take one length everywhere: none is spared by a kickboard."""
    waves = "station [ft],drop [in]\n" + "".join(f"{2 * k},{40 + 5 * (k % 2)}\n" for k in range(9))
    found = {}
    for asked in ("kickboard", "soil"):
        tables = '[top]\nstyle = "contour"\n' + SOIL.format(asked)
        plan = plan_fence(write_job(tables, stock='[[pickets.stock]]\nlength = "8 ft"\n', lane=waves))
        assert not plan.runs[0].closing.kickboards
        found[asked] = [p.place for p in plan.problems if "no kickboard is laid" in p.found]
        if asked == "kickboard":
            (same,) = list(low_ground_lines(plan, plan.words))[1:]
            assert same.startswith("  boards alone, soil, kickboards and the cheapest of them come")
    assert found == {"kickboard": ["[soil] low_ground"], "soil": []}


def test_a_square_corner_is_taped_in_the_job_s_own_unit() -> None:
    assert "6, 8 and 10 ft)" in SQUARE[UnitSystem.IMPERIAL]
    assert " m)" not in SQUARE[UnitSystem.IMPERIAL]
    assert "1.8, 2.4 and 3.0 m)" in SQUARE[UnitSystem.METRIC]
    assert "ft" not in SQUARE[UnitSystem.METRIC]
