"""A drawing as bytes: the same drawing always gives the same bytes."""

import io
import re
import warnings
from xml.sax.saxutils import escape

from matplotlib.figure import Figure

from fencegrade.sheets.drawings.canvas import Drawing
from fencegrade.sheets.drawings.style import house_style

_SQUEEZE = 3
"""Effort put into making a PNG small: more takes longer and wins nothing on line drawings."""

_NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def svg_bytes(figure: Figure) -> bytes:
    """The drawing as SVG with real text, and a title and description for those who cannot see it.

    `figure`: a drawing. Result: UTF-8 bytes without a date.
    """
    buffer = io.BytesIO()
    with house_style(), warnings.catch_warnings(action="ignore", category=UserWarning):
        metadata = {"Title": "drawing", "Creator": "fencegrade", "Date": None}
        figure.savefig(buffer, format="svg", metadata=metadata)
    return _described(buffer.getvalue().decode(), *_words(figure)).encode()


def png_bytes(figure: Figure, dpi: float = 150) -> bytes:
    """The drawing as PNG. `figure`: a drawing; `dpi`: pixels in an inch of paper."""
    title, description = _words(figure)
    buffer = io.BytesIO()
    with house_style(), warnings.catch_warnings(action="ignore", category=UserWarning):
        metadata = {"Software": "fencegrade", "Title": title, "Description": description}
        figure.savefig(
            buffer, format="png", dpi=dpi, metadata=metadata, pil_kwargs={"compress_level": _SQUEEZE}
        )
    return buffer.getvalue()


def _words(figure: Figure) -> tuple[str, str]:
    if not isinstance(figure, Drawing):
        return "drawing", ""
    return _NOT_XML.sub(" ", figure.title), _NOT_XML.sub(" ", figure.description)


def _described(svg: str, title: str, description: str) -> str:
    """Put the words where screen readers look: first inside the `svg` element, in plain reach of it."""
    words = f"<title>{escape(title)}</title>\n <desc>{escape(description)}</desc>"
    svg = svg.replace("<title>drawing</title>", words, 1)
    svg = svg.replace("<dc:title>drawing</dc:title>", f"<dc:title>{escape(title)}</dc:title>", 1)
    return svg.replace("<svg ", '<svg role="img" ', 1)
