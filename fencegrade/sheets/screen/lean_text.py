"""Words for what is settled at the fence: a lean, boards that dry, boards of unequal width."""

from collections.abc import Callable, Iterator, Sequence
from typing import Any

from fencegrade.building.lean import (
    PLUMB_LIMITS,
    LeanQuestion,
    LeanSpread,
    Toward,
    lean_problems,
)
from fencegrade.fence.wood.drying import GapForecast, MoistureChange, OverlapForecast
from fencegrade.fence.wood.widths import EASED_GAPS, SpacingChoice, WidthSample, boards_between_checks
from fencegrade.figures.shrinkage import SHRINKAGE
from fencegrade.job.records import Fit
from fencegrade.sheets.tables import Column, Kind, Table, text_lines
from fencegrade.units import (
    default_mark,
    fixed_text,
    format_share,
)
from fencegrade.units.tolerances import ROUNDING
from fencegrade.units.words import Words, plural

FORMAT = "fencegrade-plumb/1"

_COLUMNS = ("gap_top", "gap_bottom", "left_top", "left_bottom", "right_top", "right_bottom", "leans")


def lean_lines(spread: LeanSpread, question: LeanQuestion, pickets: Sequence[int] = ()) -> Iterator[str]:
    """A lean and the next boards that take it up, for the screen.

    `pickets`: their numbers in a run, whose stations the edges then are; without them boards count from 1
    and edges from the leaning board.
    """
    lean, words = spread.lean, Words.of_layout(question.system)
    yield f"Leans {words.length(lean.amount)} over {_tall(lean.over, words)} toward the {lean.toward}"
    if abs(spread.height - lean.over) > ROUNDING:
        yield f"  that is {words.length(spread.whole)} over the whole board of {_tall(spread.height, words)}"
    yield f"  {_published(spread, words)}"
    yield ""
    yield from _verdict(spread, words)
    yield from _narrow(spread, question, words)
    yield ""
    yield from text_lines(lean_table(spread, pickets), words)
    yield ""
    if pickets:
        yield "Edges are stations: measure each from the start of the run, so that errors do not add up."
        yield "They hold where the leaning board stands, half way up, in its planned place; else use gaps."
        yield "Check with a level every third board."
    else:
        yield "Edges are measured level from the bottom of the leaning board's leading edge, each from there,"
        yield "so that errors do not add up; below zero is behind it. Check with a level every third board."
    yield from (f"{p.severity}: {p}" for p in lean_problems(question))
    if question.assumed:
        yield ""
        yield "Assumed, since it was not given"
        yield from (f"  {option} = {taken}" for option, taken in question.assumed)


def lean_table(spread: LeanSpread, pickets: Sequence[int] = ()) -> Table:
    """The next boards: gaps and edges at top and bottom, and how much each still leans.

    `pickets`: their numbers in a run, if they are of one.
    """
    lengths = ((name, *(float(x) for x in getattr(spread, name))) for name in _COLUMNS)
    heads, *rows = zip(*lengths, strict=True)
    return Table(
        name="lean",
        title="Gaps and edges of the next boards",
        columns=(
            Column(head="picket" if pickets else "board", kind=Kind.COUNT),
            *(Column(head=str(head).replace("_", " "), kind=_kind(str(head), pickets)) for head in heads),
        ),
        rows=[(n, *row) for n, row in zip(pickets or range(1, len(rows) + 1), rows, strict=True)],
    )


def _kind(head: str, pickets: Sequence[int]) -> Kind:
    """Edges of boards in a run are stations; everything else is a length."""
    return Kind.STATION if pickets and head.startswith(("left", "right")) else Kind.LENGTH


def _published(spread: LeanSpread, words: Words) -> str:
    allowed = ", ".join(f"{p.name} {words.length(p.at(spread.lean.over))}" for p in PLUMB_LIMITS)
    return f"published limits over {_tall(spread.lean.over, words)}, none of them for fences: {allowed}"


def _tall(inches: float, words: Words) -> str:
    """A height to the tape's usual mark."""
    return Words(system=words.system, mark=default_mark(words.system)).height(inches)


def _wide_end(spread: LeanSpread) -> tuple[str, str]:
    """The end of the gaps that opens, and the other."""
    return ("top", "bottom") if spread.lean.toward is Toward.START else ("bottom", "top")


def _verdict(spread: LeanSpread, words: Words) -> Iterator[str]:
    wide, narrow = _wide_end(spread)
    boards, each = plural(spread.boards, "board"), f"within {words.length(spread.limit)} a board"
    if not spread.hidden:
        left = words.length(spread.left_over)
        yield f"CANNOT BE HIDDEN in {boards}: {left} of the lean is left after the last"
    if spread.boards:
        taper = words.length(spread.taper)
        yield f"Set each gap of the next {boards} {taper} wider at the {wide} than at the {narrow}"
    yield f"  {each} it takes at least {plural(spread.least, 'board')}"


def _narrow(spread: LeanSpread, question: LeanQuestion, words: Words) -> Iterator[str]:
    """What to do where the gap is too narrow to close at one end."""
    if spread.moved <= ROUNDING:
        return
    wide, narrow = _wide_end(spread)
    taper, width, length = spread.taper, question.width, words.length
    if spread.clear:
        yield f"  gaps of {length(question.spacing)} close at the {narrow} and open more at the {wide}"
        yield f"  spread over {plural(spread.clear, 'board')} no board would move along"
    else:
        short = length(spread.boards * taper / 2)
        yield f"  boards touch: gaps stay shut at the {narrow} and open to {length(taper)} at the {wide}"
        yield f"  or rip each of these boards to a taper and keep them touching: {length(width)} at the"
        yield f"  {wide}, {length(width - taper)} at the {narrow}; the last then ends {short} short"
    yield f"  with open gaps the last board's middle ends {length(spread.moved)} further along than planned"


