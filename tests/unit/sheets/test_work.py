"""How many spares make up for boards that turn out short, beside those listed and those left on hand."""

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from fencegrade.sheets import work
from fencegrade.units import UnitSystem
from fencegrade.units.words import Words

LARGER = "; a larger spare under [pickets] in the job file puts more on it"


@pytest.mark.parametrize(
    ("wanted", "listed", "there", "idle", "told"),
    [
        (0, 2, 0, 0, "no spare is needed in 95 % of cases"),
        (3, None, 0, 0, "3 of 6 ft (none of them on the list)" + LARGER),
        (3, 2, 0, 0, "3 of 6 ft (2 of them on the list)" + LARGER),
        (3, 5, 0, 9, "3 of 6 ft (3 of them on the list)"),
        # of nine left on hand two are spares on the list already
        (5, 2, 2, 9, "5 of 6 ft (2 of them on the list, 3 left on hand)"),
        (5, 2, 2, 4, "5 of 6 ft (2 of them on the list, 2 left on hand)" + LARGER),
        (2, None, 0, 1, "2 of 6 ft (none of them on the list, 1 left on hand)" + LARGER),
    ],
)
def test_spares_are_told_once_each_listed_or_left_on_hand(
    monkeypatch: pytest.MonkeyPatch, wanted: int, listed: int | None, there: int, idle: int, told: str
) -> None:
    line = SimpleNamespace(length=72.0, part="pickets", spare=listed, spare_there=there)
    other = SimpleNamespace(length=72.0, part="rails", spare=9, spare_there=9)
    lines = [other] if listed is None else [line, other]
    monkeypatch.setattr(work, "buying_list", lambda plan: SimpleNamespace(lines=lines))
    plan: Any = SimpleNamespace(
        families=SimpleNamespace(pickets_left_on_hand=lambda: [idle]),
        stock=SimpleNamespace(offered=[SimpleNamespace(length=72.0)]),
    )
    risk: Any = SimpleNamespace(spares=np.array([wanted]), chance=0.95, unserved=0)
    cases = "spares that cover that in 95 % of cases: "
    said = work._spares(plan, risk, Words.of_layout(UnitSystem.IMPERIAL))
    assert said == (told if not wanted else cases + told)
    if not wanted:
        risk.unserved = 2
        said = work._spares(plan, risk, Words.of_layout(UnitSystem.IMPERIAL))
        assert said == "no spare would help in 95 % of cases", "short, and no longer board is sold"
