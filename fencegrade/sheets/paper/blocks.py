"""What sheets are made of: headings, paragraphs, boxes, lists to tick, cautions, tables and pictures."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import Any
from xml.sax.saxutils import escape

from msgspec import Struct
from msgspec.structs import replace
from reportlab.lib.colors import Color, black
from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import Flowable, KeepTogether, Paragraph, Spacer, Table, TableStyle

from fencegrade.planning.plan import FencePlan
from fencegrade.sheets.cautions import Work
from fencegrade.sheets.drawings.picture import BOLD, REGULAR, Picture, plain, text_width
from fencegrade.sheets.paper.pen import draw_items
from fencegrade.sheets.paper.sheet import SMALL, Look, Section
from fencegrade.sheets.plan_cautions import work_cautions
from fencegrade.sheets.unbroken import unbroken

BODY = 11.0
"""Type size of paragraphs and rows, points."""
TICK = 13.0
"""Side of a box to tick (points): near 5 mm, wide enough for a wet glove and a carpenter's pencil."""
LINE = 1.22
"""Height of a line over its type size."""
PAD = 4.0
"""Points beside the text of a cell."""
_LEAST_TEXT = 0.4
"""Share of its longest word to which a column of texts gives way before one of figures is broken."""

_FACE = ("FONTNAME", (0, 0), (-1, -1), REGULAR)
"""A table's own face is another even where no cell uses it."""
_PALE = Color(0.55, 0.55, 0.55)


def _style(name: str, size: float, bold: bool = False, **more: Any) -> ParagraphStyle:
    return ParagraphStyle(
        name,
        fontName=BOLD if bold else REGULAR,
        fontSize=size,
        leading=LINE * size,
        splitLongWords=1,
        allowWidows=0,
        allowOrphans=0,
        textColor=black,
        **more,
    )


_TITLE = _style("title", 17.0, True, spaceBefore=6, spaceAfter=2)
_HEADING = _style("heading", 12.5, True, spaceBefore=5, spaceAfter=1)
_PLAIN = _style("plain", BODY, spaceAfter=3)
_STRONG = _style("strong", BODY, True, spaceAfter=3)
_SMALL = _style("small", SMALL, spaceAfter=2)
_SMALL_STRONG = _style("small strong", SMALL, True, spaceAfter=2)


def _set(text: str) -> str:
    """Words as a paragraph takes them: for reading, without markup, no figure torn from its unit."""
    return escape(unbroken(plain(text)))


def words(text: str, *, bold: bool = False, small: bool = False) -> Paragraph:
    """A paragraph; `small`: in the least type size."""
    style = (_SMALL_STRONG if bold else _SMALL) if small else (_STRONG if bold else _PLAIN)
    return Paragraph(_set(text), style)


def named(name: str, text: str, *, small: bool = False) -> Paragraph:
    """A paragraph that begins with its name in bold."""
    style = _SMALL if small else _PLAIN
    return Paragraph(f"<b>{_set(name)}</b> {_set(text)}", style)


def named_all(said: Iterable[tuple[str, str]]) -> Paragraph:
    """What `named` makes of each, in one small paragraph."""
    return Paragraph(". ".join(f"<b>{_set(n)}</b> {_set(t)}" for n, t in said), _SMALL)


def title(name: str, place: str) -> list[Flowable]:
    """The heading of a section, which names its pages; `place`: the run it belongs to."""
    return [Section(name, place), Paragraph(_set(name), _TITLE)]


def heading(text: str) -> Paragraph:
    """A heading within a section."""
    made = Paragraph(_set(text), _HEADING)
    made.keepWithNext = True
    return made


def set_out(rows: list[list[Any]], widths: list[Any], *more: tuple[Any, ...], **whole: Any) -> Table:
    """Rows of blocks side by side; `whole`: what holds for all of them, `more`: commands for some."""
    made = Table(rows, colWidths=widths)
    commands = [(name, (0, 0), (-1, -1), value) for name, value in whole.items()]
    made.setStyle(TableStyle([_FACE, *commands, *more]))
    return made


