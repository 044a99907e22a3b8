"""What is told of fills: each sentence whole, and at its threshold."""

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from low_runs import RUN, pickets_of

from fencegrade.fence.low_ground.bill import Bill
from fencegrade.fence.low_ground.fill_places import LowRun
from fencegrade.fence.low_ground.fills import Fill
from fencegrade.fence.low_ground.gaps import GapAction, low_ground_gaps
from fencegrade.fence.low_ground.kickboard import Kickboard
from fencegrade.fence.low_ground.notes import closing_notes, no_soil_notes, taper_remarks
from fencegrade.fence.pickets.cuts import Cuts
from fencegrade.fence.pickets.wishes import Zones
from fencegrade.fence.slots import Slots
from fencegrade.fence.stock import NO_STOCK, Boards, needs_of
from fencegrade.ground.profile import ground_line
from fencegrade.job.choices import LowGround
from fencegrade.job.records import Soil
from fencegrade.units import UnitSystem
from fencegrade.units.words import Words

MARK = 0.125
SAY = Words(system=UnitSystem.IMPERIAL, mark=MARK)
SOIL = Soil(
    low_ground=LowGround.SOIL, price=None, most_depth=6.0, crest=12.0, side_slope=3.0, loose_factor=1.25
)


def cuts_of(lengths: list[float], gaps: list[float]) -> Cuts:
    kept = np.array([round(x / MARK) for x in lengths], dtype=np.int64)
    here, gap = np.zeros(len(lengths)), np.array(gaps)
    bottom = np.asarray(80 - kept * MARK, dtype=float)
    return Cuts(
        top=here + 80,
        bottom_left=bottom,
        bottom_right=bottom,
        kept_left=kept,
        kept_right=kept,
        kept=kept,
        gap=gap,
        height=here,
        tallest=here,
    )


def low_of(cuts: Cuts, water: tuple[int, ...] = (), clearance: float = 2.0) -> LowRun:
    """Pickets of 5 in a foot apart; up to 3 in may stay open under each, water passes under some."""
    count = len(cuts.kept)
    left = np.array([12.0 * k for k in range(count)])
    here = np.ones(count)
    return LowRun(
        run=RUN,
        line=ground_line([0, 12.0 * count], [0, 0]),
        start=0.0,
        end=12.0 * count,
        slots=Slots(left=left, right=left + 5),
        zones=Zones(
            clearance=clearance * here,
            least=here,
            most_gap=3 * here,
            open=np.array([k in water for k in range(count)]),
        ),
        cuts=cuts,
    )


def fill(first: int, last: int, **keys: Any) -> Fill:
    """Soil under pickets of 5 in a foot apart, tapers of 6 in."""
    start, end = 12.0 * (first - 1), 12.0 * (last - 1) + 5
    made = {
        "first": first,
        "last": last,
        "stock": 0,
        "start": start,
        "end": end,
        "foot_start": start - 6,
        "foot_end": end + 6,
        "surface_start": 1.0,
        "surface_end": 1.0,
        "fall": 1 / 6,
        "deepest": 4.0,
        "compacted": 2.5,
        "low_point": None,
    }
    return Fill(**{**made, **keys})


def kickboards(*stretches: tuple[int, int]) -> list[Kickboard]:
    return [Kickboard(start=0.0, end=96.0, first=a, last=b, length=96.0, stock=0) for a, b in stretches]


def made_of(low: LowRun, made: Cuts, unserved: tuple[int, ...] = ()) -> Boards:
    none = np.array([k in unserved for k in range(len(made.kept))])
    return Boards(
        needs=needs_of(low.cuts, low.zones.most_gap, None, MARK),
        cuts=made,
        wood=made.kept,
        stock=np.where(none, NO_STOCK, 0),
        on_hand=~none,
        trim=np.zeros(len(none)),
        up=np.zeros(len(none), dtype=bool),
    )


