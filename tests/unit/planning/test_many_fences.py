"""What is told of the plans of small fences drawn by chance is what was told when it was last read."""

from many_fences import KEPT, all_told


def test_every_word_and_figure_is_as_it_was_read() -> None:
    made = all_told()
    assert made == KEPT.read_text(encoding="utf-8"), "run python tests/support/many_fences.py and look"
