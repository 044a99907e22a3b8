"""Grounds, bays, gates and slots before any top is chosen; and how the surveys of joined runs must agree."""

from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from small_job import mistakes_of

from fencegrade.fence.bays.given_posts import PostKind
from fencegrade.fence.tops.line import TopLine
from fencegrade.fence.tops.table import TopStyle
from fencegrade.ground.profile import ground_line
from fencegrade.job.read import Job
from fencegrade.planning.layout import (
    RunLayout,
    _too_many,
    lay_out,
    rails_reach,
    read_and_survey,
    steeper,
    survey_grounds,
)
from fencegrade.problems import JobMistakesError

WriteJob = Callable[..., Job]

FLAT = "station [ft],elevation [in]\n0,0\n8,0\n16,0\n24,0\n"
GATE_STOCK = '[[posts.gate_stock]]\nlength = "10 ft"\n'
SLOPE = "station [ft],elevation [in]\n0,0\n8,24\n16,48\n24,72\n"


def laid(job: Job, style: TopStyle = TopStyle.LEVEL, tops: tuple[TopLine, ...] = ()) -> tuple[RunLayout, ...]:
    grounds, _ = survey_grounds(job)
    return lay_out(job, grounds, [style] * len(job.runs), tops)[0]


def refused(job: Job) -> list[str]:
    return mistakes_of(survey_grounds, job)


def test_pickets_fill_from_gate_to_gate_and_posts_stand_beside_openings(write_job: WriteJob) -> None:
    (one,) = laid(write_job(lane=(FLAT, '[[run.gate]]\nstation = "8 ft"\nwidth = "4 ft"')))
    assert (one.start, one.end) == (0.0, 288.0)
    assert {96.0, 288.0} <= set(one.slots.right.tolist())
    assert {0.0, 144.0} <= set(one.slots.left.tolist())
    assert {96 - 1.75, 144 + 1.75} <= set(one.bays.posts.tolist())
    assert len(one.gates) == 1


def test_stepped_slots_start_afresh_at_each_post(write_job: WriteJob) -> None:
    level, stepped = (laid(write_job(lane=FLAT), s)[0] for s in (TopStyle.LEVEL, TopStyle.STEPPED))
    over = [((s.slots.left < x) & (s.slots.right > x)).any() for s in (level, stepped) for x in (96.0, 192.0)]
    assert over[2:] == [False, False]
    assert any(over[:2])
    assert len(stepped.slots) == 3 * 17  # (96 + 1/4) / 5-3/4 = 16.7 pickets a bay


@pytest.mark.parametrize("pattern", ["board on board", "shadowbox"])
@pytest.mark.parametrize("style", [TopStyle.LEVEL, TopStyle.STEPPED])
def test_two_rows_alternate_along_the_run(write_job: WriteJob, pattern: str, style: TopStyle) -> None:
    (one,) = laid(write_job(pickets=f'pattern = "{pattern}"\nspacing = "2 in"', lane=FLAT), style)
    assert np.all(np.diff(one.slots.left) >= 0)
    assert set(one.row.tolist()) == {0, 1}
    bays = 3 if style is TopStyle.STEPPED else 1
    assert (one.row == 0).sum() == (one.row == 1).sum() + bays


def test_level_rails_ignore_the_slope_and_sloping_ones_do_not(write_job: WriteJob) -> None:
    job = write_job(lane=SLOPE)  # 24 in in 8 ft: an 8 ft rail does not reach 8 ft centres along the slope
    level, sloped = (laid(job, s)[0].bays for s in (TopStyle.LEVEL, TopStyle.SLOPED))
    assert level.slope == pytest.approx(np.zeros(3))
    assert np.abs(sloped.slope) == pytest.approx(np.full(len(sloped), 0.25))
    assert np.all(sloped.rail <= sloped.reach + 1e-6)


def test_bays_laid_for_a_steeper_top_reach(write_job: WriteJob) -> None:
    job = write_job('[[rails.stock]]\nlength = "8 ft"\n', lane=FLAT)
    steep = TopLine(style=TopStyle.SLOPED, stations=np.array([0.0, 288]), elevations=np.array([72.0, 360]))
    (first,) = laid(job, TopStyle.SLOPED)
    assert not rails_reach(first, steep)
    (again,) = laid(job, TopStyle.SLOPED, (steep,))
    assert rails_reach(again, steep)
    assert len(again.bays) > len(first.bays)