def lean_record(spread: LeanSpread, question: LeanQuestion, pickets: Sequence[int] = ()) -> dict[str, Any]:
    """The same for machines; lengths in the answer's unit. `pickets` as in `lean_lines`."""
    words, lean = Words.of_layout(question.system), spread.lean
    number = words.number
    lengths = {
        "amount": lean.amount,
        "over": lean.over,
        "height": spread.height,
        "lean": spread.whole,
        "width": question.width,
        "spacing": question.spacing,
        "limit": spread.limit,
        "taper": spread.taper,
        "left_over": spread.left_over,
        "moved": spread.moved,
    }
    return {
        "format": FORMAT,
        "units": str(words.system),
        "length_unit": words.unit,
        "toward": str(lean.toward),
        "hidden": spread.hidden,
        "boards": spread.boards,
        "least_boards": spread.least,
        "least_boards_unmoved": spread.clear or None,
        **{key: number(inches) for key, inches in lengths.items()},
        "pickets": [
            {
                "number": pickets[k] if pickets else k + 1,
                **{name: number(getattr(spread, name)[k]) for name in _COLUMNS},
            }
            for k in range(spread.boards)
        ],
        "assumed": dict(question.assumed),
        "problems": [
            {"severity": str(p.severity), "place": p.place, "message": p.message}
            for p in lean_problems(question)
        ],
    }


def drying_lines(change: MoistureChange, gap: GapForecast, words: Words) -> Iterator[str]:
    """What drying or swelling does to a gap between boards side by side."""
    length = words.length
    loss = gap.width_now - gap.width_service
    then = length(max(0.0, gap.gap_service))
    yield from _moisture_lines(change)
    yield f"  boards of {length(gap.width_now)} {'lose' if loss >= 0 else 'gain'} {length(abs(loss))} each"
    yield f"  gaps of {length(gap.gap_now)} set today {'open' if loss >= 0 else 'close'} to {then}"
    yield f"  for {length(gap.wanted)} in service set {length(gap.to_set)} today"
    yield "  an average over many boards: single ones differ, and builders report wider gaps than this"
    yield "  (common practice, no source)"


def overlap_lines(change: MoistureChange, overlap: OverlapForecast, words: Words) -> Iterator[str]:
    """What drying or swelling does to the overlap of two rows of boards."""
    length = words.length
    yield from _moisture_lines(change)
    now, service = length(overlap.overlap_now), length(overlap.overlap_service)
    yield f"  boards of {length(overlap.width_now)}, {length(overlap.row_gap_now)} apart in their row,"
    yield f"  overlap {now} each side today, {service} in service"


def _moisture_lines(change: MoistureChange) -> Iterator[str]:
    line = SHRINKAGE[change.group]
    yield f"Moisture {change.now:g} % now, {change.service:g} % in service; {change.group}"
    yield f"  width lost since green, in per cent: {line.a:g} - {line.b:g} x moisture, stated for"
    yield f"  {line.driest:g} to {line.wettest:g} % and none above {line.green:g} % ({line.source})"


def width_lines(
    sample: WidthSample, choice: SpacingChoice, fit: Fit, limit: float, words: Words
) -> Iterator[str]:
    """What measured widths say about the boards, and how likely the end of a stretch is to show.

    `limit`: largest change of a gap that is not noticed (in).
    """
    number, length = _decimals(words), words.length
    mean = f"{number(sample.mean)} on average, {length(sample.least)} to {length(sample.most)}"
    yield f"{plural(sample.count, 'board')} measured: {mean}"
    yield f"  standard deviation {number(sample.spread)}"
    yield (
        f"  with 95 in 100: mean {number(sample.mean_low)} to {number(sample.mean_high)}, "
        f"standard deviation {number(sample.spread_low)} to {number(sample.spread_high)}"
    )
    yield f"  {_choice_words(choice, fit, words)}"
    often = boards_between_checks(sample, EASED_GAPS * limit)
    yield f"  tape the leading edge from the start every {plural(often, 'board')} or sooner: up to there"
    yield f"  {EASED_GAPS} gaps hide the drift with {length(limit)} each, in 95 of 100 fences"


def spacing_lines(choices: Sequence[SpacingChoice], fit: Fit, words: Words, most: int = 5) -> Iterator[str]:
    """The spacings whose end is least likely to show, best first."""
    yield from (f"  {_choice_words(choice, fit, words)}" for choice in choices[:most])


def _choice_words(choice: SpacingChoice, fit: Fit, words: Words) -> str:
    shows = "the last gap shows or a board has no room" if fit is Fit.EVEN_GAPS else "the end is a sliver"
    return (
        f"{plural(choice.count, 'board')} at {words.length(choice.spacing)}: {shows} with a chance of "
        f"{_chance(choice.chance)}, {_chance(choice.eased)} if the last {EASED_GAPS} gaps take it up"
    )


def _chance(share: float) -> str:
    return format_share(share, 0 if share >= 0.1 else 1)


def _decimals(words: Words) -> Callable[[float], str]:
    """Statistics are printed in decimals, not in marks of the tape."""

    def text(inches: float) -> str:
        return f"{fixed_text(words.number(inches), 3 if words.unit == 'in' else 1)} {words.unit}"

    return text
