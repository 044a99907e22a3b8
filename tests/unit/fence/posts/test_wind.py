from types import SimpleNamespace

import numpy as np
import pytest
from msgspec.structs import replace
from post_runs import checked_posts
from written import written

from fencegrade.fence.bays.bays import Bays, lay_bays
from fencegrade.fence.posts.posts import PostSchedule
from fencegrade.fence.posts.wind import (
    ADVICE,
    _findings,
    constrained_depth,
    lateral_bearing,
    required_depth,
    wind_depths,
    wind_screen,
)
from fencegrade.fence.posts.wind_load import wind_load
from fencegrade.fence.tops.level import level_top
from fencegrade.job.site import Site
from fencegrade.units import UnitSystem
from fencegrade.units.words import Words


def _six_foot_fence(make: SimpleNamespace, bays_of: int = 8, **post_keys: str) -> tuple[Bays, PostSchedule]:
    line = make.ground(96.0 * bays_of)
    posts = make.posts(**post_keys)
    bays, _ = lay_bays(make.run(), posts, make.rails("10 ft"), line, 0.0, 96.0 * bays_of)
    assert bays is not None
    schedule, _ = checked_posts(
        make.run(), bays, level_top(line, 0, 96.0 * bays_of, 72), line, posts, make.say
    )
    return bays, schedule


def test_the_habitual_post_does_not_pass_and_that_is_said(make: SimpleNamespace) -> None:
    bays, schedule = _six_foot_fence(make)
    heights = np.full(len(schedule), 72.0)
    site = written(Site, wind_speed="115 mph", soil="sand")
    screen, problems = wind_screen(make.run(), site, bays, schedule, heights, make.posts(), make.say)
    assert not screen.stands.any()
    assert not screen.holds[1:-1].any()
    texts = [p.found for p in problems]
    assert any("the habitual 4x4 in a 2 ft hole does not pass" in t for t in texts)
    assert all("engineer" in p.remedy for p in problems)
    assert any("half an inch of movement" in a and "official" in a for a in screen.assumptions)
    assert any("not checked against the document" in a for a in screen.assumptions)
    taken = " ".join(screen.assumptions)
    assert all(name in taken for name in ("0.00256", "26.10-1", "Kz 0.85", "Kzt 1", "Ke 1", "Kd 0.85"))


@pytest.mark.parametrize("site", [{"wind_speed": "45 m/s"}, {"wind_pressure": "0.6 kPa"}])
def test_a_metric_job_is_told_in_metric_units(make: SimpleNamespace, site: dict[str, str]) -> None:
    bays, schedule = _six_foot_fence(make)
    heights = np.full(len(schedule), 72.0)
    say = Words(system=UnitSystem.METRIC, mark=1 / 25.4)
    asked = written(Site, **site, soil="sand")
    screen, problems = wind_screen(make.run(), asked, bays, schedule, heights, make.posts(), say)
    told = " ".join([*screen.assumptions, *(p.found for p in problems)])
    assert next(iter(site.values())) in told.replace("0.600", "0.6").replace("45.0", "45")
    assert "23.6 kPa a metre of depth" in told  # 150 psf a foot is 7.182 kPa over 0.3048 m
    moment, allowed = (round(float(m) * 1.3558179) for m in (screen.moment.max(), screen.allowed[0]))
    assert f"{moment:,} N m against {allowed:,} N m" in told
    if site.get("wind_speed"):
        assert "q = 0.613 Kz Kzt Kd Ke V^2 in Pa, m/s" in told  # the SI form of the equation
    for unit in ("mph", "psf", "psi", "ft lbf"):
        assert f" {unit}" not in told


def test_end_posts_carry_half(make: SimpleNamespace) -> None:
    bays, schedule = _six_foot_fence(make)
    site = written(Site, wind_pressure="10 psf")
    screen, _ = wind_screen(make.run(), site, bays, schedule, np.full(9, 72.0), make.posts(), make.say)
    assert screen.load.pressure == 10
    assert screen.load.force == pytest.approx([240, *[480] * 7, 240])
    assert screen.moment == pytest.approx(screen.load.force * 3.3)
    assert any("the pressure given has to count them" in a for a in screen.assumptions)