class TestTapedAlongTheSlope:
    """24 ft taped up a slope of 3 : 4 is 19.2 ft level; every station of the job file follows."""

    SURVEY = "station [ft],elevation [in]\n0,0\n6,43.2\n12,86.4\n18,129.6\n24,172.8\n"

    def test_everything_on_the_run_is_levelled(self, write_job: WriteJob) -> None:
        keys = (
            'stations_taped = "along the slope"\n'
            '[[run.gate]]\nstation = "12 ft"\nwidth = "4 ft"\n'
            '[[run.root]]\nstart = "5 ft"\nend = "10 ft"\n'
        )
        (one,) = laid(write_job(lane=(self.SURVEY, keys)), TopStyle.RACKED)
        assert one.end == pytest.approx(288 * 0.8)
        assert one.run.gate[0].station == pytest.approx(144 * 0.8)
        assert one.run.root[0].end == pytest.approx(120 * 0.8)

    def test_posts_that_stand_are_levelled(self, write_job: WriteJob) -> None:
        job = write_job(
            '[posts]\nfixed = ["10 ft", "20 ft"]', lane=(self.SURVEY, 'stations_taped = "along the slope"')
        )
        (one,) = laid(job, TopStyle.RACKED)
        assert one.bays.posts[one.bays.standing] == pytest.approx([96.0, 192.0])

    def test_a_post_in_no_run_is_refused_by_its_place_in_the_job_file(self, write_job: WriteJob) -> None:
        posts, level = '[posts]\nfixed = ["4 ft", "80 ft"]', "station [ft],elevation [in]\n0,0\n8,0\n20,0\n"
        with pytest.raises(JobMistakesError) as caught:
            laid(write_job(posts, lane=level, yard=level.replace("20", "30")), TopStyle.LEVEL)
        assert [str(p) for p in caught.value.problems] == [
            'job.toml [posts] fixed 2: the post at 80\' 0" stands outside every run; the longest is 0" to '
            "30' 0\"; correct its station, or let the run reach it"
        ]

    def test_level_stations_stay(self, write_job: WriteJob) -> None:
        job = write_job('[posts]\nfixed = ["10 ft", "20 ft"]', lane=(self.SURVEY, 'stations_taped = "level"'))
        (one,) = laid(job, TopStyle.RACKED)
        assert one.bays.posts[one.bays.standing] == pytest.approx([120.0, 240.0])