def test_what_is_done_about_each_stretch_of_low_ground() -> None:
    """The shortest stock is 72 in, so a board of 73 left at that would leave the 3 in that may stay open; of
    72 in too is the board over the sloping end of the fill, which closes the ground under it.
    """
    bare = cuts_of([72, 73, 73.125, 80, 78, 76, 74, 74, 90, 75, 70], [2.0] * 11)
    gaps = [2.0, 3.0, 2.0, 0.0, 2.0, 2.0, 3.0, 3.0, 2.0, 5.0, 4.0]
    low = low_of(bare, water=(9,))
    boards = made_of(low, cuts_of([72, 72, 73, 72, 72, 72, 72, 73, 72, 72, 72], gaps), unserved=(8,))
    found = low_ground_gaps(low, [fill(5, 6)], kickboards((4, 4)), boards, 72.0)
    assert [(g.first, g.last, str(g.action), g.deepest, g.fill_volume, g.fill_depth) for g in found] == [
        (3, 3, "longer board", 3.125, 0, 0),
        (4, 4, "kickboard", 10.0, 0, 0),
        (5, 7, "fill", 8.0, 2.5, 4.0),
        (8, 8, "longer board", 4.0, 0, 0),
        (9, 9, "none", 2.0, 0, 0),
        (10, 10, "leave open", 5.0, 0, 0),
        (11, 11, "none", 4.0, 0, 0),
    ]
    assert [(g.start, g.end) for g in found[:3]] == [(24, 29), (36, 41), (48, 77)]


def test_low_ground_under_the_sloping_end_of_a_fill_has_its_depth_of_soil() -> None:
    """Over level ground, 6 in of soil at the edges of the fill, 36 and 53 in, that run out by 1 in 6."""
    bare = cuts_of([72, 78, 72, 78, 78, 72, 78, 72], [2.0] * 8)
    low = low_of(bare)
    boards = made_of(low, cuts_of([72] * 8, [2.0] * 8))
    ends = {"foot_start": 0.0, "foot_end": 89.0, "surface_start": 6.0, "surface_end": 6.0}
    found = low_ground_gaps(low, [fill(4, 5, **ends, deepest=6.0)], (), boards, 72.0)
    assert [(g.first, g.last, str(g.action), g.fill_volume) for g in found] == [
        (2, 2, "fill", 0.0),
        (4, 5, "fill", 2.5),
        (7, 7, "fill", 0.0),
    ]
    assert [g.fill_depth for g in found] == pytest.approx([6 - 19 / 6, 6.0, 6 - 19 / 6])


def test_a_kickboard_is_one_stretch_from_post_to_post() -> None:
    """Over pickets of its bay that are no shorter for it too; the next bay has a stretch of its own."""
    bare = cuts_of([72, 72, 76, 77, 78, 72], [2.0] * 6)
    boards = made_of(low_of(bare), cuts_of([72] * 6, [2.0] * 6))
    found = low_ground_gaps(low_of(bare), [], kickboards((1, 4), (5, 6)), boards, 72.0)
    assert [(g.first, g.last, g.action) for g in found] == [
        (1, 4, GapAction.KICKBOARD),
        (5, 6, GapAction.KICKBOARD),
    ]


def test_fills_that_meet_are_one_stretch_and_water_parts_one() -> None:
    bare = cuts_of([78.0] * 6, [2.0] * 6)
    low = low_of(bare, water=(4,))
    boards = made_of(low, cuts_of([72.0] * 6, [2.0] * 6))
    fills = [fill(1, 2, deepest=3.0, compacted=1.0), fill(3, 6, deepest=5.0, compacted=2.0)]
    found = low_ground_gaps(low, fills, (), boards, 72.0)
    assert [(g.first, g.last, g.action, g.fill_volume, g.fill_depth) for g in found] == [
        (1, 4, GapAction.FILL, 3.0, 5.0),
        (5, 5, GapAction.LEAVE_OPEN, 0.0, 0.0),
        (6, 6, GapAction.FILL, 0.0, 5.0),
    ]
    assert low_ground_gaps(low, [], (), made_of(low, bare), 90.0)[0].action is GapAction.LEAVE_OPEN


TIMBER = (
    "use posts made for ground contact, count post depth from the ground as surveyed, tamp in thin layers, "
    "and keep soil off a neighbour's side"
)
POINT = (
    "the fill closes a low point of the ground, where water crosses the line or will stand behind it; keep "
    "it open ([[run.keep_open]] in the job file), or lead the water through with a pipe; ask before altering "
    "drainage"
)


