"""Sheets that flow: sections, paragraphs and tables set page after page, in black alone.

+--------------------------------+
| job                        run |  on every page
| Section                        |
|  ...            |  ...         |  one column or two
| tag                page 3 of 9 |
+--------------------------------+
"""

import io
from collections.abc import Callable, Sequence
from typing import Any

from msgspec import Struct
from reportlab.pdfgen.canvas import Canvas
from reportlab.pdfgen.textobject import PDFTextObject
from reportlab.platypus import (
    BaseDocTemplate,
    CondPageBreak,
    Flowable,
    Frame,
    NextPageTemplate,
    PageBreak,
    PageTemplate,
)

from fencegrade.sheets.drawings.picture import BOLD, REGULAR, fitted, known_fonts, plain, text_width

SIZES = {"letter": (612.0, 792.0), "A4": (595.28, 841.89)}
"""Letter and A4 upright, points: ANSI/ASME Y14.1 size A and ISO 216."""
LEFT, RIGHT, TOP, FOOT = 42.0, 32.0, 30.0, 30.0
"""Margins; more on the left, for holes or a clip."""
HEAD, TAIL = 22.0, 22.0
"""Room for what stands on every page over and under the columns, points."""
WARNED = 14.0
"""Points more over the columns where pages carry a warning at their head."""
BETWEEN = 14.0
"""Points between two columns."""
SMALL = 10.0
"""Least type size on a sheet, points."""

_ONE, _TWO = "one", "two"


class Look(Struct, frozen=True, kw_only=True):
    """What every page shows: the job's title, a tag at the foot, the size of the paper in points, and by
    the place (run) its pages belong to what stands in a line of its own at their head.
    """

    title: str
    tag: str
    size: tuple[float, float]
    warned: dict[str, str]

    @property
    def head(self) -> float:
        """Room for what stands over the columns."""
        return HEAD + (WARNED if self.warned else 0.0)

    @property
    def width(self) -> float:
        """Width of a line over the whole page."""
        return self.size[0] - LEFT - RIGHT

    @property
    def height(self) -> float:
        """Height of a column."""
        return self.size[1] - TOP - FOOT - self.head - TAIL

    @property
    def column(self) -> float:
        """Width of one of two columns."""
        return (self.width - BETWEEN) / 2


class Section(Flowable):
    """Where a section begins: it has no size, and names the pages from here on."""

    def __init__(self, name: str, place: str) -> None:
        super().__init__()
        self.name, self.place = plain(name), plain(place)
        self.width = self.height = 0.0

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:
        """It takes no room."""
        return 0.0, 0.0

    def draw(self) -> None:
        """Tell the canvas."""
        self.canv.begin(self.name, self.place)  # type: ignore[attr-defined]


class _GreyText(PDFTextObject):
    """Text whose colours are greys."""

    def setFillColor(self, aColor: Any, alpha: Any = None) -> None:  # noqa: N802
        self._code.append(f"{_grey(aColor):g} g")  # type: ignore[attr-defined]  # not in the stubs

    setStrokeColor = setFillColor  # noqa: N815


def _grey(color: Any) -> float:
    parts = color.rgb() if hasattr(color, "rgb") else (0.0, 0.0, 0.0)
    return round(sum(float(p) for p in parts) / 3, 3)


