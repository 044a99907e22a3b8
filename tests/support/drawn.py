"""What tests of drawings draw, and how they look at it."""

import math
from functools import lru_cache
from itertools import combinations
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
from matplotlib.figure import Figure

from fencegrade.job.read import Job, read_job
from fencegrade.sheets.drawings.cut_boards import CutPattern
from fencegrade.sheets.drawings.labels import text_boxes
from fencegrade.sheets.drawings.picture import Picture
from fencegrade.sheets.drawings.save import svg_bytes
from fencegrade.units import UnitSystem
from fencegrade.units.words import Words

SVG = "{http://www.w3.org/2000/svg}"


INCHES = Words(system=UnitSystem.IMPERIAL, mark=0.125, currency="$")


@lru_cache(maxsize=16)
def svg(drawing: Figure | Picture) -> bytes:
    """A drawing's SVG, made once for all that look at it."""
    return svg_bytes(drawing)


def overlapping(figure: Figure) -> list[tuple[str, str]]:
    """Texts of a figure that lie over one another, or over the edge: then paired with `canvas`."""
    boxes = text_boxes(figure)
    pairs = [(a, b) for (a, box), (b, other) in combinations(boxes, 2) if box.overlaps(other)]
    canvas = figure.bbox
    pairs += [
        (text, "canvas")
        for text, box in boxes
        if box.x0 < canvas.x0 or box.y0 < canvas.y0 or box.x1 > canvas.x1 or box.y1 > canvas.y1
    ]
    return pairs


def make_job(folder: Path, feet: int, slope: float = 0.0, units: str = "imperial", face: bool = False) -> Job:
    """A job of one run over rolling ground with readings every 4 ft."""
    step = 4 if feet <= 200 else 8
    drops = [(k, 20 + 4 * math.sin(k / 7) + slope * k) for k in range(0, feet + 1, step)]
    rows = [f"{k},{drop:.2f}," for k, drop in drops]
    if face:
        k, drop = drops[3]
        rows[3:4] = [f"{k},{drop:.2f},before", f"{k},{drop + 14:.2f},after"]
    (folder / "lane.csv").write_text("station [ft],drop [in],side\n" + "\n".join(rows), encoding="utf-8")
    (folder / "job.toml").write_text(
        f'[job]\ntitle = "Paddock $lane$ <i>north</i>"\nunits = "{units}"\n'
        '[[run]]\nname = "hedge"\nsurvey = "lane.csv"\n[pickets]\n[[pickets.stock]]\nlength = "8 ft"\n',
        encoding="utf-8",
    )
    return read_job(folder)


def svg_texts(figure: Figure | Picture) -> list[str]:
    """Every text of a drawing's SVG."""
    root = ElementTree.fromstring(svg(figure))
    return ["".join(t.itertext()).strip() for t in root.iter(f"{SVG}text")]


def check(figure: Figure) -> None:
    """Nothing overlaps, and the SVG is well formed and described."""
    assert overlapping(figure) == []
    root = ElementTree.fromstring(svg(figure))
    assert (root.findtext(f"{SVG}desc") or "").strip()


PATTERNS = [
    CutPattern(stock=96, pieces=(31.5, 31.5, 28), offcut=4.625, count=3, kerf=0.125),
    CutPattern(stock=96, pieces=(60, 35.875), offcut=0, count=1, kerf=0.125, names=("<b>12</b>", "$14$")),
    CutPattern(stock=120, pieces=(9.5,) * 12, offcut=4.5, count=22, kerf=0.125),
    CutPattern(stock=72, pieces=(40.5, 1.5, 1.5, 1.5), offcut=26.5, count=119, kerf=0.125),
    CutPattern(stock=72, pieces=(70.5,), offcut=1.375, count=5, kerf=0.125),
    CutPattern(stock=72, pieces=(72,), offcut=0, count=1),
]


HEIGHTS = np.array([68, 69, 70, 70.5, 71.25, 72, 74, 75, 76.5, 80.0])


COSTS = np.array([300, 300, 312, 330, 331, 360, 420, 430, 500, np.nan])
