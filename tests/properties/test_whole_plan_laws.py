"""Laws of the whole plan: timber is neither made nor lost, sums are sums, and what is claimed is kept."""

from dataclasses import replace

import numpy as np
import pytest
from examples import few
from hypothesis import example, given
from hypothesis import strategies as st
from in_json import as_json
from yards import ANY_STYLE, LEAST, MARK, Yard, grounds, yards

from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.fence.rails.pieces import SQUARE
from fencegrade.fence.rails.rails import bay_tops
from fencegrade.fence.stock import NO_STOCK
from fencegrade.planning.buying import buying_list


@few(6)
@given(yard=yards(), style=ANY_STYLE)
def test_pieces_kerfs_and_offcut_make_the_board_in_every_family(yard: Yard, style: str) -> None:
    plan = yard.plan(style)
    kerf = int(np.ceil(yard.kerf / MARK - 1e-6))
    for name, family in plan.families.named().items():
        alone = name == "posts" or (name != "rails" and yard.top_end != "flat")
        for board in family.traced():
            used = sum(board.pieces) + board.offcut
            assert board.stock >= sum(board.pieces) + kerf * (len(board.pieces) - 1) + board.ends
            if alone:
                assert len(board.pieces) == 1
                dust = board.stock - used
                assert dust in {0, kerf} or (board.offcut == 0 and 0 < dust < kerf)
                continue
            lost = board.stock - used
            cuts = len(board.pieces) - 1 if lost < kerf * len(board.pieces) else len(board.pieces)
            assert lost >= kerf * cuts
            assert lost <= kerf * len(board.pieces)
            assert board.offcut == 0 or lost == kerf * len(board.pieces)


@few(6)
@given(yard=yards(), style=ANY_STYLE)
def test_rails_with_plumb_ends_lie_within_their_boards_corner_by_corner(yard: Yard, style: str) -> None:
    plan = yard.plan(style)
    slopes = [bay_tops(r.top, r.layout.bays).slope(r.layout.bays)[r.rail_pieces.first_bay] for r in plan.runs]
    frames = [ends for r in plan.runs for f in r.frames for *_, ends in f.pieces()]
    slope = np.abs(np.concatenate(slopes))
    slant = np.append(np.where(np.arctan(slope) >= SQUARE, 3.5 * slope, 0.0), frames)
    rails = plan.families.rails
    assert len(slant) == len(rails.asked)
    assert (rails.ends * MARK >= slant - 3.5 * np.tan(SQUARE)).all()
    for board, members in rails.laid():
        below = above = -yard.kerf
        for m in sorted(members, key=lambda m: slant[m]):
            start = max(below + yard.kerf, above + yard.kerf - slant[m], 0.0)
            below = start + rails.asked[m] * MARK
            above = below + slant[m]
        assert above <= board.stock * MARK + 1e-6
    for r in plan.runs:
        apart = np.diff(r.rails.drop) - np.where(np.diff(r.rails.bay) == 0, 3.5, -np.inf)
        assert (apart[r.rails.fits[1:]] >= -1e-6).all(), "rails that fit lie one under the other"
    told = as_json(plan)
    for run in told["runs"]:
        assert all(r["stock"] is None or r["length"] <= r["taken"] <= r["stock"] for r in run["rails"])


@few(6)
@given(yard=yards(), style=ANY_STYLE)
def test_every_piece_is_cut_once_from_a_board_that_is_counted(yard: Yard, style: str) -> None:
    plan = yard.plan(style)
    for family in plan.families.named().values():
        names = [name for board in family.traced() for name in board.names]
        wanted = [family.name_of(i) for i in range(len(family.asked)) if i not in set(family.unserved)]
        assert sorted(names) == sorted(wanted)
        boards = list(family.traced())
        there = [sum(b.on_hand and b.stock * MARK == s.length for b in boards) for s in family.offered]
        assert there == family.counts(True)
        assert all(n <= s.on_hand for n, s in zip(there, family.offered, strict=True))
        bought = [sum(not b.on_hand and b.stock * MARK == s.length for b in boards) for s in family.offered]
        assert bought == family.counts(False)
    pickets = plan.families.pickets
    used = [a + b for a, b in zip(pickets.counts(True), pickets.counts(False), strict=True)]
    assert plan.stock.used.tolist() == used


