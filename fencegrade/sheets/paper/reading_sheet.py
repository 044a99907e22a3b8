"""The blank sheet that readings are written on: one page, large, for a pencil in the rain."""

from fencegrade.sheets.drawings.picture import BLACK, MIDDLE, text_width, wrapped
from fencegrade.sheets.paper.page import LINE, Paper
from fencegrade.units import UnitSystem

ROWS = 20
ROUTINE = (
    "Stakes past both ends of the fence; string pulled tight between them, {span} a set-up at most.",
    "Hang the line level at the middle, level the string, turn the level end for end, split the difference. "
    "TAKE THE LINE LEVEL OFF: its weight pulls the string down.",
    "Hold the long tape level beside the string, zero at the start; on a slope do not lay it on the ground.",
    "One holds the short tape plumb and reads string to soil, not to snow, leaves or long grass. The other "
    "writes, and says the number back.",
    "Read every {step}, and wherever the ground bends: crest, foot, root, ditch edge, paving edge; "
    "note: break.",
    "Sag: bring the height of both ends to the middle (water level, laser); measure down to the string.",
    "At a wall or kerb take two readings at one station: write before and after under side.",
    "More than one string: read the stake they share from both before the first comes down.",
    "Last of all read the first stake again. More than {slip} off: the string moved, begin anew.",
    "Photograph the sheet before you leave.",
)
"""How two people measure, step by step; figures by the units."""

_FIGURES = {
    UnitSystem.IMPERIAL: {"span": "50 ft", "step": "4 ft", "slip": "1/4 in"},
    UnitSystem.METRIC: {"span": "15 m", "step": "1.2 m", "slip": "6 mm"},
}
"""Figures of the routine: common practice, no source."""
_COLUMNS = (("station", 0.22), ("drop", 0.22), ("side", 0.16), ("note", 0.40))


def reading_sheet(system: UnitSystem) -> bytes:
    """A blank sheet for string readings, as PDF of one page.

    `system`: Letter with feet and inches for imperial, A4 with metres and millimetres for metric. Result: the
    same bytes every time.
    """
    return reading_paper(system).pdf("Blank sheet for string readings")


def reading_paper(system: UnitSystem) -> Paper:
    """The page of the reading sheet before it becomes a PDF."""
    paper = Paper(system=system, title="Readings from the string down to the soil")
    paper.place = "feet and inches" if system is UnitSystem.IMPERIAL else "metres and millimetres"
    paper.new_page("Reading sheet")
    _draw_blanks(paper, ("job", 0.42), ("run", 0.33), ("date", 0.25))
    _draw_blanks(
        paper,
        ("string", 0.15),
        ("from station", 0.22),
        ("to station", 0.20),
        ("fall of far end", 0.23),
        ("sag", 0.20),
    )
    _draw_routine(paper, system)
    _draw_rows(paper, system)
    return paper


def _draw_blanks(paper: Paper, *blanks: tuple[str, float]) -> None:
    """Names with a line to write on behind each; widths as shares of the page."""
    x, y = paper.left, paper.y + 15
    for name, share in blanks:
        paper.text(x, y, name, 10.5, bold=True)
        start = x + text_width(name, 10.5, True) + 6
        x += share * paper.width
        paper.line(start, y + 2, x - 8, y + 2, width=0.9)
    paper.y += 25


def _draw_routine(paper: Paper, system: UnitSystem) -> None:
    size = 9.3
    paper.y += 2
    for number, text in enumerate(ROUTINE, start=1):
        paper.text(paper.left + 11, paper.y + 0.95 * size, f"{number}", size, bold=True, anchor=1.0)
        for line in wrapped(text.format(**_FIGURES[system]), paper.width - 20, size):
            paper.text(paper.left + 19, paper.y + 0.95 * size, line, size)
            paper.y += 1.2 * size
        paper.y += 1
    paper.y += 5


def _draw_rows(paper: Paper, system: UnitSystem) -> None:
    """The columns; the first row and the last are for the first stake."""
    units = ("ft", "in") if system is UnitSystem.IMPERIAL else ("m", "mm")
    heads = [f"station ({units[0]})", f"drop ({units[1]})", "side", "note"]
    high = (paper.bottom + 6 - paper.y - LINE * 12) / ROWS
    top, x = paper.y, paper.left
    bottom = top + LINE * 12 + ROWS * high
    for head, (_, share) in zip(heads, _COLUMNS, strict=True):
        paper.text(x + 5, top + 12, head, 12.0, bold=True)
        paper.line(x, top, x, bottom, width=0.9)
        x += share * paper.width
    paper.line(paper.right, top, paper.right, bottom, width=0.9)
    paper.line(paper.left, top, paper.right, top, width=0.9)
    for k in range(ROWS + 1):
        y = top + LINE * 12 + k * high
        width, grey = (0.7, MIDDLE) if k % 5 else (1.2, BLACK)
        paper.line(paper.left, y, paper.right, y, width, grey)
    paper.text(paper.right - 6, top + LINE * 12 + 0.66 * high, "first stake", 9.5, anchor=1.0)
    paper.text(paper.right - 6, bottom - 0.34 * high, "first stake again", 9.5, anchor=1.0)