class SheetCanvas(Canvas):
    """Pages kept until their number is known; greys only."""

    look: Look

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        self._kept: list[dict[str, Any]] = []
        self._section = self._place = self._begun = self._before = ""
        self._places: tuple[str, ...] = ()

    def begin(self, name: str, place: str) -> None:
        """A section begins here."""
        x, y = self.absolutePosition(0, 0)
        if x < LEFT + 1 and y > self.look.size[1] - TOP - self.look.head - 1 and not self._begun:
            self._before = ""
        if name != self._section or place != self._place:
            self._begun = self._begun or name
        self._section, self._place = name, place
        self._places = tuple(dict.fromkeys((*self._places, place)))

    def setFillColor(self, aColor: Any, alpha: Any = None) -> None:  # noqa: N802
        """Fill in the grey of a colour."""
        self.setFillGray(_grey(aColor))

    def setStrokeColor(self, aColor: Any, alpha: Any = None) -> None:  # noqa: N802
        """Draw in the grey of a colour."""
        self.setStrokeGray(_grey(aColor))

    def beginText(self, x: float = 0, y: float = 0, direction: Any = None) -> PDFTextObject:  # noqa: N802
        """Begin a text whose colours are greys."""
        return _GreyText(self, x, y)

    def showPage(self) -> None:  # noqa: N802
        """Keep the page."""
        self._kept.append(dict(self.__dict__))
        self._startPage()  # type: ignore[attr-defined]  # not in the stubs
        self._begun, self._before = "", self._section
        self._places = (self._place,)

    def save(self) -> None:
        """Write every page with what stands on each of them."""
        kept = self._kept
        for number, state in enumerate(kept, start=1):
            self.__dict__.update(state)
            if self._begun:
                self.bookmarkPage(f"page-{number}")
                self.addOutlineEntry(f"{self._begun}", f"page-{number}")
            self._frame(number, len(kept))
            super().showPage()
        super().save()

    def _frame(self, number: int, count: int) -> None:
        look, (wide, high) = self.look, self.look.size
        right, y = wide - RIGHT, high - TOP - SMALL
        self.setFillGray(0)
        self.setStrokeGray(0)
        told = f"{self._before}, continued; {self._place}" if self._before else self._place
        told = fitted(told, look.width * 0.5, SMALL)
        self.setFont(REGULAR, SMALL)
        self.drawRightString(right, y, told)
        self.setFont(BOLD, SMALL)
        self.drawString(LEFT, y, fitted(look.title, look.width - text_width(told, SMALL) - 14, SMALL, True))
        self.setLineWidth(0.8)
        self.line(LEFT, y - 5, right, y - 5)
        warned = [text for place, text in look.warned.items() if place in self._places]
        for text in warned[-1:]:
            self.drawString(LEFT, y - 5 - WARNED, fitted(text, look.width, SMALL, True))
        pages = f"page {number} of {count}"
        self.line(LEFT, FOOT + 14, right, FOOT + 14)
        self.drawString(LEFT, FOOT, fitted(look.tag, look.width - text_width(pages, SMALL) - 20, SMALL, True))
        self.setFont(REGULAR, SMALL)
        self.drawRightString(right, FOOT, pages)


def one_column() -> list[Flowable]:
    """Go on in one column on the next page."""
    return [NextPageTemplate(_ONE), PageBreak()]


def two_columns() -> list[Flowable]:
    """Go on in two columns on the next page."""
    return [NextPageTemplate(_TWO), PageBreak()]


def room_for(height: float) -> Flowable:
    """Go on on the next page unless `height` points are left."""
    return CondPageBreak(height)


def sheet_pdf(look: Look, subject: str, story: Sequence[Flowable]) -> bytes:
    """The sheets as PDF, the same bytes for the same story.

    look: what every page shows; subject: what the sheets are; story: what flows over them, used up by this.
    """
    known_fonts()
    buffer = io.BytesIO()
    document = BaseDocTemplate(
        buffer,
        pagesize=look.size,
        title=plain(look.title),
        subject=subject,
        author="fencegrade",
        creator="fencegrade",
        lang="en",
        invariant=True,
        pageCompression=True,
        initialFontName=REGULAR,
    )
    base, wide = FOOT + TAIL, look.column
    frames = {
        _ONE: [_frame(LEFT, base, look.width, look.height)],
        _TWO: [_frame(x, base, wide, look.height) for x in (LEFT, LEFT + wide + BETWEEN)],
    }
    document.addPageTemplates([PageTemplate(id=name, frames=f) for name, f in frames.items()])
    document.build(list(story), canvasmaker=_canvas_for(look))
    return buffer.getvalue()


def _frame(x: float, y: float, width: float, height: float) -> Frame:
    return Frame(x, y, width, height, leftPadding=0, rightPadding=0, topPadding=0, bottomPadding=0)


def _canvas_for(look: Look) -> Callable[..., SheetCanvas]:
    def make(*args: Any, **more: Any) -> SheetCanvas:
        canvas = SheetCanvas(*args, **more)
        canvas.look = look
        return canvas

    return make