class TestJoinedCorners:
    """The far end of one run and the start of the next are one stake."""

    WEST = "station [ft],elevation [in]\n0,0\n8,3\n16,8\n"

    @staticmethod
    def north(first: float) -> str:
        return f"station [ft],elevation [in]\n0,{first}\n8,5\n16,2\n"

    @pytest.mark.parametrize("first", [8.0, 8.25, 7.75])
    def test_a_quarter_inch_is_allowed(self, write_job: WriteJob, first: float) -> None:
        grounds, _ = survey_grounds(write_job(west=self.WEST, north=(self.north(first), 'join = "west"')))
        assert len(grounds) == 2

    @pytest.mark.parametrize(("first", "apart"), [(8.3125, "5/16 in"), (7.5, "1/2 in"), (20.0, "12 in")])
    def test_more_is_refused_with_both_values(self, write_job: WriteJob, first: float, apart: str) -> None:
        (words,) = refused(write_job(west=self.WEST, north=(self.north(first), 'join = "west"')))
        start, told = words.split(': the ground at the stake shared with "west" is 8 in by west.csv and ')
        assert start == "job.toml run 2, join"
        value = {8.3125: "8-5/16 in", 7.5: "7-1/2 in", 20.0: "20 in"}[first]
        assert told == (
            f"{value} by north.csv: {apart} apart, 1/4 in allowed; carry one datum through the stake "
            "(height in [[run.string]], or one benchmark), or read it again"
        )

    def test_a_run_read_from_its_other_end_is_asked_about(self, write_job: WriteJob) -> None:
        """West ends at 8 in, where north's last reading lies: that is asked first."""
        north = "station [ft],elevation [in]\n0,2\n8,5\n16,8.25\n"
        (words,) = refused(write_job(west=self.WEST, north=(north, 'join = "west"')))
        asked = (
            "its far end lies at 8-1/4 in: if north.csv was read from the other end, count its stations from "
            "the shared stake (16' 0\" less each); else carry one datum through the stake (height in "
            "[[run.string]], or one benchmark), or read it again"
        )
        assert words.endswith(f"6 in apart, 1/4 in allowed; {asked}")
        (words,) = refused(write_job(west=north, north=(self.north(2.25), 'join = "west"')))
        assert words.endswith(
            '6 in apart, 1/4 in allowed; the start of "west" lies at 2 in: if west.csv was read from the '
            "other end, count its stations from its other end (16' 0\" less each); else "
            + asked.split("else ")[1]
        )
        past = north.replace("8.25", "8.3125")
        assert asked[:20] not in refused(write_job(west=self.WEST, north=(past, 'join = "west"')))[0]

    @pytest.mark.parametrize("held", ["", '[[run.string]]\nheight = "3 in"'])
    def test_a_string_at_another_height_is_told_the_height_that_ties_it(
        self, write_job: WriteJob, held: str
    ) -> None:
        west = "station [ft],drop [in]\n0,20\n8,26\n16,30\n"
        north = "station [ft],drop [in]\n0,14\n8,15.5\n16,12\n"
        (words,) = refused(write_job(west=west, north=(north, f'join = "west"\n{held}')))
        assert words.endswith('at another height: height = "-16 in" in its [[run.string]]')
        tied = 'join = "west"\n[[run.string]]\nheight = "-16 in"'
        assert len(survey_grounds(write_job(west=west, north=(north, tied)))[0]) == 2

    def test_what_looks_like_a_slip_is_to_be_seen_to_before_the_stake(self, write_job: WriteJob) -> None:
        """Drops in feet under inches: no height of a string is offered that they would give."""
        west = "station [ft],drop [in]\n0,30\n4,31\n8,33\n12,32\n16,31\n"
        north = "station [ft],drop [in]\n0,2.58\n4,2.65\n8,2.8\n12,2.71\n16,2.5\n"
        (words,) = refused(write_job(west=west, north=(north, 'join = "west"')))
        assert words.endswith(
            "apart, 1/4 in allowed; first see to north.csv: the drops, 2-1/2 in to 2-13/16 in, look like "
            "decimal feet under a heading in inches; if that is right, carry one datum through the stake "
            "(height in [[run.string]], or one benchmark), or read it again"
        )

    def test_a_run_that_ends_at_a_wall_meets_the_next_before_it(self, write_job: WriteJob) -> None:
        wall = "station [ft],elevation [in],side\n0,0,\n8,3,\n16,8,before\n16,-20,after\n24,-20,\n"
        west = (wall, 'end = "16 ft"')
        grounds, _ = survey_grounds(write_job(west=west, north=(self.north(8.0), 'join = "west"')))
        assert len(grounds) == 2
        (words,) = refused(write_job(west=west, north=(self.north(-20.0), 'join = "west"')))
        assert "28 in apart" in words

    @pytest.mark.parametrize(("first", "sound"), [(206.0, True), (206.1, False)])
    def test_six_millimetres_is_allowed(self, write_job: WriteJob, first: float, sound: bool) -> None:
        west = "station [m],elevation [mm]\n0,0\n5,200\n"
        north = f"station [m],elevation [mm]\n0,{first}\n5,0\n"
        job = write_job(
            units="metric",
            stock='[[pickets.stock]]\nlength = "2.1 m"\n',
            west=west,
            north=(north, 'join = "west"'),
        )
        if sound:
            survey_grounds(job)
        else:
            assert "6 mm allowed" in refused(job)[0]

    def test_the_ends_of_the_fence_count_not_of_the_survey(self, write_job: WriteJob) -> None:
        job = write_job(west=(self.WEST, 'end = "8 ft"'), north=(self.north(3.0), 'join = "west"'))
        assert len(survey_grounds(job)[0]) == 2

    def test_runs_without_a_join_need_not_agree(self, write_job: WriteJob) -> None:
        assert len(survey_grounds(write_job(west=self.WEST, north=self.north(40.0)))[0]) == 2

    def test_a_closed_yard_is_checked_at_every_corner(self, write_job: WriteJob) -> None:
        job = write_job(
            west=(self.WEST, 'join = "north"'),
            north=(self.north(8.0), 'join = "west"'),
        )
        (words,) = refused(job)
        assert words.startswith(
            'job.toml run 1, join: the ground at the stake shared with "north" is 2 in by'
        )

    def test_a_run_whose_survey_fails_is_not_reported_twice(
        self, write_job: WriteJob, tmp_path: Path
    ) -> None:
        write_job(west=self.WEST, north=(self.north(30.0), 'join = "west"'))
        (tmp_path / "west.csv").write_text("station [ft],elevation [in]\n0,0\n")
        with pytest.raises(JobMistakesError) as caught:
            read_and_survey(tmp_path)
        assert [p.place for p in caught.value.problems] == ["west.csv"]


@pytest.mark.parametrize("wide", [1.75, 5.5])
@pytest.mark.parametrize("hangs", ["west", "north", "east"])
def test_a_corner_post_that_hangs_a_gate_is_as_wide_in_every_run(
    write_job: WriteJob, hangs: str, wide: float
) -> None:
    """Three runs meet at it. A rail covers all of it, as of any post it ends on: half more than its bay, and
    half of the line post at its other end is within the bay."""
    posts = (
        f'[posts]\nwidth = "3-1/2 in"\ngate_width = "{wide} in"\ngate_hole_diameter = "14 in"\n{GATE_STOCK}'
    )
    opening = '[[run.gate]]\nstation = "{} in"\nwidth = "4 ft"\n'
    at = {"west": 288 - wide / 2 - 48, "north": wide / 2, "east": wide / 2}
    keys = {name: opening.format(at[name]) if name == hangs else "" for name in at}
    joins = {"west": "", "north": 'join = "west"\n', "east": 'join = "west"\n'}
    runs = {name: (FLAT, joins[name] + keys[name]) for name in at}
    laid_runs = dict(zip(at, laid(write_job(posts, **runs)), strict=True))
    for name, run in laid_runs.items():
        post, bay = (-1, -1) if name == "west" else (0, 0)
        assert run.bays.kinds[post] is PostKind.GATE
        assert run.bays.sizes[post] == max(wide, 3.5)
        if name != hangs:
            assert run.bays.rail[bay] - run.bays.width[bay] == pytest.approx(max(wide, 3.5) / 2)


