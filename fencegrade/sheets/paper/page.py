"""Pages of paper: what stands on them as data, then as one PDF with embedded fonts and text that is text.

Places are points from the top left corner of the page, downward; a text stands on its baseline.

+--------------------------------+  top
| job                        run |  on every page
| heading                        |
|  ...                           |  <- `Paper.y`, where the next thing goes
| tag                page 3 of 9 |
+--------------------------------+
"""

import io
from collections.abc import Iterator
from dataclasses import dataclass, field

from reportlab.pdfgen.canvas import Canvas

from fencegrade.sheets.drawings.picture import (
    BLACK,
    REGULAR,
    Item,
    Shape,
    Text,
    fitted,
    known_fonts,
    plain,
    text_width,
    wrapped,
)
from fencegrade.sheets.paper import sheet
from fencegrade.sheets.paper.pen import draw_items
from fencegrade.units import UnitSystem

POINTS = 72.0
"""Points in an inch of paper."""
SIZES = {UnitSystem.IMPERIAL: sheet.SIZES["letter"], UnitSystem.METRIC: sheet.SIZES["A4"]}
"""Letter for imperial, A4 for metric."""
LEFT, RIGHT, TOP, FOOT = 46.0, 36.0, 34.0, 34.0
"""Margins; more on the left, for holes or a clip."""

BODY, SMALL, HEADING = 13.0, 10.5, 21.0
"""Type sizes, points."""
LINE = 1.24
"""Height of a line over its type size."""


@dataclass(slots=True, kw_only=True)
class Page:
    """One page: its heading, which stands in the PDF's outline too, and what is on it."""

    heading: str
    items: list[Item] = field(default_factory=list)


@dataclass(slots=True, kw_only=True)
class Paper:
    """A pad of pages being filled, top to bottom.

    `system`: Letter for imperial, A4 for metric; `title`: the job; `y`: where the next thing goes; `place`:
    the run, or whatever the pages now belong to; `warned`: what stands over every page of it, bold.
    """

    system: UnitSystem
    title: str
    pages: list[Page] = field(default_factory=list)
    y: float = 0.0
    place: str = ""
    warned: str = ""

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of a page."""
        return SIZES[self.system]

    @property
    def left(self) -> float:
        """Where lines begin."""
        return LEFT

    @property
    def right(self) -> float:
        """Where lines end."""
        return self.size[0] - RIGHT

    @property
    def width(self) -> float:
        """Width of a line."""
        return self.right - self.left

    @property
    def bottom(self) -> float:
        """Where a page is full."""
        return self.size[1] - FOOT - 26

    @property
    def room(self) -> float:
        """Height that is left on the page."""
        return self.bottom - self.y

    def new_page(self, heading: str) -> None:
        """Begin a page with its heading."""
        self.pages.append(Page(heading=heading))
        self._head()
        self.y += HEADING
        self.text(self.left, self.y, heading, HEADING, bold=True)
        self.y += 0.2 * HEADING + 7

    def continue_page(self) -> None:
        """Go on with the same heading on the next page."""
        heading = self.pages[-1].heading.removesuffix(", continued")
        self.new_page(f"{heading}, continued")

    def _head(self) -> None:
        place = fitted(self.place, self.width * 0.42, SMALL)
        taken = text_width(place, SMALL) + 14
        title = fitted(self.title, self.width - taken, SMALL, bold=True)
        self.y = TOP + SMALL
        self.text(self.left, self.y, title, SMALL, bold=True)
        self.text(self.right, self.y, place, SMALL, anchor=1.0)
        self.y += 5
        self.line(self.left, self.y, self.right, self.y, width=1.0)
        self.y += 6
        if self.warned:
            self.text(
                self.left, self.y + SMALL, fitted(self.warned, self.width, SMALL, bold=True), SMALL, bold=True
            )
            self.y += LINE * SMALL + 6

    def add(self, item: Item) -> None:
        """Put something on the page."""
        self.pages[-1].items.append(item)

    def text(
        self, x: float, y: float, text: str, size: float, bold: bool = False, anchor: float = 0.0
    ) -> None:
        """A line of text anywhere."""
        self.add(Text(x=x, y=y, text=plain(text), size=size, bold=bold, anchor=anchor))

    def line(
        self,
        x: float,
        y: float,
        x2: float,
        y2: float,
        width: float,
        grey: float = BLACK,
        dashes: tuple[float, ...] = (),
    ) -> None:
        """A straight line anywhere."""
        self.add(Shape(points=((x, y), (x2, y2)), width=width, grey=grey, dashes=dashes))

    def write(self, text: str, size: float = BODY) -> None:
        """A paragraph at the place where the next thing goes."""
        for line in wrapped(text, self.width, size):
            self.text(self.left, self.y + 0.95 * size, line, size)
            self.y += LINE * size
        self.y += 4.0

    def frame(
        self, x: float, y: float, wide: float, high: float, width: float, fill: float | None = None
    ) -> None:
        """A rectangle from its top left corner."""
        corners = ((x, y), (x + wide, y), (x + wide, y + high), (x, y + high))
        self.add(Shape(points=corners, width=width, fill=fill, closed=True))

    def pdf(self, subject: str) -> bytes:
        """The pages as PDF, the same bytes for the same pages; `subject` tells what they are."""
        known_fonts()
        buffer = io.BytesIO()
        canvas = Canvas(
            buffer,
            pagesize=self.size,
            invariant=True,
            pageCompression=True,
            initialFontName=REGULAR,  # type: ignore[arg-type]  # the stubs say a number
            lang="en",
        )
        canvas.setTitle(plain(self.title))
        canvas.setSubject(subject)
        canvas.setAuthor("fencegrade")
        canvas.setCreator("fencegrade")
        for number, page in enumerate(self.pages, start=1):
            canvas.bookmarkPage(f"page-{number}")
            if not page.heading.endswith(", continued"):
                canvas.addOutlineEntry(page.heading, f"page-{number}")
            draw_items(canvas, [*page.items, *self._foot(number)], self.size[1])
            canvas.showPage()
        canvas.save()
        return buffer.getvalue()

    def _foot(self, number: int) -> Iterator[Item]:
        y = self.size[1] - FOOT
        yield Shape(points=((self.left, y - 14), (self.right, y - 14)), width=0.6)
        yield Text(x=self.right, y=y, text=f"page {number} of {len(self.pages)}", size=SMALL, anchor=1.0)
