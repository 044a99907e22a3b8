"""Rails line by line."""

from fencegrade.sheets.rail_lines import SPARE_OF_RAIL, RailLine


def test_a_rail_nearly_as_long_as_its_board_has_no_spare() -> None:
    def rail(stock: float | None) -> RailLine:
        return RailLine(
            row=1, first=1, last=2, pieces=1, length=96.0, stock=stock, drops=(6.0, 6.0), angle=0.0
        )

    assert rail(96.0).no_spare
    assert rail(96.0 + SPARE_OF_RAIL / 2).no_spare
    assert not rail(96.0 + SPARE_OF_RAIL).no_spare
    assert not rail(None).no_spare
