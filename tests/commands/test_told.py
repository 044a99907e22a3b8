"""What the commands and sheets tell of odd jobs is what they told when it was last read, word by word."""

from pathlib import Path

import pytest
from odd_jobs import DRAWN, KEPT, NAMES, told
from refreshed import refresh_samples


@pytest.mark.parametrize("name", NAMES)
def test_every_word_and_figure_is_as_it_was_read(name: str, tmp_path: Path) -> None:
    """With other libraries, whose letters may be a hair wider, lines may break elsewhere: then the words."""
    same = refresh_samples().same_libraries()
    for file, made in told(name, tmp_path).items():
        kept = (KEPT / file).read_text(encoding="utf-8")
        assert str(KEPT.parents[2]) not in kept
        if same:
            assert made == kept, f"{file} changed: run python -m tests.refresh_samples and look at it"
        elif not file.endswith(DRAWN):
            assert made.split() == kept.split(), f"{file} says something else with these libraries"