def told(low: LowRun, fills: tuple[Fill, ...]) -> list[str]:
    found = closing_notes(LowGround.SOIL, [low, low], [fills, ()], {}, pickets_of(), SOIL, SAY)
    return [f"{p.severity}, {p}" for p in found]


@pytest.mark.parametrize(("clearance", "touching"), [(0.0, True), (0.125, False)])
def test_what_is_said_of_every_fill(clearance: float, touching: bool) -> None:
    low = low_of(cuts_of([78.0] * 6, [2.0] * 6), clearance=clearance)
    found = told(low, (fill(1, 2, deepest=3.0), fill(4, 5, deepest=5.0)))
    at = 'herb bed, 0" to 1\' 5", 3\' 0" to 4\' 5"'
    assert found == [
        f"warning, {at}: soil will touch the pickets, and wood in soil rots; leave a clearance, or close the "
        "ground with a kickboard made for ground contact"
    ] * touching + [
        f"note, {at}: soil stands up to 5 in deep against the posts there, {'0' if touching else '1/8'} in "
        f"under the pickets; {TIMBER}"
    ]


@pytest.mark.parametrize(("count", "more"), [(6, ""), (8, " and 2 more")])
def test_low_points_that_fills_close_are_named_up_to_six(count: int, more: str) -> None:
    low = low_of(cuts_of([78.0] * 20, [2.0] * 20))
    fills = (fill(1, 2), *(fill(k + 3, k + 3, low_point=12.0 * k) for k in range(count)))
    at = '0", 1\' 0", 2\' 0", 3\' 0", 4\' 0", 5\' 0"'
    assert told(low, fills)[0] == f"warning, herb bed, {at}{more}: {POINT}"


@pytest.mark.parametrize(
    ("gaps", "bare", "place", "count"),
    [
        # the second and the third picket lie over the taper from 6 in to 12 + 24 = 36 in of picket 4's fill
        ([2.0, 3.125, 3.125, 2.0], [2.0] * 4, "1' 0\" to 2' 5\"", 2),
        ([2.0, 3.0, 3.125, 2.0], [2.0] * 4, "2' 0\" to 2' 5\"", 1),
        ([2.0, 3.125, 3.125, 2.0], [2.0, 3.0, 3.125, 2.0], "1' 0\" to 1' 5\"", 1),
        ([3.125, 2.0, 2.0, 3.125], [2.0] * 4, None, 0),
    ],
)
def test_pickets_a_taper_leaves_open_are_told(
    gaps: list[float], bare: list[float], place: str | None, count: int
) -> None:
    low = low_of(cuts_of([72.0] * 4, bare))
    found = taper_remarks(low, [fill(4, 4, foot_start=5.0)], cuts_of([72.0] * 4, gaps), SAY)
    assert [f"{p.severity}, {p}" for p in found] == [
        f"warning, herb bed, {place}: more than the largest gap stays open under {count} "
        f"picket{'s' * (count > 1)} over the sloping ends of a fill; "
        "scribe them to the soil, or draw the fill out flatter (end_slope under [soil] in the job file)"
    ] * bool(place)


@pytest.mark.parametrize(("foot", "over"), [(29.0, 1), (24.0, 0)])
def test_a_taper_after_a_fill_ends_at_its_foot(foot: float, over: int) -> None:
    low, made = low_of(cuts_of([72.0] * 3, [2.0] * 3)), cuts_of([72.0] * 3, [2.0, 2.0, 4.0])
    assert len(list(taper_remarks(low, [fill(1, 2, foot_end=foot)], made, SAY))) == over


def bill(boards: float, **keys: Any) -> Bill:
    made = {"soil": 0.0, "kickboards": 0.0, "timber": 0.0, "compacted": 0.0, "loose": 0.0, "unserved": 0}
    return Bill(**{"boards": boards, "over_gap": 0, **made, **keys})


