"""What closes the low ground of many runs is what closed it when it was last looked at."""

from many_fills import KEPT, all_told


def test_every_fill_board_and_bill_is_as_it_was() -> None:
    made = all_told()
    assert made == KEPT.read_text(encoding="utf-8"), "run python tests/support/many_fills.py and look"