def test_rails_to_a_wider_corner_post_still_reach(write_job: WriteJob) -> None:
    """Boards of 97-3/4 in reach over 8 ft and half of an end post, 1-3/4 in, not half of one of 5-1/2 in."""
    tables = f'[posts]\ngate_width = "5-1/2 in"\n{GATE_STOCK}[[rails.stock]]\nlength = "97-3/4 in"\n'
    gate = '[[run.gate]]\nstation = "2-3/4 in"\nwidth = "4 ft"\n'
    alone, hung = (
        laid(write_job(tables, west=FLAT, north=(FLAT, f'join = "west"\n{keys}')))[0].bays
        for keys in ("", gate)
    )
    assert (len(alone), len(hung)) == (3, 4)
    assert np.all(hung.taken <= hung.reach + 1e-6)


@pytest.mark.parametrize(
    ("join", "expected"),
    [
        ("north", '"north" joins itself; name the run at whose far end it starts, or take join out'),
        ("weast", 'there is no run "weast" to join; write one of "west"'),
    ],
)
def test_a_join_that_leads_nowhere(write_job: WriteJob, join: str, expected: str) -> None:
    with pytest.raises(JobMistakesError) as caught:
        write_job(west=FLAT, north=(FLAT, f'join = "{join}"'))
    assert [str(p) for p in caught.value.problems] == [f"job.toml run 2, join: {expected}"]


def test_a_join_to_a_broken_run_is_not_called_unknown(write_job: WriteJob) -> None:
    with pytest.raises(JobMistakesError) as caught:
        write_job(west=(FLAT, 'start = "x"'), north=(FLAT, 'join = "west"'))
    assert [p.place for p in caught.value.problems] == ["job.toml run 1, start"]


def test_mistakes_of_the_bays_of_every_run_come_together(write_job: WriteJob) -> None:
    keys = '[[run.no_post]]\nstart = "2 ft"\nend = "22 ft"'
    job = write_job(west=(FLAT, keys), north=(FLAT, keys))
    grounds, _ = survey_grounds(job)
    with pytest.raises(JobMistakesError) as caught:
        lay_out(job, grounds, [TopStyle.LEVEL] * len(job.runs))
    assert [p.place.split(",")[0] for p in caught.value.problems] == ["west", "north"]


@pytest.mark.parametrize(
    ("a", "b", "slope"),
    [
        (0.0, 100.0, 0.5),  # the ground's
        (100.0, 200.0, 0.3),  # the top's, which falls
        (200.0, 300.0, 0.2),  # the top's behind its step, over ground that falls by less
        (100.0, 300.0, 0.25),
    ],
)
def test_the_steeper_of_ground_and_top(a: float, b: float, slope: float) -> None:
    """The ground rises by 50 in, drops by 40 at a face at 100 in, falls by 10 and again by 10."""
    line = ground_line([0, 100, 100, 200, 300], [0, 50, 10, 0, -10])
    top = TopLine(
        style=TopStyle.RACKED,
        stations=np.array([0.0, 100.0, 200.0, 200.0, 300.0]),
        elevations=np.array([100.0, 100.0, 70.0, 30.0, 50.0]),
    )
    ground: Any = SimpleNamespace(line=line)
    assert steeper(ground, top)(np.array([a]), np.array([b])) == pytest.approx([slope])


@pytest.mark.parametrize(
    ("length", "told"),
    [
        (9_000_000.0, []),
        (
            9_000_006.0,
            [
                "job.toml [pickets]: 750000' 6\" of fence would have about 1,500,001 pickets; the most is "
                "1,500,000; check the stations' units and the widths and spacings, or divide the job"
            ],
        ),
    ],
)
def test_more_pickets_than_anybody_builds(write_job: WriteJob, length: float, told: list[str]) -> None:
    job = write_job(pickets='width = "5-1/2 in"\nspacing = "1/2 in"', lane=FLAT)
    halves: Any = [SimpleNamespace(start=0.0, end=9.0), SimpleNamespace(start=9.0, end=length)]
    assert [str(p) for p in _too_many(job, halves, job.words)] == told
