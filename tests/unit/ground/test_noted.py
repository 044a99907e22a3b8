"""A root, water or gate post in a note, and the table of the job that should say it too."""

from dataclasses import replace
from typing import Any

import pytest

from fencegrade.job.records import ExistingPost, Gate, OpenStretch, Stretch
from fencegrade.job.survey import Mark, Side
from fencegrade.sheets.page.readings import MARKS


def noted(under_string: Any, notes: dict[int, str]) -> Any:
    survey = under_string([(4 * i, 20) for i in range(8)])
    rows = (replace(r, note=notes.get(round(r.station / 12), "")) for r in survey.rows)
    return replace(survey, rows=tuple(rows))


def told(ground: Any) -> list[str]:
    return [str(p) for p in ground.notes if "the note says" in p.found]


def test_a_mark_that_no_table_covers_is_told_with_what_to_write(under_string: Any, ground_of: Any) -> None:
    survey = noted(under_string, {8: "root", 12: "Root, old oak", 20: "water", 28: "confirmed, gate post"})
    fill = 'start = "..." and end = "..."', 'start = "...", end = "..." and height = "..."'
    gate = (
        'station = "..." and width = "...", or [[run.existing_post]] with station = "..." if the post stands'
    )
    asked = [
        (
            "lines 4 and 5",
            "root at 8'",
            "root",
            "a post or soil may be planned on it",
            fill[0],
            "4' 0\" to 16'",
        ),
        (
            "line 7",
            "water at 20'",
            "keep_open",
            "a post or soil may be planned in it",
            fill[1],
            "16' 0\" to 24'",
        ),
        ("line 9", "gate post at 28'", "gate", "no gate is planned there", gate, "24' 0\" to 28'"),
    ]
    assert told(ground_of(survey)) == [
        f'north.csv {line}: the note says {mark} 0", and no [[run.{table}]] of north side covers it: '
        f"{follows}; write [[run.{table}]] with {keys}; the readings beside it stand at "
        f'{beside} 0". If nothing has to be kept there, take the word out of the note'
        for line, mark, table, follows, keys, beside in asked
    ]
    assert told(ground_of(survey, start=150.0, end=230.0)) == []


@pytest.mark.parametrize(
    ("note", "word"),
    [
        ("snow 6 in deep", "snow"),
        ("by the oak, wet leaves", "leaves"),
        ("break, long grass", "grass"),
        ("Grass", "grass"),
        ("confirmed, long grass", ""),
        ("edge of the grass", ""),
        ("no snow", ""),
        ("snowberry", ""),
        ("gate post, two open leaves", ""),
    ],
)
def test_what_lies_over_the_soil_is_asked_about(
    under_string: Any, ground_of: Any, note: str, word: str
) -> None:
    ground = ground_of(noted(under_string, {8: note, 12: "kerb"}))
    found = [str(p) for p in ground.notes if "which is no soil" in p.found]
    assert found == [
        f"north.csv line 4: the notes say {word}, which is no soil: boards cut for it come short by its "
        "depth; read from the string down to the soil; where that was done write confirmed in the note"
    ] * bool(word)
    assert not ground.provisional


@pytest.mark.parametrize(
    ("note", "keys", "covered"),
    [
        ("root", {"root": (Stretch(start=96.0, end=108.0),)}, True),
        ("root", {"root": (Stretch(start=97.0, end=108.0),)}, False),
        ("root", {"keep_open": (OpenStretch(start=90.0, end=108.0, height=3.0),)}, False),
        ("water", {"keep_open": (OpenStretch(start=90.0, end=96.0, height=3.0),)}, True),
        ("water", {"keep_open": (OpenStretch(start=84.0, end=95.0, height=3.0),)}, False),
        ("gate post", {"gate": (Gate(station=48.0, width=36.0),)}, True),
        ("gate post", {"gate": (Gate(station=48.0, width=35.0),)}, False),
        ("gate post", {"gate": (Gate(station=108.0, width=36.0),)}, True),
        ("gate post", {"existing_post": (ExistingPost(station=86.0),)}, True),
        ("tree root", {}, True),
    ],
)
def test_a_table_covers_its_own_marks(
    under_string: Any, ground_of: Any, note: str, keys: dict[str, Any], covered: bool
) -> None:
    assert (told(ground_of(noted(under_string, {8: note}), **keys)) == []) is covered


def test_every_mark_of_the_phone_page_counts() -> None:
    """Each is a side of a wall, or a word that a note may hold; none is kept and never looked at."""
    walls = {f"wall, {side}" for side in Side}
    assert {value for value, _ in MARKS if value} == walls | set(Mark) - {Mark.CONFIRMED}


@pytest.mark.parametrize(
    ("note", "marks", "within"),
    [
        ("break", {Mark.BREAK}, ()),
        ("break ditch lip", {Mark.BREAK}, ()),
        ("Break: lip; confirmed by Ann", {Mark.BREAK, Mark.CONFIRMED}, ()),
        ("ditch lip,break", {Mark.BREAK}, ()),
        ("lip (break)", set(), ("break",)),
        ("no break, breakfast", set(), ("break",)),
        ("not confirmed", set(), ("confirmed",)),
        ("unconfirmed, breaking", set(), ()),
        ("roots of the oak, beside water", {Mark.ROOT}, ()),
        ("gate posts", {Mark.GATE_POST}, ()),
        ("confirmed? ask Bob", set(), ("confirmed",)),
        ("break, confirmed?", {Mark.BREAK}, ("confirmed",)),
        ("confirmed, root?", {Mark.CONFIRMED, Mark.ROOT}, ()),
    ],
)
def test_a_word_counts_where_it_begins_a_part_and_is_asked_about_elsewhere(
    under_string: Any, ground_of: Any, note: str, marks: set[Mark], within: tuple[str, ...]
) -> None:
    ground = ground_of(noted(under_string, {8: note}))
    assert ground.levels.marks[2] == marks
    asked = [str(p) for p in ground.notes if "does not count" in p.found]
    assert asked == [
        f"north.csv line 4: the word {word} stands within the note or in a question, and does not count "
        f'there; if it is meant, begin the note with it, as in "{word}, ditch lip"; if not, take it out'
        for word in within
    ]


def test_many_words_that_do_not_count_are_told_at_once(under_string: Any, ground_of: Any) -> None:
    survey = under_string([(4 * i, 20) for i in range(12)])
    survey = replace(survey, rows=tuple(replace(r, note="a break") for r in survey.rows))
    (asked,) = [str(p) for p in ground_of(survey).notes if "does not count" in p.found]
    assert asked.startswith(
        "north.csv lines 2, 3, 4, 5, 6, 7, 8 and 9: the word break stands within the note and of 4 more or "
    )
