"""`built.toml`: every key read, written and read again the same, and every mistake named."""

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from small_job import mistakes_of

from fencegrade.fence.tops.table import TopStyle
from fencegrade.job.as_built import (
    AsBuilt,
    BoardsLeft,
    BuiltRun,
    CutAlike,
    LeftOut,
    MeasuredGround,
    PicketUp,
    PostSet,
    TopPoint,
    built_text,
    parse_as_built,
    read_as_built,
)
from fencegrade.job.explain import nearest_of
from fencegrade.job.fields import MOST_TALL
from fencegrade.units import UnitSystem

WHOLE = """
[[run]]
name = "lane side"
style = "level"
limit = "1/16 in"
[[run.top]]
station = "0 ft"
elevation = "38-1/2 in"
[[run.picket]]
number = 20
far_edge = "9 ft 7 in"
lean = ["3/8 in", "4 ft"]
[[run.picket]]
number = 12
far_edge = "1.75 m"
width = "5-9/16 in"
kept = "71-1/4 in"
gap = "7/32 in"
[[run.post]]
number = 2
station = "8 ft"
top = "66 in"
[[run.measured]]
number = 57
drop = ["31-1/4 in", "31-3/4 in"]
[[run.measured]]
number = 58
drop = "32 in"
[[run.later]]
first = 3
last = 7
[[left]]
length = "6 ft"
count = 14
"""


def faults(text: str) -> list[str]:
    return mistakes_of(parse_as_built, text)


def test_every_key_is_read(tmp_path: Path) -> None:
    (tmp_path / "built.toml").write_text(WHOLE)
    built = read_as_built(tmp_path / "built.toml")
    run = built.of("lane side")
    assert [p.number for p in run.picket] == [12, 20]
    first, last = run.picket
    assert (first.width, first.kept, first.gap) == (5.5625, 71.25, 0.21875)
    assert first.far_edge == pytest.approx(1750 / 25.4)
    assert (last.far_edge, last.lean) == (115.0, (0.375, 48.0))
    assert (run.post[0].station, run.post[0].top) == (96.0, 66.0)
    assert [m.drop for m in run.measured] == [(31.25, 31.75), (32.0,)]
    assert (run.later[0].first, run.later[0].last) == (3, 7)
    assert (run.style, run.limit, run.top[0].elevation) == (TopStyle.LEVEL, 0.0625, 38.5)
    assert built.left == (BoardsLeft(length=72.0, count=14, place="built.toml left 1"),)
    assert built.of("another").picket == ()


lengths = st.floats(0.1, 5000)
heights = st.floats(0.1, MOST_TALL)
numbers = st.integers(1, 500)


def maybe(values: st.SearchStrategy[float]) -> st.SearchStrategy[float | None]:
    return st.none() | values


def ascending(rows: st.SearchStrategy[Any]) -> st.SearchStrategy[tuple[Any, ...]]:
    return st.lists(rows, max_size=4, unique_by=lambda r: r.number).map(
        lambda found: tuple(sorted(found, key=lambda r: r.number))
    )


records = st.builds(
    AsBuilt,
    run=st.lists(
        st.builds(
            BuiltRun,
            name=st.sampled_from(["lane side", 'the "old" wall', "Süd"]),
            picket=ascending(
                st.builds(
                    PicketUp,
                    number=numbers,
                    far_edge=lengths,
                    width=maybe(lengths),
                    kept=maybe(lengths),
                    gap=maybe(lengths),
                    lean=st.none() | st.tuples(st.floats(-3, 3), lengths),
                )
            ),
            post=ascending(st.builds(PostSet, number=numbers, station=lengths, top=maybe(heights))),
            measured=ascending(
                st.builds(
                    MeasuredGround, number=numbers, drop=st.tuples(lengths) | st.tuples(lengths, lengths)
                )
            ),
            later=st.sampled_from([(), (LeftOut(first=3, last=5),), (LeftOut(first=3, last=3),)]),
            cut=st.just(()) | st.just((CutAlike(kept=70.125, pickets="1-3, 9, 40"),)),
            style=st.none() | st.sampled_from(list(TopStyle)),
            top=st.just(()) | st.just((TopPoint(station=0.0, elevation=-3.25),)),
            limit=maybe(lengths),
        ),
        max_size=2,
        unique_by=lambda r: r.name,
    ).map(tuple),
    left=st.none()
    | st.lists(st.builds(BoardsLeft, length=lengths, count=st.integers(0, 99)), max_size=3).map(tuple),
)


