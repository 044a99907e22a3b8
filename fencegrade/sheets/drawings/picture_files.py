"""A picture as SVG, and as a figure from which its PNG is made."""

import re
from xml.sax.saxutils import escape

from matplotlib.collections import PathCollection
from matplotlib.font_manager import FontProperties
from matplotlib.path import Path

from fencegrade.sheets.drawings import style
from fencegrade.sheets.drawings.canvas import Drawing
from fencegrade.sheets.drawings.picture import BOLD, REGULAR, Picture, Shape, Text, font_files

ACCENT = style.ORANGE
"""The one colour of pictures, for what is to be looked at."""

_NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def picture_svg(drawing: Picture) -> bytes:
    """A picture as SVG with real text, its title and description; UTF-8 bytes."""
    title, description = (escape(xml_text(t)) for t in (drawing.title, drawing.description))
    head = (
        f'<svg role="img" xmlns="http://www.w3.org/2000/svg" width="{_number(drawing.width)}pt" '
        f'height="{_number(drawing.height)}pt" viewBox="0 0 {_number(drawing.width)} '
        f'{_number(drawing.height)}" font-family="DejaVu Sans, Verdana, sans-serif">'
    )
    ground = f'<path d="M0 0H{_number(drawing.width)}V{_number(drawing.height)}H0Z" fill="#ffffff"/>'
    parts = [_svg_text(i) if isinstance(i, Text) else _svg_shape(i) for i in drawing.items]
    body = "\n".join((ground, *parts))
    return f"{head}\n<title>{title}</title>\n<desc>{description}</desc>\n{body}\n</svg>\n".encode()


def xml_text(text: str) -> str:
    """The text with a space for every character that XML cannot hold."""
    return _NOT_XML.sub(" ", text)


def _number(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")


def _grey(value: float) -> str:
    return "#" + 3 * f"{round(255 * value):02x}"


def _inks(shape: Shape) -> tuple[str | None, str]:
    """Colour of a shape's filling, if it has one, and of its line."""
    filling = None if shape.fill is None else ACCENT if shape.accent else _grey(shape.fill)
    line = ACCENT if shape.accent and shape.fill is None else _grey(shape.grey)
    return filling, line


def _svg_shape(shape: Shape) -> str:
    close = "Z" if shape.closed else ""
    path = "".join(
        "M" + "L".join(f"{_number(x)} {_number(y)}" for x, y in outline) + close for outline in shape.outlines
    )
    filling, line = _inks(shape)
    said = f' fill="{filling or "none"}"'
    if shape.width:
        said += f' stroke="{line}" stroke-width="{_number(shape.width)}"'
    if shape.dashes:
        said += f' stroke-dasharray="{" ".join(map(_number, shape.dashes))}"'
    return f'<path d="{path}"{said}/>'


def _svg_text(text: Text) -> str:
    """A text kept to the width it was placed with, whatever face the reader's machine has."""
    anchor = {0.0: "", 0.5: ' text-anchor="middle"', 1.0: ' text-anchor="end"'}[text.anchor]
    weight = ' font-weight="bold"' if text.bold else ""
    words = escape(xml_text(text.text))
    return (
        f'<text x="{_number(text.x)}" y="{_number(text.y)}" font-size="{_number(text.size)}"{weight}{anchor} '
        f'textLength="{_number(text.wide)}" lengthAdjust="spacingAndGlyphs">{words}</text>'
    )


def picture_figure(picture: Picture) -> Drawing:
    """A picture as a figure of the same size."""
    figure = Drawing(figsize=(picture.width / style.POINTS, picture.height / style.POINTS), dpi=style.POINTS)
    figure.title, figure.description = picture.title, picture.description
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set_axis_off()
    axes.set_xlim(0, picture.width)
    axes.set_ylim(picture.height, 0)
    fonts = {name: FontProperties(fname=file) for name, file in font_files().items()}
    sides = {0.0: "left", 0.5: "center", 1.0: "right"}
    for order, item in enumerate(picture.items):
        if isinstance(item, Text):
            axes.text(
                item.x,
                item.y,
                item.text,
                ha=sides[item.anchor],
                va="baseline",
                fontsize=item.size,
                fontproperties=fonts[BOLD if item.bold else REGULAR],
                parse_math=False,
                zorder=order,
            )
            axes.texts[-1].set_fontsize(item.size)
        else:
            axes.add_collection(_collection(item, order), autolim=False)
    return figure


def _collection(shape: Shape, order: int) -> PathCollection:
    filling, line = _inks(shape)
    paths = [Path(list(outline), closed=False) for outline in shape.outlines]
    if shape.closed:
        paths = [Path([*outline, outline[0]], closed=True) for outline in shape.outlines]
    return PathCollection(
        paths,
        facecolors=filling or "none",
        edgecolors=line if shape.width else "none",
        linewidths=shape.width,
        linestyles=(0, tuple(d / shape.width for d in shape.dashes)) if shape.dashes else "solid",
        capstyle="butt",
        joinstyle="miter",
        zorder=order,
    )
