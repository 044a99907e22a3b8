"""What the commands and sheets tell of odd jobs is what they told when it was last read, word by word."""

import pytest
from odd_jobs import JOBS, KEPT, SHEETS, told
from refreshed import refresh_samples

NAMES = [f"{name}.txt" for name in JOBS] + [f"{name}_sheets.txt" for name in SHEETS]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    return dict(told(tmp_path_factory.mktemp("odd")))


@pytest.mark.parametrize("name", NAMES)
def test_every_word_and_figure_is_as_it_was_read(made: dict[str, str], name: str) -> None:
    """With other libraries, whose letters may be a hair wider, lines may break elsewhere: then the words."""
    kept = (KEPT / name).read_text(encoding="utf-8")
    same = refresh_samples().same_libraries()
    assert made[name] == kept if same else made[name].split() == kept.split(), (
        f"{name} changed: run python -m tests.refresh_samples and look at it"
    )
    assert str(KEPT.parents[2]) not in kept
