"""The files kept with the samples are what the program makes of them today.

With the libraries that made the kept ones (`sample_runs/made_with.json`) they must be equal byte for byte,
on every processor of that kind (`python -m tests.same_on_every_processor`). Other versions measure letters a
hair wider, and may find other boards as cheap: with those the files must be sound, of much the same size, and
say nearly the same words.
"""

import hashlib
import io
import json
from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest
from odd_jobs import words_of
from refreshed import refresh_samples

ROOT = Path(__file__).parents[2]
WRITTEN = ".fencegrade-written.json"
ALIKE = 0.9
"""Share of the words that must be the same where another library made them (own choice)."""


REFRESH = refresh_samples()
PIXELS = True


def names(folder: Path) -> set[str]:
    return {p.name for p in folder.iterdir() if p.name != WRITTEN}


@pytest.mark.parametrize("folder", REFRESH.COMMANDS)
def test_the_kept_files_are_made_again(folder: str, tmp_path: Path) -> None:
    kept = REFRESH.SAMPLES / folder
    REFRESH.make(REFRESH.SAMPLES, folder, tmp_path / "again")
    made = tmp_path / "again"
    exact = REFRESH.same_libraries()
    assert names(made) == names(kept) or not exact
    for name in sorted(names(kept) & names(made)):
        old, new = (kept / name).read_bytes(), (made / name).read_bytes()
        if exact:
            assert old == new, f"{folder}/{name} changed: run python -m tests.refresh_samples and look at it"
        else:
            assert_alike(name, old, new)


def assert_alike(name: str, old: bytes, new: bytes) -> None:
    """What must hold of a file whatever libraries made it."""
    if name.endswith(".png"):
        assert shape(new) == pytest.approx(shape(old), rel=0.05)
        assert not blank(new)
    elif "boards" not in name:  # another solver may cut the same pieces from other boards
        share = same_words(words_of(name, old), words_of(name, new))
        assert share >= ALIKE, f"{name}: {share:.0%} of its words are the same"


def same_words(old: Sequence[str], new: Sequence[str]) -> float:
    """Share of the words of two texts, in any order, that both have."""
    return 2 * (Counter(old) & Counter(new)).total() / max(1, len(old) + len(new))


@pytest.mark.parametrize(
    "name", ["cut_chart.txt", "plan.json", "elevation.svg", "field_sheets.pdf", "fence.html"]
)
def test_other_libraries_may_move_a_word_but_not_tell_another_job(name: str) -> None:
    herb, lane = (
        (REFRESH.SAMPLES / j / "sheets" / name).read_bytes() for j in ("herb_garden", "paddock_lane")
    )
    assert_alike(name, herb, herb)
    with pytest.raises(AssertionError, match="% of its words"):
        assert_alike(name, herb, lane)


def picture(data: bytes) -> Any:
    import matplotlib.image

    return matplotlib.image.imread(io.BytesIO(data), format="png")


def shape(data: bytes) -> tuple[int, ...]:
    found: tuple[int, ...] = picture(data).shape
    return found


def blank(data: bytes) -> bool:
    pixels = picture(data)
    return bool((pixels == pixels[0, 0]).all())


@pytest.mark.parametrize("folder", REFRESH.COMMANDS)
def test_the_list_of_written_files_knows_them(folder: str) -> None:
    """So that a plan may be written over the kept sheets without --force."""
    kept = REFRESH.SAMPLES / folder
    listed = json.loads((kept / WRITTEN).read_text(encoding="utf-8"))["files"]
    assert set(listed) == names(kept)
    for name, digests in listed.items():
        assert hashlib.sha256((kept / name).read_bytes()).hexdigest() in digests


def test_nothing_kept_tells_of_the_machine_that_made_it() -> None:
    for folder in REFRESH.COMMANDS:
        for path in (REFRESH.SAMPLES / folder).iterdir():
            data = path.read_bytes()
            assert str(ROOT).encode() not in data, path
            assert b'"seconds"' not in data, path


def test_pictures_are_not_blank() -> None:
    pictures = [p for folder in REFRESH.COMMANDS for p in (REFRESH.SAMPLES / folder).glob("*.png")]
    assert pictures
    for path in pictures:
        assert not blank(path.read_bytes()), path
