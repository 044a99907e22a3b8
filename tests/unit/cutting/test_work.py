"""What quick lists cost, and the work it takes to find and prove it."""

import pytest
from quick_lists import KEPT, SEEDS, told
from refreshed import refresh_samples

LINES = {line.split()[0]: line.split() for line in KEPT.read_text(encoding="utf-8").splitlines()}


@pytest.mark.parametrize("seed", SEEDS)
def test_a_list_takes_the_work_it_took(seed: int) -> None:
    """With other libraries, whose programmes go other ways, the cost and the proof are the same."""
    *plan, work = told(seed).split()
    *kept_plan, kept_work = LINES[str(seed)]
    if refresh_samples().same_libraries():
        assert plan == kept_plan
        assert int(work) == pytest.approx(int(kept_work), rel=0.05), "run python tests/support/quick_lists.py"
    else:
        assert plan[:3] == kept_plan[:3]
        assert int(work) < 3 * int(kept_work) + 50_000
