"""Words for a lean, drying boards and boards of unequal width."""

import pytest

from fencegrade.building.lean import Lean, LeanQuestion, Toward, spread_over_next
from fencegrade.fence.wood.drying import forecast_gap, forecast_overlap, moisture_change
from fencegrade.fence.wood.widths import end_chance, sample_widths, spacing_choices
from fencegrade.job.choices import Fit
from fencegrade.sheets.screen.lean_text import (
    drying_lines,
    lean_table,
    overlap_lines,
    spacing_lines,
    width_lines,
)
from fencegrade.units import UnitSystem, system_of
from fencegrade.units.words import Words

INCHES, MILLIMETRES = Words.of_layout(UnitSystem.IMPERIAL), Words.of_layout(UnitSystem.METRIC)
SAMPLE = sample_widths([5.5, 5.44, 5.56, 5.53, 5.47, 5.5, 5.62, 5.41, 5.5, 5.53])


@pytest.mark.parametrize(
    ("text", "system"),
    [
        ("3/8 in", UnitSystem.IMPERIAL),
        ("5' 3\"", UnitSystem.IMPERIAL),
        ("9 mm", UnitSystem.METRIC),
        ("9MM.", UnitSystem.METRIC),
        ("1.2 metres", UnitSystem.METRIC),
        ("9", UnitSystem.IMPERIAL),
        ("", UnitSystem.IMPERIAL),
    ],
)
def test_units_follow_the_text(text: str, system: UnitSystem) -> None:
    assert system_of(text) is system


def test_lean_table_has_a_row_a_board() -> None:
    lean = Lean(amount=0.375, over=48.0, toward=Toward.START)
    spread = spread_over_next(
        LeanQuestion(
            lean=lean, width=5.5, spacing=0.25, height=48.0, limit=0.125, boards=4, system=UnitSystem.IMPERIAL
        )
    )
    table = lean_table(spread)
    assert [row[0] for row in table.rows] == [1, 2, 3, 4]
    assert table.heads[:3] == ("board", "gap top", "gap bottom")
    assert all(len(row) == len(table.columns) for row in table.rows)


def test_drying_in_words() -> None:
    change = moisture_change(28.0, 12.0)
    text = "\n".join(drying_lines(change, forecast_gap(5.5, 0.25, 0.25, change), INCHES))
    assert "Moisture 28 % now, 12 % in service; most softwoods" in text
    assert "boards of 5-1/2 in lose 3/16 in each" in text
    assert "open to 7/16 in" in text
    assert "for 1/4 in in service set 1/16 in today" in text
    assert "FPL-RP-489" in text
    assert "8 to 19 %" in text


def test_swelling_in_words() -> None:
    change = moisture_change(12.0, 19.0)
    text = "\n".join(drying_lines(change, forecast_gap(140 / 25.4, 6 / 25.4, 0.0, change), MILLIMETRES))
    assert "boards of 140.0 mm gain 2.0 mm each" in text
    assert "gaps of 6.0 mm set today close to 4.0 mm" in text


def test_overlap_in_words() -> None:
    change = moisture_change(28.0, 12.0)
    text = "\n".join(overlap_lines(change, forecast_overlap(5.5, 3.5, change), INCHES))
    assert "overlap 1 in each side today, 13/16 in in service" in text


def test_widths_in_words() -> None:
    choice = end_chance(96.0, 0.25, Fit.RIP_LAST, SAMPLE, 0.125)
    text = "\n".join(width_lines(SAMPLE, choice, Fit.RIP_LAST, 0.125, INCHES))
    assert "10 boards measured: 5.506 in on average, 5-13/32 in to 5-5/8 in" in text
    assert "standard deviation 0.060 in" in text
    assert "17 boards at 1/4 in: the end is a sliver with a chance of 0.8 %" in text
    assert "10 gaps hide the drift with 1/8 in each" in text
    assert "139.9 mm on average" in "\n".join(width_lines(SAMPLE, choice, Fit.RIP_LAST, 0.125, MILLIMETRES))


def test_spacings_in_words_are_the_first_few() -> None:
    choices = spacing_choices(96.0, 0.25, 0.125, Fit.EVEN_GAPS, SAMPLE, limit=0.125, mark=0.0625)
    assert "the last gap shows or a board has no room" in next(
        iter(spacing_lines(choices, Fit.EVEN_GAPS, INCHES))
    )
    many = spacing_choices(96.0, 0.25, 0.25, Fit.RIP_LAST, SAMPLE, limit=0.125, mark=0.0625)
    assert len(list(spacing_lines(many, Fit.RIP_LAST, INCHES, most=3))) == 3