@few(6)
@given(yard=yards(), style=ANY_STYLE)
def test_totals_are_sums_of_lines_to_the_cent(yard: Yard, style: str) -> None:
    plan = yard.plan(style)
    bought = buying_list(plan)
    cents = 0
    for line in bought.lines:
        if line.total is not None:
            assert line.price is not None
            assert line.total == pytest.approx(line.to_buy * line.price, abs=0.0051)
            assert round(line.total * 100) == pytest.approx(line.total * 100, abs=1e-6)
            cents += round(line.total * 100)
    assert bought.cost == cents / 100
    families = plan.families.named().values()
    money = sum(
        n * s.price for f in families for n, s in zip(f.counts(False), f.offered, strict=True) if s.price
    )
    boards = sum(x.total for x in bought.lines if x.unit in {"board", "post"} and x.total is not None)
    assert boards == pytest.approx(money, abs=0.02)
    assert money == pytest.approx(sum(float(f.plan.cost) for f in families))


@few(6)
@given(yard=yards(), style=ANY_STYLE)
def test_a_plan_keeps_what_it_claims(yard: Yard, style: str) -> None:
    """Heights, clearances, gaps, rails on their posts, posts in the ground, all against the ground itself."""
    plan = yard.plan(style)
    for run in plan.runs:
        line, cuts, slots = run.ground.profile.line, run.cuts, run.slots
        x = np.linspace(run.start, run.end, 400)
        before, after = run.top.sides(x)
        height = np.minimum(before, after) - line.elevation(np.clip(x, line.start, line.end))
        assert height.min() >= LEAST - 1e-6
        assert height.min() >= run.choice.least_height - 1e-6
        served = run.stock != NO_STOCK
        low = line.lowest(slots.left, slots.right)
        bottom = np.minimum(cuts.bottom_left, cuts.bottom_right)
        assert cuts.gap == pytest.approx(np.maximum(cuts.bottom_left, cuts.bottom_right) - low, abs=1e-6)
        assert np.all(bottom - line.highest(slots.left, slots.right) >= 2.0 - 1e-6)
        flagged = run.flags[PicketFlag.GAP]
        assert np.all((cuts.gap <= 3.0 + 1e-6) | flagged | ~served)
        bays, posts = run.layout.bays, run.posts
        rail = run.rails.length * np.cos(run.rails.angle)
        assert np.all(rail >= bays.width[run.rails.bay] - 1e-6), "a rail bears on half of both its posts"
        assert np.all(bays.width <= 96.0 + 1e-6)
        depth, above = posts.depth[posts.new], posts.above[posts.new]
        share = np.where(posts.eased[posts.new], 1 / 3 - 0.05, 1 / 3)
        assert np.all(depth >= np.maximum(24.0, above * share / (1 - share)) - 1e-6)
    own = {n: b for b in plan.families.posts.traced() for n in b.names}
    for run in plan.runs:
        for k in range(len(run.posts)):
            name = f"{run.run.name} post {k + 1}"
            if name in own:
                assert own[name].stock * MARK >= run.posts.total[k] - 1e-6


ONE_OF: dict[str, tuple[type, ...]] = {
    "number": (int,),
    "stock": (int, float, type(None)),
    "trim": (int, float, type(None)),
    "set_by": (str, type(None)),
    "hole_diameter": (int, float, type(None)),
    "width": (int, float, type(None)),
    "thickness": (int, float, type(None)),
    "rip": (int, float, type(None)),
    "flags": (list,),
    "kind": (str,),
    "standing": (bool,),
    "from_chart": (bool,),
    "shared_with": (str, type(None)),
    "string": (str, type(None)),
    "depth": (int, float, type(None)),
    "hole": (int, float, type(None)),
    "bay": (int,),
    "last_bay": (int,),
    "row": (int,),
    "action": (str,),
}
KEYS = {
    "pickets": {
        "number", "left", "right", "top_left", "top_right", "bottom_left", "bottom_right", "length", "stock",
        "trim", "rip", "gap", "height", "tallest", "flags", "chance_outside",
        "from_chart",
    },
    "gaps": {"start", "end", "deepest", "action", "fill_volume"},
    "posts": {"number", "station", "ground", "above_ground", "depth", "stock"},
    "rails": {"bay", "length", "stock"},
}  # fmt: skip