@pytest.mark.parametrize(
    ("boards", "filled", "system", "worth"),
    [
        (
            60.0,
            bill(40.0, loose=13.5),
            UnitSystem.IMPERIAL,
            "; 13.50 cu ft of loose soil would save 20.00 of boards, which pays below 40.00 a cubic yard",
        ),
        (
            60.0,
            bill(40.0, loose=13.6),
            UnitSystem.IMPERIAL,
            "; 27.00 cu ft of loose soil would save 20.00 of boards, which pays below 20.00 a cubic yard",
        ),
        (
            60.0,
            bill(40.0, loose=13.6),
            UnitSystem.METRIC,
            "; 0.500 m3 of loose soil would save 20.00 of boards, which pays below 40.00 a cubic metre",
        ),
        (60.0, bill(60.0, loose=13.6), UnitSystem.IMPERIAL, ""),
        (60.0, bill(40.0, loose=0.0), UnitSystem.IMPERIAL, ""),
        (60.0, bill(40.0, loose=13.5, unserved=1), UnitSystem.IMPERIAL, ""),
        (60.0, None, UnitSystem.IMPERIAL, ""),
    ],
)
def test_below_what_price_soil_would_pay(
    boards: float, filled: Bill | None, system: UnitSystem, worth: str
) -> None:
    bills = {LowGround.BOARDS: bill(boards)} | ({LowGround.SOIL: filled} if filled else {})
    say = Words(system=system, mark=MARK)
    found = closing_notes(LowGround.CHEAPEST, [], [], bills, pickets_of(), SOIL, say)
    assert [str(p) for p in found] == [
        f"[soil] price: soil has no price, so it was used only where no board serves{worth}; give the price "
        "of soil to weigh it against boards"
    ]
    assert closing_notes(LowGround.SOIL, [], [], bills, pickets_of(), SOIL, say) == []


@pytest.mark.parametrize(
    ("loose", "bag", "told"),
    [(0.0, None, False), (0.43, None, True), (3.0, None, True), (3.01, None, False), (0.43, 0.75, False)],
)
def test_soil_for_a_few_bags_is_not_left_at_half_a_load(loose: float, bag: float | None, told: bool) -> None:
    bills = {LowGround.SOIL: bill(60.0, loose=loose)}
    say = Words(system=UnitSystem.IMPERIAL, mark=MARK)
    found = closing_notes(LowGround.SOIL, [], [], bills, pickets_of(), replace(SOIL, bag=bag), say)
    assert [str(p) for p in found] == [
        f"[soil] bag: the fills take {loose:.2f} cu ft of loose soil, a few bags, and it is listed by the "
        'half load, 13.50 cu ft; write what a bag holds, such as bag = "0.75 cu ft", to have it listed in '
        "bags"
    ] * told


@pytest.mark.parametrize(
    ("length", "gap", "least", "why"),
    [
        # 80 in to fill up to boards of 72, so 8 in of soil where 6 may lie
        (80.0, 2.0, 0, "it would lie 8 in deep, and most_depth is 6 in"),
        (78.0, 2.02, 0, "it would lie just over 6 in deep, and most_depth is 6 in"),
        (78.0, 2.0, -1, "a fill there would be shorter than least_length, 24 in"),
        (78.0, 2.0, 0, None),
        (72.0, 4.0, -1, None),
    ],
)
def test_which_limit_keeps_soil_away(length: float, gap: float, least: int, why: str | None) -> None:
    """Pickets 2 and 3 of four, cut from boards of 72 in, stay open; the third is the worse."""
    bare = cuts_of([72.0, min(length, 72.25), length, 72.0], [2.0, gap, gap, 2.0])
    low = low_of(bare)
    full = cuts_of([72.0] * 4, [2.0, 4.0, 4.0 + length - 72, 2.0])
    shorter = [40 * 8] if length > 72 else []  # a board of 72 in has none to lose
    rows: Any = SimpleNamespace(board=np.array([2]), least=np.array([least]))
    soil = Soil(**{**{f: getattr(SOIL, f) for f in SOIL.__dataclass_fields__}, "least_length": 24.0})
    found = no_soil_notes(low, rows, full, np.array([*shorter, 72 * 8]), soil, SAY)
    assert [f"{p.severity}, {p}" for p in found] == [
        f"note, herb bed, 1' 0\" to 2' 5\": no soil goes under pickets 2-3: {why}; scribe the boards"
        f"{' or fill by hand there' if least else ''}, or change that limit under [soil] in the job file"
    ] * bool(why)
