"""Draws shapes and texts on a page of a PDF; shapes go straight into its content, for there are thousands."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

from fencegrade.sheets.drawings.picture import BLACK, BOLD, REGULAR, Item, Shape, Text

_PAINT = {(True, True): "B", (True, False): "S", (False, True): "f", (False, False): "n"}
"""Operators that end a path (ISO 32000-1, table 60): is its line drawn, is it filled."""


def draw_items(canvas: Any, items: Sequence[Item], high: float) -> None:
    """Draw items whose places count down from `high` points over the canvas's own zero."""
    canvas.saveState()
    pen = _Pen(canvas=canvas, high=high)
    for item in items:
        if isinstance(item, Text):
            pen.text(item)
        else:
            pen.shape(item)
    canvas.restoreState()


@dataclass(slots=True, kw_only=True)
class _Pen:
    canvas: Any
    high: float
    state: dict[str, str] = field(default_factory=dict)

    def _set(self, operator: str, value: str) -> Iterator[str]:
        """The operator that sets a part of the graphics state, where it is not so already."""
        if self.state.get(operator) != value:
            self.state[operator] = value
            yield f"{value} {operator}"

    def text(self, text: Text) -> None:
        for code in self._set("g", f"{BLACK:g}"):
            self.canvas.addLiteral(code)
        self.canvas.setFont(BOLD if text.bold else REGULAR, text.size)
        self.canvas.drawString(_place(text.box[0]), _place(self.high - text.y), text.text)

    def shape(self, shape: Shape) -> None:
        code = [*self._set("w", f"{shape.width:g}"), *self._set("G", f"{shape.grey:g}")]
        code += self._set("d", f"[{' '.join(f'{d:g}' for d in shape.dashes)}] 0")
        if shape.fill is not None:
            code += self._set("g", f"{shape.fill:g}")
        close = "h " if shape.closed else ""
        for outline in shape.outlines:
            places = [f"{_place(x):.2f} {_place(self.high - y):.2f}" for x, y in outline]
            code.append(f"{places[0]} m " + " ".join(f"{place} l" for place in places[1:]))
            code.append(close + _PAINT[shape.width > 0, shape.fill is not None])
        self.canvas.addLiteral(" ".join(code))


def _place(points: float) -> float:
    """A place (points) without the last bits, which differ by processor: halves are rounded one way."""
    return round(points, 6)