@given(built=records, system=st.sampled_from(list(UnitSystem)))
@settings(max_examples=60)
def test_a_record_read_and_written_again_is_the_same(built: AsBuilt, system: UnitSystem) -> None:
    text = built_text(built, system)
    again = parse_as_built(text)
    assert built_text(again, system) == text
    assert [r.name for r in again.run] == [r.name for r in built.run]
    for old, new in zip(built.run, again.run, strict=True):
        assert [(p.number, p.far_edge, p.width, p.kept, p.gap, p.lean) for p in new.picket] == [
            (p.number, p.far_edge, p.width, p.kept, p.gap, p.lean) for p in old.picket
        ]
        assert [(p.number, p.station, p.top) for p in new.post] == [
            (p.number, p.station, p.top) for p in old.post
        ]
        assert [(m.number, m.drop) for m in new.measured] == [(m.number, m.drop) for m in old.measured]
        assert [(c.kept, c.pickets) for c in new.cut] == [(c.kept, c.pickets) for c in old.cut]
        assert (new.style, new.limit, len(new.later)) == (old.style, old.limit, len(old.later))
    assert (again.left is None) == (built.left is None)
    assert [(b.length, b.count) for b in again.left or ()] == [(b.length, b.count) for b in built.left or ()]


def test_the_older_form_is_refused_with_what_to_write() -> None:
    (line,) = faults('run = "lane side"\n[[board]]\nnumber = 3\n')
    assert line.startswith("built.toml: is written in an older form; write [[run]]")


def test_every_mistake_at_once_as_a_person_counts() -> None:
    found = faults(
        '[[run]]\nname = "a"\nwidth = "5 in"\n'
        '[[run.picket]]\nnumber = 2\nfar_edge = "16"\n[[run.picket]]\nnumber = 3\nfar_edge = "1 ft"\n'
        '[[run.picket]]\nnumber = 3\nfar_edge = "2 ft"\n'
        '[[run.picket]]\nnumber = 0\n[[run.post]]\nnumber = 1.5\nstation = "1 ft"\n'
        '[[run.measured]]\nnumber = 4\ndrop = ["1 in"]\n[[run.later]]\nfirst = 8\nlast = 5\n'
        '[[run]]\nname = "a"\nstyle = "flat"\n[[left]]\nlength = "-1 ft"\n'
    )
    wanted = [
        'run "a", width: is not a key that is known here',
        'run "a", picket 2, far_edge: 16 has no unit',
        'run "a", picket row 4, far_edge: is missing',
        'run "a", picket row 4, number: numbers count from 1',
        'run "a", picket 3: number 3 comes twice',
        'run "a", post row 1, number: 1.5 is not a count',
        'run "a", measured picket 4, drop: a list is not a list of 2 lengths; write it so: ["31-1/4 in", '
        '"31-3/4 in"]',
        'run "a", later 1, last: 5 comes before 8',
        'run "a": "a" comes twice',
        'run "a", style: "flat" is not one of the choices',
        'left 1, length: "-1 ft" is not more than zero',
        "left 1, count: is missing",
    ]
    for words in wanted:
        assert any(line.startswith(f"built.toml {words}") for line in found), (words, found)
    assert len(found) == len(wanted)


def test_a_near_name_is_offered() -> None:
    assert nearest_of("lane sdie", ["garden", "lane side"]) == 'did you mean "lane side"?'
    assert nearest_of("x", ["a", "b"]) == "known here: a, b"


def test_a_post_taller_than_any_fence_is_a_slip() -> None:
    text = '[[run]]\nname = "a"\n[[run.post]]\nnumber = 1\nstation = "0 ft"\ntop = "{}"\n'
    assert parse_as_built(text.format("30 ft")).run[0].post[0].top == MOST_TALL
    (told,) = mistakes_of(lambda: parse_as_built(text.format("4500 in")))
    assert "post 1, top: a post of more than 30 ft (9.1 m) is no fence post" in told


def test_a_key_that_the_program_keeps_for_itself_is_none_of_the_file() -> None:
    (told,) = faults('[[run]]\nname = "a"\nplace = "x"\n')
    assert told == 'built.toml run "a", place: is not a key that is known here; take it out'
    (told,) = faults('place = "x"\n')
    assert told == "built.toml place: is not a key that is known here; take it out"
    (told,) = faults('[[rnu]]\nname = "a"\n[[rnu.picket]]\nnumber = 2\n')
    assert told == 'built.toml rnu: is not a key that is known here; did you mean "run"?'


def test_a_list_as_long_as_may_be_and_longer(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("fencegrade.job.rows.MOST_ROWS", 3)
    row = '[[run.post]]\nnumber = {}\nstation = "{} ft"\n'
    text = '[[run]]\nname = "a"\n' + "".join(row.format(k, k) for k in (1, 2, 3))
    assert len(parse_as_built(text).run[0].post) == 3
    (told,) = faults(text + row.format(4, 4))
    assert told == 'built.toml run "a", post: 4 entries are too many; keep to 3'
