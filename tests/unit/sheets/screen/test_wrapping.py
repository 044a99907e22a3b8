"""Lines of a screen."""

from fencegrade.sheets.screen.wrapping import indented, paragraph, section, taken_lines, wrapped


def test_lines_break_between_words_alone() -> None:
    long = "x" * 30
    assert wrapped(f"{long} y", width=20) == [long, "    y"]
    assert wrapped("a board-on-board fence", width=14) == ["a", "    board-on-board", "    fence"]
    assert wrapped("aaaa bbbb", width=9) == ["aaaa bbbb"]
    assert wrapped("aaaa bbbb", width=8) == ["aaaa", "    bbbb"]
    assert wrapped("  aaaa bbbb", width=10, hang=2) == ["  aaaa", "    bbbb"]
    assert wrapped("of it 12 % more", width=9) == ["of it", "    12 %", "    more"]
    assert wrapped("") == []


def test_paragraphs_stand_apart_under_their_titles() -> None:
    assert list(section("Head", ["one", "two"])) == ["", "Head", "  one", "  two"]
    assert list(section("Head", [])) == list(paragraph("Head", [])) == []
    words = " ".join(["abcdefghi"] * 10)
    assert list(section("Head", [words])) == ["", "Head", f"  {words[:89]}", "      abcdefghi"]
    assert list(indented([words])) == [f"  {words[:89]}", "      abcdefghi"]
    assert list(section("Head", [words[:98]])) == ["", "Head", f"  {words[:98]}"]
    assert list(paragraph("Head", [words])) == ["", "Head", f"  {words}"]
    assert list(taken_lines([("a", "1")])) == ["", "Assumed, since it was not given", "  a = 1"]