def test_posts_that_stand_are_not_judged_by_a_depth_nobody_gave(make: SimpleNamespace) -> None:
    line, run, posts = make.ground(192), make.run(existing_post=[{"station": "96 in"}]), make.posts()
    bays, _ = lay_bays(run, posts, make.rails("10 ft"), line, 0.0, 192.0)
    assert bays is not None
    schedule, _ = checked_posts(run, bays, level_top(line, 0, 192, 72), line, posts, make.say)
    site = written(Site, wind_speed="115 mph")
    screen, _ = wind_screen(run, site, bays, schedule, np.full(3, 72.0), posts, make.say)
    assert screen.fails.tolist() == screen.judged.tolist() == [True, False, True]
    assert np.isnan(screen.allowed).tolist() == [False, True, False]
    up = replace(bays, standing=np.ones(3, dtype=bool))
    schedule, _ = checked_posts(run, up, level_top(line, 0, 192, 72), line, posts, make.say)
    set_since, told = wind_screen(run, site, up, schedule, np.full(3, 72.0), posts, make.say)
    assert set_since.fails.tolist() == set_since.judged.tolist() == [True, False, True]
    assert any(p.found.startswith("2 of 2 posts do not pass the soil screen") for p in told)


def test_a_gentle_wind_passes(make: SimpleNamespace) -> None:
    bays, schedule = _six_foot_fence(make, least_depth="48 in")
    site = written(Site, wind_pressure="0.5 psf", soil="gravel")
    screen, problems = wind_screen(make.run(), site, bays, schedule, np.full(9, 72.0), make.posts(), make.say)
    assert screen.stands.all()
    assert screen.holds.all()
    assert not problems


def test_without_wind_nothing_is_asked(make: SimpleNamespace) -> None:
    bays, _ = _six_foot_fence(make)
    assert wind_load(Site(), bays, np.full(9, 72.0)).pressure == 0
    assert wind_depths(Site(), bays, np.full(9, 72.0), make.posts(), 0.125) == pytest.approx(np.zeros(9))


def test_twice_the_table_only_where_the_job_says_so() -> None:
    assert lateral_bearing(written(Site, soil="sand")) == 150
    assert lateral_bearing(written(Site, soil="sand", isolated_poles=True)) == 300
    assert lateral_bearing(written(Site, lateral_bearing="120 psf")) == 120


def test_depth_solves_its_own_equation_past_the_cap() -> None:
    deep = required_depth(3e6, 60, 6, 200)
    a = 2.34 * 3e6 / (200 * 12 / 3 * 6)
    assert deep > 36
    assert deep == pytest.approx(0.5 * a * (1 + (1 + 4.36 * 60 / a) ** 0.5))
    assert required_depth(0, 3, 1, 100) == 0
    with pytest.raises(ValueError, match="over zero"):
        required_depth(100, 3, 0, 100)


def test_constrained_depth_past_the_cap() -> None:
    deep = constrained_depth(1e6, 10, 1, 100)
    assert deep == pytest.approx((4.25 * 1e6 * 10 / (100 * 12)) ** 0.5)
    assert deep > 12


def test_the_post_that_needs_the_deepest_hole_is_named(make: SimpleNamespace) -> None:
    """The eighth post stands a foot taller: it alone takes more than the others."""
    bays, schedule = _six_foot_fence(make)
    heights = np.full(9, 72.0)
    heights[7] = 84.0
    site = written(Site, wind_speed="115 mph", soil="sand")
    screen, problems = wind_screen(make.run(), site, bays, schedule, heights, make.posts(), make.say)
    deepest = make.say.fine(float(screen.depth[7]))
    assert screen.depth[7] > np.delete(screen.depth, 7).max()
    assert problems[0].found == (
        f"9 of 9 posts do not pass the soil screen: up to {deepest} is asked for, at post 8"
    )


def test_the_ends_of_a_run_take_more(make: SimpleNamespace) -> None:
    """By hand, 78 ft and 6 ft high, B/s = 13: Cf x 0.8 of case C 3.2, 2.08, 1.6, 1.2 over 6 ft each.

    The first post carries 0 to 4 ft, the second 4 to 12 (2 of the first zone, 6 of the second), the third 12
    to 20 (6 of the third, 2 of the fourth).
    """
    bays, schedule = _six_foot_fence(make)
    bays = replace(bays, posts=np.array([0.0, 8, 16, 24, 39, 54, 62, 70, 78]) * 12)
    site = written(Site, wind_speed="115 mph", soil="sand")
    heights = np.full(9, 72.0)
    screen, _ = wind_screen(make.run(), site, bays, schedule, heights, make.posts(), make.say)
    load = screen.load
    hand = [3.2, (2 * 3.2 + 6 * 2.08) / 8, (6 * 1.6 + 2 * 1.2) / 8]
    assert load.coefficient[:3] == pytest.approx(hand)
    assert load.coefficient == pytest.approx(load.coefficient[::-1])
    assert [load.case(k) for k in range(9)] == ["C"] * 3 + ["A and B"] * 3 + ["C"] * 3
    assert load.coefficient[4] == pytest.approx(1.30)
    assert load.velocity_pressure == pytest.approx(24.46, abs=0.005)
    assert load.force[0] == pytest.approx(0.6 * 24.461 * 0.85 * 3.2 * 4 * 6, rel=1e-4)
    assert any("governs posts 1-3, 7-9, cases A and B posts 4-6" in a for a in screen.assumptions)


