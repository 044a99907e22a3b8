"""A drawing as bytes: the same drawing always gives the same bytes."""

import io
import re
import warnings
from collections.abc import Iterable
from xml.sax.saxutils import escape

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle
from matplotlib.text import Annotation

from fencegrade.sheets.drawings.canvas import Drawing
from fencegrade.sheets.drawings.picture import Picture
from fencegrade.sheets.drawings.picture_files import picture_figure, picture_svg, xml_text
from fencegrade.sheets.drawings.style import house_style

_SQUEEZE = 3
"""Effort put into making a PNG small: more takes longer and wins nothing on line drawings."""

_DECIMALS = 6
"""Places and sizes are rounded to so many decimals before they are drawn: last bits differ by processor, and
must neither move a pixel nor name a path."""

_ID = re.compile(r"(?<=\bid=\")[a-z][0-9a-f]{10}(?=\")")


def svg_bytes(drawing: Figure | Picture) -> bytes:
    """The drawing as SVG with real text, and a title and description for those who cannot see it.

    `drawing`: a figure or a picture. Result: UTF-8 bytes without a date.
    """
    return picture_svg(drawing) if isinstance(drawing, Picture) else _figure_svg(drawing)


def _figure_svg(figure: Figure) -> bytes:
    buffer = io.BytesIO()
    _steady(figure)
    with house_style(), warnings.catch_warnings(action="ignore", category=UserWarning):
        metadata = {"Title": "drawing", "Creator": "fencegrade", "Date": None}
        figure.savefig(buffer, format="svg", metadata=metadata)
    return _described(_named(buffer.getvalue().decode()), *_words(figure)).encode()


def png_bytes(drawing: Figure | Picture, dpi: float = 150) -> bytes:
    """The drawing as PNG. `drawing`: a figure or a picture; `dpi`: pixels in an inch of paper."""
    with house_style():
        figure = picture_figure(drawing) if isinstance(drawing, Picture) else drawing
    title, description = _words(figure)
    buffer = io.BytesIO()
    _steady(figure)
    with house_style(), warnings.catch_warnings(action="ignore", category=UserWarning):
        metadata = {"Software": "fencegrade", "Title": title, "Description": description}
        figure.savefig(
            buffer, format="png", dpi=dpi, metadata=metadata, pil_kwargs={"compress_level": _SQUEEZE}
        )
    return buffer.getvalue()


def _steady(figure: Figure) -> None:
    """Round all that is drawn, and the frames it is drawn in."""
    wide, high = _rounded(figure.get_size_inches())
    figure.set_size_inches(wide, high)
    for axes in figure.axes:
        left, low, wide, high = axes.get_position().bounds
        axes.set_position((round(left, 9), round(low, 9), round(wide, 9), round(high, 9)))
        axes.set_xlim(*_rounded(axes.get_xlim()))
        axes.set_ylim(*_rounded(axes.get_ylim()))
        _steady_shapes(axes)


def _steady_shapes(axes: Axes) -> None:
    for line in axes.lines:
        line.set_data(*np.round(np.asarray(line.get_xydata(), dtype=float), _DECIMALS).T)
    for patch in axes.patches:
        if isinstance(patch, Rectangle):
            patch.set_bounds(*_rounded((*patch.xy, patch.get_width(), patch.get_height())))
    for path in (path for collection in axes.collections for path in collection.get_paths()):
        path.vertices = np.round(np.asarray(path.vertices), _DECIMALS)
    for text in axes.texts:
        x, y = _rounded(text.get_position())
        text.set_position((x, y))
        if isinstance(text, Annotation):
            x, y = _rounded(text.xy)
            text.xy = (x, y)


def _rounded(values: Iterable[float]) -> list[float]:
    return [round(float(v), _DECIMALS) for v in values]


def _named(svg: str) -> str:
    """The names of paths counted as they are met; the library makes them of all digits of a place."""
    names = {name: f"{name[0]}{k}" for k, name in enumerate(dict.fromkeys(_ID.findall(svg)), start=1)}
    return re.sub("|".join(names) or "$^", lambda found: names[found[0]], svg)


def _words(figure: Figure) -> tuple[str, str]:
    if not isinstance(figure, Drawing):
        return "drawing", ""
    return xml_text(figure.title), xml_text(figure.description)


def _described(svg: str, title: str, description: str) -> str:
    """Put the words where screen readers look: first inside the `svg` element, in plain reach of it."""
    words = f"<title>{escape(title)}</title>\n <desc>{escape(description)}</desc>"
    svg = svg.replace("<title>drawing</title>", words, 1)
    svg = svg.replace("<dc:title>drawing</dc:title>", f"<dc:title>{escape(title)}</dc:title>", 1)
    return svg.replace("<svg ", '<svg role="img" ', 1)