def boxed(text: str) -> Table:
    """A paragraph in a frame, for what must not be missed."""
    frame = ("BOX", (0, 0), (-1, -1), 1.5, black)
    made = set_out([[words(text, bold=True)]], ["100%"], frame, BOTTOMPADDING=2)
    made.spaceBefore, made.spaceAfter = 3, 5
    return made


def kept(parts: Iterable[Flowable]) -> KeepTogether:
    """Parts that stay on one page."""
    return KeepTogether(list(parts))


def taken(parts: Iterable[Flowable], look: Look) -> float:
    """How high (points) parts stand one under another over the whole width of a page."""
    high = after = 0.0
    for part in parts:
        for one in vars(part)["_content"] if isinstance(part, KeepTogether) else [part]:
            high += max(after, one.getSpaceBefore() if high else 0.0) + one.wrap(look.width, look.height)[1]
            after = one.getSpaceAfter()
    return high


def gap(points: float) -> Spacer:
    """Room between two things."""
    return Spacer(1, points)


class Tick(Flowable):
    """A box to tick."""

    def __init__(self, size: float = TICK, ticked: bool = False) -> None:
        super().__init__()
        self.width = self.height = size
        self.ticked = ticked

    def draw(self) -> None:
        """The box, and a tick where it is done."""
        self.canv.setStrokeGray(0)
        self.canv.setLineWidth(1.1)
        self.canv.rect(0, 0, self.width, self.height)
        if self.ticked:
            self.canv.setLineWidth(1.8)
            size = self.width
            self.canv.lines(
                [(0.15 * size, 0.5 * size, 0.4 * size, 0.2 * size), (0.4 * size, 0.2 * size, size, size)]
            )


def to_tick(texts: Iterable[str], width: float, ticked: bool = False) -> Table:
    """A list of lines behind boxes to tick."""
    rows = [[Tick(TICK, ticked), words(text)] for text in texts]
    widths = [TICK + 10, width - TICK - 10]
    return set_out(rows, widths, LEFTPADDING=0, VALIGN="MIDDLE", TOPPADDING=1, BOTTOMPADDING=2)


def cautions_of(plan: FencePlan, *works: Work) -> list[Flowable]:
    """The cautions of some kinds of work, each whole, behind a bar."""
    texts = [c.whole for c in work_cautions(plan, *works)]
    rows = [[heading("Take care")], *([words(text, small=True)] for text in texts)]
    bar, whole_first = ("LINEBEFORE", (0, 1), (0, -1), 2.2, black), ("NOSPLIT", (0, 0), (0, 1))
    at_edge = ("LEFTPADDING", (0, 0), (0, 0), 0)
    return [set_out(rows, ["100%"], bar, whole_first, at_edge, TOPPADDING=1, BOTTOMPADDING=1, RIGHTPADDING=0)]


def cautions_once(plan: FencePlan, index: int, *works: Work, first: int = 0) -> list[Flowable]:
    """The cautions of some kinds of work on the sheet of the `first` run with one; the others' name it."""
    if index == first:
        return cautions_of(plan, *works)
    return [words(f"Take care as on this sheet of {plan.runs[first].run.name}.", bold=True, small=True)]


def first_to_come(plan: FencePlan) -> int:
    """Index of the first run with pickets still to be cut and hung, 0 where none has any."""
    return next((k for k, run in enumerate(plan.runs) if run.layout.coming.any()), 0)


class _Grid(Struct, frozen=True, kw_only=True):
    """A table ready to be set; `right`, `bold`: columns that line up on the right, and that are in bold."""

    heads: tuple[str, ...]
    rows: Sequence[Sequence[str]]
    right: frozenset[int]
    bold: frozenset[int]
    tick: bool
    size: float
    row: float


