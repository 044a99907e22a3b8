"""The plan as a whole: what is flagged, what is said, and what is refused."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from small_job import mistakes_of

from fencegrade.fence.low_ground.gaps import GapAction
from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.fence.stock import NO_STOCK
from fencegrade.job.read import read_job
from fencegrade.planning.alike import FIT
from fencegrade.planning.buying import buying_list
from fencegrade.planning.plan import FencePlan, plan_fence, plan_on
from fencegrade.problems import JobMistakesError, Severity
from fencegrade.sheets.hanging import look_at
from fencegrade.units.words import numbered

Plan = Callable[..., FencePlan]

LEVEL = "station [ft],elevation [in]\n0,0\n8,0\n16,0\n24,0\n"
DIP = "station [ft],elevation [in]\n0,0\n6,0\n9,-4\n12,-14\n15,-4\n18,0\n24,0\n"
BARS = "soil may not lie or run out there"


@pytest.fixture
def plan(tmp_path: Path) -> Plan:
    """Writes a job of one run and plans it; `stock` is (length, price) pairs."""

    def planner(
        survey: str = LEVEL,
        *,
        run: str = "",
        top: str = "",
        pickets: str = "",
        stock: tuple[tuple[str, float], ...] = (("6 ft", 4.0), ("8 ft", 6.5)),
        style: str | None = None,
    ) -> FencePlan:
        boards = "".join(f'[[pickets.stock]]\nlength = "{a}"\nprice = {p}\n' for a, p in stock)
        (tmp_path / "job.toml").write_text(
            '[job]\ntitle = "Herb garden"\nunits = "imperial"\n'
            f'[[run]]\nname = "lane"\nsurvey = "s.csv"\n{run}\n'
            f"[top]\n{top}\n[pickets]\n{pickets}\n{boards}"
        )
        (tmp_path / "s.csv").write_text(survey)
        return plan_fence(read_job(tmp_path), style)

    return planner


def refused(plan: Plan, *args: object, **kwargs: object) -> list[str]:
    return mistakes_of(lambda: plan(*args, **kwargs))


def test_level_ground_takes_one_length(plan: Plan) -> None:
    fence = plan()
    run = fence.runs[0]
    assert len(run.slots) == 50
    assert set((run.cuts.kept * fence.mark).tolist()) == {72.0}
    assert fence.stock.used.tolist() == [50, 0]
    assert [p for p in fence.problems if p.severity is Severity.MISTAKE] == []
    spoiled = {
        flag: truths.any() for flag, truths in run.flags.items() if flag is not PicketFlag.MARK_IN_PLACE
    }
    assert not any(spoiled.values())


def test_the_run_is_as_long_as_its_survey_unless_said(plan: Plan) -> None:
    assert (plan().runs[0].start, plan().runs[0].end) == (0.0, 288.0)
    part = plan(run='start = "2 ft"\nend = "10 ft"').runs[0]
    assert (part.start, part.end) == (24.0, 120.0)
    assert part.slots.left[0] == 24.0
    assert part.slots.right[-1] == 120.0


def test_a_style_may_be_asked_for_instead_of_the_jobs(plan: Plan) -> None:
    assert plan(style="contour").styles == ("contour",)
    assert plan(top='style = "sloped"').styles == ("sloped",)
    with pytest.raises(ValueError, match="wavy"):
        plan(style="wavy")


def test_low_ground_takes_longer_boards_and_is_listed(plan: Plan) -> None:
    fence = plan(DIP, pickets="most_chance = 1")
    run = fence.runs[0]
    low = run.stock == 1
    assert low.any()
    assert not low.all()
    covered = {i for g in run.gaps for i in range(g.first - 1, g.last)}
    assert covered == set(np.flatnonzero(low).tolist())
    assert GapAction.LONGER_BOARD in {g.action for g in run.gaps}
    for gap in run.gaps:
        left = float(run.cuts.gap[gap.first - 1 : gap.last].max())
        # a longer board closes what the shortest would leave; where nothing is done it is what stands open
        assert gap.deepest == pytest.approx(left) if gap.action is GapAction.NONE else gap.deepest > left


def test_what_no_stock_serves_is_said_with_what_is_missing(plan: Plan) -> None:
    fence = plan(DIP, stock=(("6 ft", 4.0),))
    run = fence.runs[0]
    missing = run.stock == NO_STOCK
    assert missing.any()
    assert run.flags[PicketFlag.NO_STOCK].tolist() == missing.tolist()
    (words,) = [p for p in fence.problems if "no stock serves" in p.found]
    worst = int(np.argmax(np.where(missing, run.full, 0)))
    needed = run.full[worst] * fence.mark
    assert f"at picket {worst + 1}" in words.found
    assert "the longest stock is 6 ft" in words.found
    assert f"{int(needed - 72)}" in words.found
    assert "add a longer stock; lower the tops of all runs: write " in words.remedy
    height = words.remedy.partition("write ")[2].partition(" or less")[0]
    lower = plan(DIP, stock=(("6 ft", 4.0),), top=f'least_height = "{height}"').runs[0]
    assert lower.stock.tolist() == [0] * len(lower.slots), "the height it names serves every picket"
    assert int(lower.full.max()) * fence.mark == pytest.approx(72, abs=fence.mark)
    assert np.isnan(fence.trims[0]).tolist() == missing.tolist()


def test_a_limit_that_is_passed_is_flagged_from_the_surveyed_ground(plan: Plan) -> None:
    fence = plan(DIP, top='most_height = "6 ft 6 in"')
    run = fence.runs[0]
    over = run.flags[PicketFlag.OVER_HEIGHT]
    assert over.tolist() == (run.cuts.tallest > 78 + 1e-6).tolist()
    assert over.any()
    assert [p for p in fence.problems if "over the limit of 6' 6\"" in p.found]


def test_the_average_rule_judges_the_whole_run(plan: Plan) -> None:
    limit = 'most_height = "6 ft 6 in"\nmeasured = "average"'
    assert not plan(DIP, top=limit).runs[0].flags[PicketFlag.OVER_HEIGHT].any()
    strict = 'most_height = "6 ft 1 in"\nmeasured = "average"'
    assert plan(DIP, top=strict).runs[0].flags[PicketFlag.OVER_HEIGHT].all()


def test_no_limit_flags_nothing(plan: Plan) -> None:
    assert not plan(DIP).runs[0].flags[PicketFlag.OVER_HEIGHT].any()


def test_no_board_is_to_be_filled_beneath_where_soil_may_not_lie(plan: Plan) -> None:
    """Three bumps: over a root, free of all, and so near water that soil beside it would run into it."""
    bumps = "0,0\n7,0\n8,5\n9,0\n15,0\n16,5\n17,0\n22,0\n23.2,5\n24,0\n25,0\n32,0\n"
    fence = plan(
        f"station [ft],elevation [in]\n{bumps}",
        run='[[run.root]]\nstart = "7 ft"\nend = "9 ft"\n'
        '[[run.keep_open]]\nstart = "24 ft"\nend = "25 ft"\nheight = "2 in"\n',
    )
    (run,) = fence.runs
    far, over = run.slots.right / 12, run.flags[PicketFlag.GAP]
    bare = (far > 7) & (far < 9.5) | (far > 23.5)
    assert all((over & which).any() for which in (far < 9.5, (far > 15) & (far < 17), far > 23.5))
    assert run.flags[PicketFlag.NO_SOIL].tolist() == (over & bare).tolist()
    told = {p.place: p.remedy for p in fence.problems if "square cut" in p.found}
    for which, way in (
        (over & ~bare, ", or fill beneath them"),
        (over & bare, "; soil may not lie or run out there: a stretch kept open and a root bar it"),
    ):
        remedy = told.pop(f"lane, {numbered('picket', np.flatnonzero(which))}")
        assert remedy.startswith(f"scribe these boards to the ground{way}")
    assert not told
    words = [" ".join(look_at(fence.runs[0], i, fence.words)) for i in np.flatnonzero(over).tolist()]
    assert [("no soil" in w, "or fill" in w) for w in words] == [(b, not b) for b in bare[over].tolist()]
    root = plan(f"station [ft],elevation [in]\n{bumps}", run='[[run.root]]\nstart = "7 ft"\nend = "9 ft"\n')
    (told_of,) = [p.remedy for p in root.problems if BARS in p.remedy]
    assert told_of.endswith(f"{BARS}: a root bars it"), "only the cause that holds"


def test_a_square_cut_on_steep_ground_asks_for_a_scribe(plan: Plan) -> None:
    steep = "station [ft],elevation [in]\n0,0\n4,16\n8,32\n12,48\n"
    stock = (("6 ft", 4.0), ("10 ft", 9.0))
    square = plan(steep, stock=stock)
    assert square.runs[0].flags[PicketFlag.GAP].all()
    assert [p for p in square.problems if p.remedy.startswith("scribe these boards")]
    scribed = plan(steep, pickets='bottom_cut = "scribed"', stock=stock)
    assert not scribed.runs[0].flags[PicketFlag.GAP].any()


def test_rips_are_flagged_and_slivers_too(plan: Plan) -> None:
    pickets = 'fit = "rip last"\nwidth = "5 in"\nspacing = "1 in"'
    run = plan(run='end = "20 ft"', pickets=pickets).runs[0]  # 240 = 40 x 6: nothing to rip
    assert not run.flags[PicketFlag.RIPPED].any()
    run = plan(run='end = "242 in"', pickets=pickets).runs[0]  # 2 in left: less than half a board
    assert np.flatnonzero(run.flags[PicketFlag.RIPPED]).tolist() == [40]
    assert run.flags[PicketFlag.SLIVER][-1]
    run = plan(run='end = "243 in"', pickets=pickets).runs[0]  # 3 in left
    assert run.flags[PicketFlag.RIPPED][-1]
    assert not run.flags[PicketFlag.SLIVER].any()


@pytest.mark.parametrize("fit", ["even gaps", "rip last", "rip both ends"])
@pytest.mark.parametrize("length", ["2 m", "3 m", "4 m", "16 ft", "5.77 m"])
@pytest.mark.parametrize("style", ["level", "contour"])
def test_the_last_picket_stays_within_the_survey(plan: Plan, fit: str, length: str, style: str) -> None:
    survey = f"station,elevation\n0 m,0 mm\n1 m,10 mm\n{length},20 mm\n"
    pickets = f'fit = "{fit}"\nwidth = "95 mm"\nspacing = "10 mm"'
    run = plan(survey, pickets=pickets, style=style).runs[0]
    assert run.slots.right[-1] <= run.ground.profile.line.end


class TestGates:
    def test_no_picket_stands_in_an_opening(self, plan: Plan) -> None:
        slots = plan(run='[[run.gate]]\nstation = "8 ft"\nwidth = "4 ft"').runs[0].slots
        assert not ((slots.right > 96 + 1e-9) & (slots.left < 144 - 1e-9)).any()
        assert 96.0 in slots.right.tolist()
        assert 144.0 in slots.left.tolist()

    def test_a_run_that_is_all_gate_is_refused_for_want_of_posts(self, plan: Plan) -> None:
        (words,) = refused(plan, run='[[run.gate]]\nstation = "0 ft"\nwidth = "24 ft"')
        assert "no room for a gate post" in words

    @pytest.mark.parametrize("station", ["30 ft", "22 ft", "-6 ft", "-2 ft"])
    def test_a_gate_outside_the_survey_is_a_mistake(self, plan: Plan, station: str) -> None:
        (words,) = refused(plan, run=f'[[run.gate]]\nstation = "{station}"\nwidth = "4 ft"')
        assert "gate 1: " in words
        assert "; " in words


def test_a_face_divides_the_pickets(plan: Plan) -> None:
    wall = "station [ft],elevation [in],side\n0,0,\n4,0,\n8,0,before\n8,-12,after\n12,-12,\n16,-12,\n"
    run = plan(wall, stock=(("6 ft", 4.0), ("8 ft", 6.5))).runs[0]
    assert 96.0 in run.slots.right.tolist()
    assert 96.0 in run.slots.left.tolist()
    assert set((run.full * 0.125).tolist()) == {72.0, 84.0}


def test_water_passes_where_a_stretch_is_kept_open(plan: Plan) -> None:
    fence = plan(run='[[run.keep_open]]\nstart = "10 ft"\nend = "12 ft"\nheight = "5 in"')
    run = fence.runs[0]
    over = (run.slots.right > 120) & (run.slots.left < 144)
    assert set(run.cuts.gap[over].tolist()) == {5.0}
    assert set(run.cuts.gap[~over].tolist()) == {2.0}
    (stretch,) = [g for g in run.gaps if g.action is GapAction.LEAVE_OPEN]
    assert (stretch.first, stretch.last) == (int(np.argmax(over)) + 1, int(np.flatnonzero(over)[-1]) + 1)


def test_a_picket_over_water_is_no_shorter_than_asked(plan: Plan) -> None:
    """A very short board on offer must not leave a hole in the fence."""
    fence = plan(
        run='[[run.keep_open]]\nstart = "10 ft"\nend = "12 ft"\nheight = "5 in"',
        stock=(("1 ft", 0.5), ("6 ft", 4.0)),
        top='least_height = "6 ft"',
    )
    assert set(fence.runs[0].stock.tolist()) == {1}
    assert fence.runs[0].cuts.gap.max() == 5.0


def test_the_mistakes_of_every_survey_are_reported_together(tmp_path: Path) -> None:
    runs = "".join(f'[[run]]\nname = "r{i}"\nsurvey = "s{i}.csv"\nend = "20 ft"\n' for i in range(3))
    stock = '[[pickets.stock]]\nlength = "6 ft"\n'
    (tmp_path / "job.toml").write_text(f'[job]\ntitle = "x"\nunits = "imperial"\n{runs}{stock}')
    (tmp_path / "s0.csv").write_text("station [ft],drop [in]\n0,20\n10,-3\n20,20\n")
    (tmp_path / "s1.csv").write_text("station [ft],drop [in]\n0,20\n10,20\n20,20\n")
    (tmp_path / "s2.csv").write_text("station [ft],drop [in]\n0,20\n10,20\n")
    with pytest.raises(JobMistakesError) as caught:
        plan_fence(read_job(tmp_path))
    first, last = (str(p) for p in caught.value.problems)
    assert first.startswith("s0.csv line 3: ")
    assert last.startswith("job.toml run 3, end: the run is longer than its survey")


BAD_READINGS = {
    "negative drop": ("station [ft],drop [in]\n0,20\n8,-3\n16,20\n", "s.csv line 3: ", "-3 in"),
    "one reading": ("station [ft],drop [in]\n0,20\n", "s.csv", "one station"),
    "repeats that disagree": (
        "station [ft],drop [in]\n0,20\n8,20\n8,26\n16,20\n",
        "s.csv lines 3 and 4: ",
        "disagree by 6 in",
    ),
    "out of order": ("station [ft],drop [in]\n0,20\n16,20\n8,20\n20,20\n", "s.csv line 4: ", "comes after"),
}


@pytest.mark.parametrize("name", BAD_READINGS)
def test_bad_readings(plan: Plan, name: str) -> None:
    survey, place, found = BAD_READINGS[name]
    (words,) = refused(plan, survey)
    assert words.startswith(place)
    assert found in words
    assert "; " in words


def test_a_run_longer_than_its_survey_names_the_missing_stretch(plan: Plan) -> None:
    (words,) = refused(plan, run='end = "30 ft"')
    assert words.startswith("job.toml run 1, end: the run is longer than its survey: 24' 0\" to 30' 0\"")
    (words,) = refused(plan, run='start = "-2 ft"')
    assert words.startswith("job.toml run 1, start: the run is longer than its survey: ")


def test_a_drop_in_feet_among_inches_is_doubted(plan: Plan) -> None:
    fence = plan("station [ft],drop [in]\n0,20\n4,21\n8,1.9\n12,22\n16,21\n20,20\n24,21\n")
    assert [p for p in fence.problems if "s.csv line 4" in p.place and p.severity is not Severity.MISTAKE]


def test_no_board_is_cut_to_nothing(plan: Plan) -> None:
    """Whatever the wishes, every length in a plan is more than zero."""
    steep = "station [ft],elevation [in]\n0,0\n4,90\n8,0\n12,200\n"
    for bottom in ("square", "scribed"):
        for style in ("level", "sloped", "contour"):
            run = plan(steep, pickets=f'bottom_cut = "{bottom}"', stock=(("12 ft", 9.0),), style=style).runs[
                0
            ]
            assert min(run.cuts.kept_left.min(), run.cuts.kept_right.min()) > 0


def test_what_is_doubted_in_the_job_stands_beside_what_stops_the_plan(plan: Plan) -> None:
    """A board of 4 in for one of 4 ft leaves no height for the posts: the slip is told with what follows."""
    stops, *doubted = refused(plan, stock=(("4 in", 4.0), ("6 ft", 6.5)))
    assert "no post stands above the ground" in stops
    assert any("[[pickets.stock]] 4 in length: 4 in is no usual length of such a board" in d for d in doubted)


@pytest.mark.parametrize("key", ["root", "no_soil"])
def test_no_soil_is_laid_over_a_root_or_where_none_may_be(plan: Plan, key: str) -> None:
    """The dip is filled, but not there; boards stand over it as over bare ground. Posts heed a root alone."""
    soil = '[soil]\nlow_ground = "soil"\nmost_depth = "16 in"'
    more = {"survey": DIP, "top": f'style = "level"\n{soil}'}
    free = plan(**more)
    post = float(free.runs[0].posts.station[1])
    start, end = min(132.0, post - 6), max(156.0, post + 6)
    kept = plan(**more, run=f'[[run.{key}]]\nstart = "{start} in"\nend = "{end} in"')
    over = [
        [g for g in p.runs[0].gaps if g.action is GapAction.FILL and g.start < end and g.end > start]
        for p in (free, kept)
    ]
    assert over[0]
    assert not over[1]
    assert (post in kept.runs[0].posts.station) == (key == "no_soil")


def test_posts_too_light_for_two_leaves_are_told_once(plan: Plan) -> None:
    """By the heavier of the two."""
    slope = "station [ft],drop [in]\n" + "".join(f"{4 * k},{20 + 0.7 * k * k:.1f}\n" for k in range(11))
    gate = '[[run.gate]]\nstation = "12 ft"\nwidth = "10 ft"\nleaves = 2'
    found = plan(survey=slope, run=gate, top='style = "sloped"')
    light, heavy = sorted(frame.weight for frame in found.runs[0].frames)
    assert round(light) < round(heavy)
    (told,) = [p.found for p in found.problems if "hangs on a post" in p.found]
    assert told.startswith(f"a leaf of {heavy:.0f} lb")


def test_a_fit_that_a_stepped_top_does_not_keep_is_told(plan: Plan) -> None:
    told = {
        (style, fit): [
            p.found for p in plan(DIP, style=style, pickets=f'fit = "{fit}"').problems if p.place == FIT
        ]
        for style in ("stepped", "level")
        for fit in ("rip last", "even gaps")
    }
    assert told.pop(("stepped", "rip last")) == [
        "rip last is not kept under the stepped top of lane: each bay there starts afresh, with even gaps "
        "and full boards"
    ]
    assert not any(told.values())


def test_a_row_of_rails_that_one_bay_asks_for_is_told(plan: Plan) -> None:
    """Over the dip the tops stand 42 + 14 in: pickets over 4 ft, by the rule for three rows; nowhere else."""
    low = 'least_height = "42 in"'
    fence = plan(DIP, top=low)
    (told,) = [p for p in fence.problems if p.place == "[rails] count"]
    rows = int(fence.runs[0].rails.row.max()) + 1
    assert (rows, len(fence.runs[0].layout.bays)) == (3, 3)
    assert told.found == (
        "3 rows of rails in every bay of lane, though only 1 of 3 bays asks for more than 2: the tops stand "
        "56 in over the lowest ground in bay 2 of lane"
    )
    assert told.remedy.startswith("count = 2 under [rails] in the job file plans 2 rows everywhere and ")
    assert "spares some 24 ft of rail; whether" in told.remedy
    prices = "[fasteners]\nbox = 100\nbox_price = 9.25\nframing_box_price = 11.5\n"
    prices += '[[rails.stock]]\nlength = "10 ft"\nprice = 12.5\n[[rails.stock]]\nlength = "8 ft"\nprice = 11'
    every, two = (plan(DIP, top=f"{low}\n{keys}{prices}") for keys in ("", "[rails]\ncount = 2\n"))
    (told,) = [p for p in every.problems if p.place == "[rails] count"]
    saved = (buying_list(every).cost or 0.0) - (buying_list(two).cost or 0.0)
    assert f"spares some 24 ft of rail, {saved:.2f} with its screws; whether" in told.remedy, (
        "what the list then costs less"
    )
    fewer = plan(DIP, top=f"{low}\n[rails]\ncount = 2\n")
    assert int(fewer.runs[0].rails.row.max()) + 1 == 2
    for other in (fewer, plan(LEVEL, top=low)):
        assert all(p.place != "[rails] count" for p in other.problems)
    unheard = plan_on(fence.job, [run.ground for run in fence.runs], fence.styles, advise=False)
    assert all(p.place != "[rails] count" for p in unheard.problems), "fewer are costed only to be told"


def test_what_a_row_of_rails_costs_is_told_of_what_has_a_price(plan: Plan) -> None:
    low = 'least_height = "42 in"'
    rails = '[[rails.stock]]\nlength = "10 ft"\nprice = 12.5\n[[rails.stock]]\nlength = "8 ft"\nprice = 11\n'
    boxes = "[fasteners]\nbox = 100\n"
    told = []
    for prices in (rails, f"{boxes}box_price = 9.25\n", f"{rails}{boxes}framing_box_price = 9.25\n"):
        keys = (f"{low}\n{prices}", f"{low}\n[rails]\ncount = 2\n{prices}")
        every, two = (plan(DIP, top=own) for own in keys)
        (remark,) = [p for p in every.problems if p.place == "[rails] count"]
        told.append(remark.remedy.partition("spares some ")[2].partition(";")[0])
        paid = [
            sum(x.total or 0.0 for x in buying_list(own).lines if x.part == "rails" or "screws" in x.part)
            for own in (every, two)
        ]
        told.append(f"{paid[0] - paid[1]:.2f}")
    only_rails, rail_cost, only_screws, screw_cost, some_screws, _ = told
    assert only_rails == some_screws == f"24 ft of rail, {rail_cost}"
    assert only_screws == f"24 ft of rail and {screw_cost} of screws"
