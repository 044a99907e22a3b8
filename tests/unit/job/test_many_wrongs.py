"""What is told of files gone wrong by chance, or read of them, is what was told when it was last read."""

from many_wrongs import KEPT, all_told


def test_every_mistake_and_value_is_as_it_was_read() -> None:
    made = all_told()
    assert made == KEPT.read_text(encoding="utf-8"), "run python tests/support/many_wrongs.py and look"
