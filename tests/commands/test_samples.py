"""The files kept with the samples are what the program makes of them today.

Tables, charts and JSON hold rounded figures alone and must be equal byte for byte everywhere. Drawings and
pages are set by libraries: letters are measured and painted by matplotlib and its font library, whose next
version may shift a label by a hair. They must be equal byte for byte where the libraries are those that made
the kept ones (`sample_runs/made_with.json`); with others they must be sound, of the same size, and say the
same words.
"""

import hashlib
import importlib.util
import io
import json
import re
from pathlib import Path
from types import ModuleType
from xml.etree import ElementTree

import pytest

ROOT = Path(__file__).parents[2]
WRITTEN = ".fencegrade-written.json"
DRAWN = {".png", ".pdf", ".svg", ".html"}


def loaded() -> ModuleType:
    spec = importlib.util.spec_from_file_location("refresh_samples", ROOT / "tests" / "refresh_samples.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


REFRESH = loaded()


def same_libraries() -> bool:
    kept: dict[str, str] = json.loads(REFRESH.MADE_WITH.read_text(encoding="utf-8"))
    return kept == REFRESH.libraries()


def names(folder: Path) -> set[str]:
    return {p.name for p in folder.iterdir() if p.name != WRITTEN}


@pytest.mark.parametrize("folder", REFRESH.COMMANDS)
def test_the_kept_files_are_made_again(folder: str, tmp_path: Path) -> None:
    kept = REFRESH.SAMPLES / folder
    REFRESH.make(REFRESH.SAMPLES, folder, tmp_path / "again")
    made = tmp_path / "again"
    assert names(made) == names(kept)
    exact = same_libraries()
    for name in sorted(names(kept)):
        old, new = (kept / name).read_bytes(), (made / name).read_bytes()
        if exact or Path(name).suffix not in DRAWN:
            assert old == new, f"{folder}/{name} changed: run python -m tests.refresh_samples and look at it"
        else:
            alike(name, old, new)


def alike(name: str, old: bytes, new: bytes) -> None:
    """What must hold of a drawing whatever library drew it."""
    match Path(name).suffix:
        case ".png":
            assert shape(old) == shape(new)
            assert not blank(new)
        case ".svg":
            assert svg_words(old) == svg_words(new)
        case ".html":
            assert html_words(old) == html_words(new)
        case ".pdf":
            pypdf = pytest.importorskip("pypdf")
            pages = [
                [p.extract_text().split() for p in pypdf.PdfReader(io.BytesIO(b)).pages] for b in (old, new)
            ]
            assert pages[0] == pages[1]


def picture(data: bytes):  # type: ignore[no-untyped-def]
    import matplotlib.image

    return matplotlib.image.imread(io.BytesIO(data), format="png")


def shape(data: bytes) -> tuple[int, ...]:
    found: tuple[int, ...] = picture(data).shape
    return found


def blank(data: bytes) -> bool:
    pixels = picture(data)
    return bool((pixels == pixels[0, 0]).all())


def svg_words(data: bytes) -> list[str]:
    texts = (e.text for e in ElementTree.fromstring(data).iter("{http://www.w3.org/2000/svg}text"))
    return sorted(t for t in texts if t)


def html_words(data: bytes) -> list[str]:
    bare = re.sub(r"(?s)<(svg|style|script)\b.*?</\1>|<[^>]*>", " ", data.decode())
    return bare.split()


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