def grid(
    width: float,
    heads: tuple[str, ...],
    rows: Sequence[Sequence[str]],
    *,
    left: Collection[str] = (),
    bold: Collection[str] = (),
    tick: bool = False,
    done: Collection[int] = (),
    over: Sequence[Flowable] = (),
    size: float = BODY,
    row: float = 17.0,
    notes: Mapping[int, str] | None = None,
) -> Table:
    """A table `width` points wide: rows stay whole, headings come again on every page.

    `left`, `bold`: headings of columns whose cells begin at the left, the others line up on the right, and of
    those in bold; `tick`: a box ends every row but those `done` (places); `over`: lines that stand over the
    headings, over the whole width; the first comes again with them; `size`: type size; `row`: least height of
    a row; `notes`: words under a row, by its place.
    """
    right = frozenset(k for k, head in enumerate(heads) if head not in left)
    strong = frozenset(k for k, head in enumerate(heads) if head in bold)
    made, widths = _fitted(
        _Grid(heads=heads, rows=rows, right=right, bold=strong, tick=tick, size=size, row=row), width
    )
    if over:
        widths = [w + max(0.0, width - sum(widths)) / len(widths) for w in widths]
    columns = len(widths)
    body: list[list[Any]] = [[line, *[""] * (columns - 1)] for line in over]
    body.append([*(_head(h, k in right) for k, h in enumerate(heads)), *[""] * tick])
    first, begin = len(body), int(0 in right)
    style: list[tuple[Any, ...]] = _base(made, first)
    style += [("SPAN", (0, k), (-1, k)) for k in range(len(over))]
    for place, cells in enumerate(rows):
        at, fifth = len(body), place % 5 == 4
        box = ["" if place in done else Tick()] * tick
        body.append([*(_cell(made, k, text, widths[k]) for k, text in enumerate(cells)), *box])
        line = (0.9, black) if fifth else (0.4, _PALE)
        if notes and place in notes:
            style += [("SPAN", (begin, at + 1), (-1, at + 1)), ("NOSPLIT", (0, at), (0, at + 1))]
            style.append(("TOPPADDING", (0, at + 1), (-1, at + 1), 0))
            body.append([*[""] * begin, words(notes[place], small=True), *[""] * (columns - 1 - begin)])
        style.append(("LINEBELOW", (0, len(body) - 1), (-1, len(body) - 1), *line))
    table = Table(body, colWidths=widths, repeatRows=(0, first - 1) if over else first)
    table.setStyle(TableStyle(style))
    table.hAlign = "LEFT"
    table.spaceAfter = 6
    return table


def fits(
    width: float,
    heads: tuple[str, ...],
    rows: Sequence[Sequence[str]],
    left: Collection[str],
    bold: Collection[str],
    size: float = BODY,
) -> bool:
    """Whether a `grid` of these, with boxes to tick, is set without breaking a word or a figure."""
    right = frozenset(k for k, head in enumerate(heads) if head not in left)
    strong = frozenset(k for k, head in enumerate(heads) if head in bold)
    made = _Grid(heads=heads, rows=rows, right=right, bold=strong, tick=True, size=min(size, SMALL), row=0.0)
    return _widths(made, width) is not None


def _base(made: _Grid, first: int) -> list[tuple[Any, ...]]:
    pad = max(0.5, (made.row - LINE * made.size) / 2)
    style: list[tuple[Any, ...]] = [
        ("FONT", (0, 0), (-1, -1), REGULAR, made.size, LINE * made.size),
        ("TEXTCOLOR", (0, 0), (-1, -1), black),
        ("VALIGN", (0, first), (-1, -1), "MIDDLE"),
        ("VALIGN", (0, 0), (-1, first - 1), "BOTTOM"),
        ("LEFTPADDING", (0, 0), (-1, -1), PAD / 2),
        ("RIGHTPADDING", (0, 0), (-1, -1), PAD),
        ("TOPPADDING", (0, 0), (-1, -1), pad),
        ("BOTTOMPADDING", (0, 0), (-1, -1), pad),
        ("TOPPADDING", (0, 0), (-1, first - 1), 1),
        ("BOTTOMPADDING", (0, 0), (-1, first - 1), 1),
        ("LINEBELOW", (0, first - 1), (-1, first - 1), 1.2, black),
    ]
    style += [("ALIGN", (k, first), (k, -1), "RIGHT") for k in made.right]
    style += [("FONTNAME", (k, first), (k, -1), BOLD) for k in made.bold]
    if made.tick:
        style += [
            ("ALIGN", (-1, first), (-1, -1), "RIGHT"),
            ("RIGHTPADDING", (-1, first), (-1, -1), 1),
            ("TOPPADDING", (-1, first), (-1, -1), 2),
            ("BOTTOMPADDING", (-1, first), (-1, -1), 2),
        ]
    return style