def test_a_run_shorter_than_twice_its_height_has_no_end_zones(make: SimpleNamespace) -> None:
    bays, _ = _six_foot_fence(make, 1)
    load = wind_load(written(Site, wind_speed="115 mph"), bays, np.full(2, 72.0))
    assert not load.ends.any()


@pytest.mark.parametrize(
    ("wood", "named", "doubted"),
    [
        ("treated for ground contact", "southern pine No. 2, 5x5", False),
        ("redwood or cedar", "western cedars No. 2", False),
        ("untreated softwood", "may be too high for another wood", True),
    ],
)
def test_the_bending_value_is_of_the_wood_named(
    make: SimpleNamespace, wood: str, named: str, doubted: bool
) -> None:
    keys = {"width": "5-1/2 in", "wood": wood}
    bays, schedule = _six_foot_fence(make, 8, **keys)
    site, posts = written(Site, wind_speed="115 mph", soil="sand"), make.posts(**keys)
    screen, found = wind_screen(make.run(), site, bays, schedule, np.full(9, 72.0), posts, make.say)
    assert named in " ".join(screen.assumptions)
    assert any("southern pine's figure" in p.found for p in found) is doubted
    assert ("pine" in " ".join(screen.assumptions)) is (wood != "redwood or cedar")


def test_depths_asked_go_up_to_the_mark(make: SimpleNamespace) -> None:
    bays, _ = _six_foot_fence(make)
    site, heights = written(Site, wind_speed="115 mph"), np.full(9, 72.0)
    exact, marks = (wind_depths(site, bays, heights, make.posts(), mark) for mark in (1e-6, 0.25))
    assert ((marks >= exact) & (marks < exact + 0.25)).all()
    assert marks * 4 == pytest.approx(np.round(marks * 4))


@pytest.mark.parametrize("paved", [False, True])
def test_a_pressure_given_by_hand(make: SimpleNamespace, paved: bool) -> None:
    """20 psf on bays of 8 ft, 6 ft high and 7 at one post; a gate hangs on stouter posts."""
    keys = {"gate_width": "5-1/2 in", "gate_hole_diameter": "16 in"}
    run = make.run(gate=[{"station": "194.75 in", "width": "90.5 in"}])
    posts, line = make.posts(**keys), make.ground(384.0)
    bays, _ = lay_bays(run, posts, make.rails("10 ft"), line, 0.0, 384.0)
    assert bays is not None
    assert bays.posts.tolist() == [0, 96, 192, 288, 384]
    schedule, _ = checked_posts(run, bays, level_top(line, 0, 384.0, 72), line, posts, make.say)
    heights = np.array([72.0, 72.0, 72.0, 84.0, 72.0])
    site = written(Site, wind_pressure="20 psf", lateral_bearing="120 psf", paved=paved, isolated_poles=True)
    screen, told = wind_screen(run, site, bays, schedule, heights, posts, make.say)
    assert screen.load.force == pytest.approx([480, 960, 960, 1120, 480])
    arms = 0.55 * heights / 12
    assert screen.moment == pytest.approx(screen.load.force * arms)
    depth = constrained_depth if paved else required_depth
    holes = [10, 10, 16, 16, 10]
    asked = [
        12 * depth(force, arm, hole / 12, 240.0)
        for force, arm, hole in zip(screen.load.force, arms, holes, strict=True)
    ]
    assert screen.depth == pytest.approx(np.ceil(np.array(asked) * 8) / 8)
    # section modulus b d^2 / 6 times the bending value and 1.6 for wind, in foot-pounds
    assert screen.allowed == pytest.approx(
        [3.5**3 / 6 * 1100 * 1.6 / 12] * 2
        + [5.5**3 / 6 * 850 * 1.6 / 12] * 2
        + [3.5**3 / 6 * 1100 * 1.6 / 12]
    )
    assert not screen.holds.any()
    bends = f"{screen.moment[3]:,.0f} ft lbf against 1,048 ft lbf"
    deepest, all_deep = (
        make.say.length(float(screen.depth[~screen.stands].max())),
        make.say.length(float(screen.depth.max())),
    )
    worst = int(np.argmax(np.where(screen.stands, 0, screen.depth))) + 1
    weakest = int(np.argmax(screen.moment - screen.allowed))
    against = f"{screen.moment[weakest]:,.0f} ft lbf against {screen.allowed[weakest]:,.0f} ft lbf"
    advice = "a screen, not a design; local code and a licensed engineer decide"
    assert [str(p) for p in told] == [
        f"herb garden, posts: 5 of 5 posts do not pass the soil screen: up to {deepest} is asked for, at "
        f"post {worst}; dig deeper or wider, set posts closer, or build lower; {advice}",
        f"herb garden, posts: 5 of 5 posts do not pass in bending: up to {against}; take larger posts or set "
        f"them closer; {advice}",
        "herb garden, posts: the habitual 4x4 in a 2 ft hole does not pass this wind: it needs "
        f"{all_deep} and bends under {bends}; {advice}",
    ]
    said = " ".join(screen.assumptions)
    assert ("posts held at the ground by rigid paving" in said) is paved
    assert ("posts not held at the surface" in said) is not paved
    assert "soil 240 psf a foot of depth as given" in said
    assert [a.split(" (")[0] for a in screen.assumptions if a.startswith("timber")] == [
        "timber southern pine No. 2, 2 to 4 in thick and wide, 1100 psi",
        "timber southern pine No. 2, 5x5 and larger, 850 psi",
    ]


