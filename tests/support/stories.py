"""What the field sheets are made of before they are set on pages, in a line each: a pin, as fingerprints are.

It says what no finished page shows: how much room a thing asks for, what is kept together, what comes again.
"""

import contextlib
import zlib
from collections.abc import Iterable, Iterator
from typing import Any
from unittest import mock

from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import CondPageBreak, KeepTogether, PageBreak, Paragraph, Spacer, Table

from fencegrade.sheets.paper import field_sheets
from fencegrade.sheets.paper.sheet import Look, sheet_pdf


@contextlib.contextmanager
def stories() -> Iterator[list[str]]:
    """The lines of every story that is set meanwhile."""
    found: list[str] = []

    def keep(look: Look, subject: str, story: list[Any]) -> bytes:
        styles: dict[str, ParagraphStyle] = {}
        found.append(f"{subject}; {look.warned or 'nothing at the head'}")
        found.extend(_lines(story, styles))
        found.extend(_style(style) for _, style in sorted(styles.items()))
        return sheet_pdf(look, subject, story)

    with mock.patch.object(field_sheets, "sheet_pdf", keep):
        yield found


def _lines(story: Iterable[Any], styles: dict[str, ParagraphStyle]) -> Iterator[str]:
    """Each part by its class, with what sets it apart."""
    for part in story:
        match part:
            case CondPageBreak():
                yield f"room for {part.height:g}"
            case KeepTogether():
                yield f"kept: {' | '.join(_lines(vars(part)['_content'], styles))}"
            case PageBreak():
                yield "page"
            case Paragraph():
                styles[part.style.name] = part.style
                followed = " and what follows" if vars(part).get("keepWithNext") else ""
                yield f"{part.style.name} {_told(part.getPlainText())}{followed}"
            case Table():
                yield _table(part, styles)
            case Spacer():
                yield f"gap {part.height:g}"
            case _:
                own = {k: v for k, v in vars(part).items() if k in {"name", "place", "action", "ticked"}}
                size = [round(float(getattr(part, k, 0)), 1) for k in ("width", "height")]
                yield " ".join(map(str, (type(part).__name__, *own.values(), *size)))


def _table(table: Any, styles: dict[str, ParagraphStyle]) -> str:
    """Widths of its columns, what comes again and how it stands; sums of what is in it and how it is set."""
    cells = [[_cell(cell, styles) for cell in row] for row in table._cellvalues]
    set_as = [[sorted(vars(s).items()) for s in row] for row in table._cellStyles]
    commands = (table._linecmds, table._spanCmds, table._nosplitCmds)
    wide = " ".join(w if isinstance(w, str) else f"{w or 0:.0f}" for w in table._argW)
    room = [getattr(table, name, 0) for name in ("spaceBefore", "spaceAfter")]
    stands = f"{table.hAlign} {room} {table.repeatRows}"
    return f"table {wide}; {stands}; {len(cells)} rows {_sum(cells)} {_sum(set_as)} {_sum(commands)}"


def _cell(cell: Any, styles: dict[str, ParagraphStyle]) -> str:
    parts = cell if isinstance(cell, list | tuple) else [cell]
    return " | ".join(part if isinstance(part, str) else next(_lines([part], styles)) for part in parts)


def _told(text: str) -> str:
    return f"{text[:24]!r} {_sum(text)}"


def _sum(whole: object) -> str:
    return f"{zlib.crc32(repr(whole).encode()):08x}"


def _style(style: ParagraphStyle) -> str:
    names = ("fontName", "fontSize", "leading", "spaceBefore", "spaceAfter", "alignment", "splitLongWords")
    return f"style {style.name}: {' '.join(f'{getattr(style, name)}' for name in names)}"