_HEADS = {side: _style(f"head {side}", SMALL, True, alignment=side) for side in (0, 2)}


def _head(text: str, right: bool) -> Paragraph:
    return Paragraph(escape(_whole_unit(text)), _HEADS[2 if right else 0])


def _whole_unit(head: str) -> str:
    """A heading whose unit in brackets is not broken over two lines."""
    before, bracket, unit = head.partition("[")
    return before + bracket + unit.replace(" ", "\N{NO-BREAK SPACE}")


def _cell(made: _Grid, column: int, text: str, width: float) -> Any:
    """A cell: plain where it fits on a line, else a paragraph."""
    text, bold = plain(text), column in made.bold
    if text_width(text, made.size, bold) <= width - 1.5 * PAD:
        return text
    style = _style("cell", made.size, bold, alignment=2 if column in made.right else 0)
    return Paragraph(_set(text), style)


def _fitted(made: _Grid, width: float) -> tuple[_Grid, list[float]]:
    """The grid in the largest type that breaks no word or figure, in the least if none does; its columns."""
    for size in (made.size, SMALL):
        smaller = replace(made, size=min(size, made.size))
        if (widths := _widths(smaller, width)) is not None:
            return smaller, widths
    return smaller, _widths(smaller, width, crowded=True) or []


def _widths(made: _Grid, width: float, *, crowded: bool = False) -> list[float] | None:
    """Columns as wide as they like; where that is too much, texts give way; what is left over is shared.

    None where a word or a figure would have to be broken, which only a `crowded` grid may, its texts first.
    """
    room = width - (TICK + 6 if made.tick else 0.0)
    like, least = [], []
    for k, head in enumerate(made.heads):
        bold = k in made.bold
        cells = [plain(row[k]) for row in made.rows]
        word = max((text_width(w, SMALL, True) for w in _whole_unit(head).split(" ")), default=0.0)
        natural = max([text_width(c, made.size, bold) for c in cells] + [word])
        broken = max([text_width(w, made.size, bold) for c in cells for w in unbroken(c).split(" ")] + [word])
        like.append(natural + 1.6 * PAD)
        least.append((natural if k in made.right else min(natural, max(broken, word))) + 1.6 * PAD)
    over = sum(like) - room
    if over > 0:
        give = [a - b for a, b in zip(like, least, strict=True)]
        share = min(1.0, over / sum(give)) if sum(give) > 0 else 0.0
        like = [a - share * g for a, g in zip(like, give, strict=True)]
        if over > sum(give):
            if not crowded:
                return None
            like = _crowded(like, [k in made.right for k in range(len(like))], room)
    else:
        extra = min(-over / len(like), 1.6 * made.size)
        like = [a + extra for a in like]
    return [*like, *([TICK + 6] if made.tick else [])]


def _crowded(least: list[float], figures: list[bool], room: float) -> list[float]:
    """Columns squeezed into `room`: those of `figures` stay whole as long as texts can give way to them."""
    whole = sum(w for w, figure in zip(least, figures, strict=True) if figure)
    share = (room - whole) / (sum(least) - whole) if sum(least) > whole else 0.0
    if share < _LEAST_TEXT:
        return [w * room / sum(least) for w in least]
    return [w if figure else w * share for w, figure in zip(least, figures, strict=True)]


class Drawn(Flowable):
    """A picture on the sheet, in greys."""

    def __init__(self, picture: Picture) -> None:
        super().__init__()
        self.picture = picture
        self.width, self.height = picture.width, picture.height

    def draw(self) -> None:
        """Lay it on the page."""
        draw_items(self.canv, self.picture.items, self.height)
