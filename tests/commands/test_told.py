"""What the commands and sheets tell of odd jobs is what they told when it was last read, word by word."""

from pathlib import Path

import pytest
from odd_jobs import KEPT, NAMES, told
from refreshed import refresh_samples


@pytest.mark.parametrize("name", NAMES)
def test_every_word_and_figure_is_as_it_was_read(name: str, tmp_path: Path) -> None:
    """With other libraries, whose letters may be a hair wider, lines may break elsewhere: then the words."""
    made, kept = told(name, tmp_path), (KEPT / f"{name}.txt").read_text(encoding="utf-8")
    same = refresh_samples().same_libraries()
    assert made == kept if same else made.split() == kept.split(), (
        f"{name} changed: run python -m tests.refresh_samples and look at it"
    )
    assert str(KEPT.parents[2]) not in kept
