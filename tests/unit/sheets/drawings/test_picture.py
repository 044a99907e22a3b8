"""Texts of pictures: their width, the lines they take, and what is left out where there is no room."""

import pytest

from fencegrade.sheets.drawings.picture import Sketch, Text, fitted, plain, text_width, wrapped

WORDS = "every word of this title"


def test_a_text_is_as_wide_as_its_letters_and_stands_on_its_baseline() -> None:
    assert (
        text_width("iiii", 10)
        == pytest.approx(2 * text_width("ii", 10))
        == pytest.approx(text_width("ii", 20))
    )
    assert text_width(WORDS, 10, bold=True) > text_width(WORDS, 10)
    wide = text_width(WORDS, 10)
    for anchor, left in ((0.0, 50.0), (0.5, 50 - wide / 2), (1.0, 50 - wide)):
        box = Text(x=50, y=80, text=WORDS, size=10, anchor=anchor).box
        assert box == pytest.approx((left, 72.4, left + wide, 82.4))


def test_lines_break_between_words_and_hold_exactly_what_fits() -> None:
    whole = text_width(WORDS, 10)
    assert wrapped(WORDS, whole, 10) == [WORDS]
    assert wrapped(WORDS, whole - 0.01, 10) == ["every word of this", "title"]
    assert wrapped(WORDS, text_width("every word", 10), 10) == ["every word", "of this title"]
    assert wrapped(WORDS, text_width("every word", 10) - 0.01, 10) == ["every", "word of", "this title"]
    assert wrapped("", 10, 10) == [""]
    assert wrapped(" a\tb ", 100, 10) == ["a?b"]


def test_a_word_wider_than_a_line_is_divided() -> None:
    two = text_width("mm", 10)
    assert wrapped("mmmmm", two, 10) == ["mm", "mm", "m"]
    assert wrapped("mmmmm", two - 0.01, 10) == ["m"] * 5
    assert wrapped("m mmmmm m", two, 10) == ["m", "mm", "mm", "m", "m"]
    assert wrapped("mm m", two, 10) == ["mm", "m"]
    assert wrapped("mmm", 1, 10) == ["m", "m", "m"]


def test_what_does_not_fit_one_line_is_left_out() -> None:
    whole = text_width(WORDS, 10)
    assert fitted(WORDS, whole, 10) == WORDS
    assert fitted(WORDS, whole - 0.01, 10) == "every word of this ti…"
    assert fitted(WORDS, text_width("every…", 10), 10) == "every…"
    assert fitted(WORDS, text_width("every w…", 10) - 0.01, 10) == "every…"
    assert fitted(WORDS, 1, 10) == "…"
    assert fitted("a\x07b", 100, 10) == plain("a\x07b") == "a?b"


def test_a_head_has_two_lines_of_each_text_at_most() -> None:
    sketch = Sketch()
    end = sketch.head(5, 10, text_width("every word", 12), ((WORDS * 2, 12.0, False), ("title", 8.0, True)))
    lines = [(t.x, t.y, t.text, t.size, t.bold) for t in sketch.items if isinstance(t, Text)]
    assert lines == [
        (5, 22, "every word", 12, False),
        (5, 37.6, "of this", 12, False),
        (5, 49.2, "title", 8, True),
    ]
    assert end == pytest.approx(51.6)