@few(6)
@given(yard=yards(), style=ANY_STYLE, metric=st.booleans())
def test_the_plan_for_machines_has_the_keys_and_kinds_promised(yard: Yard, style: str, metric: bool) -> None:
    plan = replace(yard, metric=metric).plan(style)
    found = as_json(plan)
    assert (found["format"], found["top"]) == ("fencegrade-plan/1", style)
    assert (found["units"], found["length_unit"]) == (("metric", "mm") if metric else ("imperial", "in"))
    assert [r["name"] for r in found["runs"]] == [r.run.name for r in plan.runs]
    for run in found["runs"]:
        for table, keys in KEYS.items():
            for row in run[table]:
                assert set(row) >= keys
                for key, value in row.items():
                    assert isinstance(value, ONE_OF.get(key, (int, float))), (table, key, value)
                    assert isinstance(value, bool) == (key in {"standing", "from_chart", "fits"})
        assert [p["number"] for p in run["pickets"]] == list(range(1, len(run["pickets"]) + 1))
        assert all(len(point) == 2 for point in run["top_line"])
    for table in ("stock", "cutting"):
        assert {"pickets", "posts", "rails"} <= set(found[table])
    for cut in found["cutting"].values():
        assert {"boards", "cost", "waste", "kept", "lower_bound", "proven"} <= set(cut)
        assert cut["lower_bound"] <= cut["cost"] + 1e-9
        assert isinstance(cut["proven"], bool)
    for name, stock in found["stock"].items():
        cut = found["cutting"][name]["boards"]
        for one in stock:
            assert {"length", "count", "price"} <= set(one)
            assert one["count"] == sum(b["count"] for b in cut if b["stock"] == one["length"])
    assert {"compacted", "loose", "unit"} <= set(found["soil"])
    assert {"cost", "cuts", "waste"} <= set(found["totals"])
    assert found["totals"]["cost"] == buying_list(plan).cost
    told = [(p["severity"], p["place"], p["message"]) for p in found["problems"]]
    assert len(told) == len(set(told)), "no problem is told twice"
    assert {p[0] for p in told} <= {"warning", "note"}


@few(5)
@given(yard=yards(), style=ANY_STYLE)
def test_metric_and_imperial_buy_the_same(yard: Yard, style: str) -> None:
    one, two = yard.plan(style), replace(yard, metric=True).plan(style)
    for name, family in one.families.named().items():
        other = two.families.named()[name]
        assert family.counts(False) == other.counts(False)
        assert np.abs(family.asked - other.asked).max(initial=0) <= 1
    assert buying_list(one).cost == buying_list(two).cost


ON_HAND_AND_IN_DOUBT = (
    (0.0, 84.0, 138.0, 212.0, 296.0, 379.0, 472.0),
    (0.0, 0.0, 10.5, 10.5, 17.25, 17.25, 26.5),
)
"""Ground over which boards on hand and boards in doubt want the same long ones."""


@few(6)
@given(ground=grounds())
@example(ground=ON_HAND_AND_IN_DOUBT)
def test_a_level_fence_walked_backwards_is_the_same_fence(
    ground: tuple[tuple[float, ...], tuple[float, ...]],
) -> None:
    """Which of several equal boards take those on hand goes by their numbers, and with it which of them stay
    a little longer: how many are cut to each length is the same.
    """
    stations, elevations = ground
    length = stations[-1]
    back = tuple(length - x for x in reversed(stations)), tuple(reversed(elevations))
    plans = [Yard(runs=(way,)).plan("level") for way in (ground, back)]
    one, two = (p.runs[0] for p in plans)
    assert sorted(one.cuts.kept_left.tolist()) == sorted(two.cuts.kept_right.tolist())
    assert buying_list(plans[0]).cost == buying_list(plans[1]).cost
    assert one.posts.station == pytest.approx(length - two.posts.station[::-1], abs=1e-4)
    assert one.posts.total == pytest.approx(two.posts.total[::-1], abs=1e-3)
    assert plans[0].stock.used.tolist() == plans[1].stock.used.tolist()