def test_a_wide_footing_past_the_depth_that_counts_by_hand() -> None:
    """d^2 = 4.25 P h / (12 S b): 4.25 x 3e5 x 10 / (100 x 12 x 2) is 5312.5, and at 12 ft d^3 itself."""
    assert constrained_depth(3e5, 10, 2, 100) == pytest.approx(5312.5**0.5)
    assert constrained_depth(1728 * 200 / 42.5, 10, 2, 100) == pytest.approx(12)
    assert required_depth(100, 0, 0.5, 0.5) > 0


def test_no_wind_and_no_end_zones_in_words(make: SimpleNamespace) -> None:
    bays, schedule = _six_foot_fence(make, 1)
    for site, said in (
        (Site(), "no wind is given"),
        (
            written(Site, wind_speed="115 mph"),
            "cases A and B of that figure govern every post, case C (ends of a run) none",
        ),
    ):
        screen, _ = wind_screen(make.run(), site, bays, schedule, np.full(2, 72.0), make.posts(), make.say)
        assert said in screen.assumptions
        assert "air through gaps between pickets is not counted" in screen.assumptions


def test_the_worst_of_the_posts_that_fail_are_named(make: SimpleNamespace) -> None:
    """The first post would ask for the deepest hole, and stands; the last but one bends farthest past."""
    bays, schedule = _six_foot_fence(make, 3)
    site = written(Site, wind_speed="115 mph", soil="sand")
    screen, _ = wind_screen(make.run(), site, bays, schedule, np.full(4, 72.0), make.posts(), make.say)
    screen = replace(
        screen,
        stands=np.array([True, False, False, True]),
        holds=np.array([True, True, False, True]),
        depth=np.array([60.0, 40.0, 44.0, 50.0]),
        moment=np.array([1080.0, 600, 960, 120]),
        allowed=np.array([1200.0, 720, 840, 720]),
    )
    assert [f"{p.severity}, {p}" for p in _findings(make.run(), screen, make.posts(), make.say)] == [
        "warning, herb garden, posts: 2 of 4 posts do not pass the soil screen: up to 44 in is asked for, at "
        f"post 3; dig deeper or wider, set posts closer, or build lower; {ADVICE}",
        "warning, herb garden, posts: 1 of 4 posts does not pass in bending: up to 960 ft lbf against 840 ft "
        f"lbf; take larger posts or set them closer; {ADVICE}",
        "note, herb garden, posts: the habitual 4x4 in a 2 ft hole does not pass this wind: it needs 60 in "
        f"and bends under 1,080 ft lbf against 1,048 ft lbf; {ADVICE}",
    ]
    gentle = replace(
        screen,
        stands=np.ones(4, dtype=bool),
        holds=np.ones(4, dtype=bool),
        depth=np.array([24.0, 20, 24, 20]),
        moment=np.array([1048.0, 600, 960, 120]),
    )
    assert _findings(make.run(), gentle, make.posts(), make.say) == []
