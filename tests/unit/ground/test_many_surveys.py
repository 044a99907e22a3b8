"""What is told of surveys of all kinds with slips of all kinds is what was told when it was last read."""

from many_surveys import KEPT, all_told


def test_every_doubt_and_figure_is_as_it_was_read() -> None:
    made = all_told()
    assert made == KEPT.read_text(encoding="utf-8"), "run python tests/support/many_surveys.py and look"
