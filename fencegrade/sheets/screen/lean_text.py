"""Words for what is settled at the fence: a lean, boards that dry, boards of unequal width."""

from collections.abc import Callable, Iterator, Sequence
from typing import Any

from fencegrade.building.lean import PLUMB_LIMITS, LeanSpread, Toward, lean_problems
from fencegrade.building.plumb import JobLean
from fencegrade.fence.wood.drying import GapForecast, MoistureChange, OverlapForecast
from fencegrade.fence.wood.widths import EASED_GAPS, SpacingChoice, WidthSample, boards_between_checks
from fencegrade.figures.shrinkage import SHRINKAGE
from fencegrade.job.choices import Fit
from fencegrade.problems import Problem
from fencegrade.sheets.screen.wrapping import taken_lines
from fencegrade.sheets.tables import Column, Kind, Table, text_lines
from fencegrade.units import (
    default_mark,
    fixed_text,
    format_share,
)
from fencegrade.units.tolerances import ROUNDING, SAME_LENGTH
from fencegrade.units.words import Words, plural

FORMAT = "fencegrade-plumb/1"

_COLUMNS = ("gap top", "gap bottom", "left top", "left bottom", "right top", "right bottom", "leans")


def _columns(spread: LeanSpread) -> dict[str, list[float]]:
    """Gaps, edges and leans of the boards by what they are called."""
    s = spread
    edges = (s.top.left, s.bottom.left, s.top.right, s.bottom.right)
    arrays = (s.gap_top, s.gap_bottom, *edges, s.leans)
    return {name: array.tolist() for name, array in zip(_COLUMNS, arrays, strict=True)}


def lean_lines(spread: LeanSpread, where: JobLean | None = None) -> Iterator[str]:
    """A lean and the next boards that take it up, for the screen.

    `where`: the boards of a job, whose stations the edges then are; without it boards count from 1 and edges
    from the leaning board.
    """
    if where is not None:
        yield f"{where.run}, picket {where.after}"
    asked = spread.question
    lean, words = asked.lean, Words.of_layout(asked.system)
    yield f"Leans {words.length(lean.amount)} over {_tall(lean.over, words)} toward the {lean.toward}"
    doubts = _problems(spread, where)
    yield from (f"  {p.severity}: {p}" for p in doubts if p.place == "toward")
    if abs(asked.height - lean.over) > ROUNDING:
        board = "the whole board of" if where is None else "the tallest board to come,"
        yield f"  that is {words.length(asked.whole)} over {board} {_tall(asked.height, words)}"
    yield f"  {_published(lean.over, words)}"
    yield ""
    yield from _verdict(spread, words)
    yield from _narrow(spread, words)
    yield ""
    yield from text_lines(lean_table(spread, where), words, Words.of_readings(asked.system))
    yield ""
    if where is not None:
        yield "Edges are stations: measure each from the start of the run, so that errors do not add up."
        yield "They hold where the leaning board stands, half way up, in its planned place; else use gaps."
        yield "Check with a level every third board."
    else:
        yield "Edges are measured level from the bottom of the leaning board's leading edge, each from there,"
        yield "so that errors do not add up; below zero is behind it. Check with a level every third board."
    yield from (f"{p.severity}: {p}" for p in doubts if p.place != "toward")
    yield from taken_lines(asked.assumed)


def _problems(spread: LeanSpread, where: JobLean | None) -> Sequence[Problem]:
    return where.problems if where else list(lean_problems(spread.question))


def lean_table(spread: LeanSpread, where: JobLean | None = None) -> Table:
    """The next boards: gaps and edges at top and bottom, and how much each still leans.

    `where`: as in `lean_lines`.
    """
    return Table(
        name="lean",
        columns=(
            Column(head="picket" if where else "board", kind=Kind.COUNT),
            *(Column(head=head, kind=_kind(head, where)) for head in _COLUMNS),
        ),
        rows=list(zip(_numbers(spread, where), *_columns(spread).values(), strict=True)),
    )


def _numbers(spread: LeanSpread, where: JobLean | None) -> Sequence[int]:
    return where.numbers if where else range(1, spread.boards + 1)


def _kind(head: str, where: JobLean | None) -> Kind:
    """Edges of boards in a run are stations; everything else is a length."""
    return Kind.STATION if where and head.startswith(("left", "right")) else Kind.LENGTH


def _published(over: float, words: Words) -> str:
    allowed = ", ".join(f"{p.name} {words.length(p.at(over))}" for p in PLUMB_LIMITS)
    return f"published limits over {_tall(over, words)}, none of them for fences: {allowed}"


def _tall(inches: float, words: Words) -> str:
    """A height to the tape's usual mark."""
    return Words(system=words.system, mark=default_mark(words.system)).height(inches)


def _wide_end(spread: LeanSpread) -> tuple[str, str]:
    """The end of the gaps that opens, and the other."""
    return ("top", "bottom") if spread.question.lean.toward is Toward.START else ("bottom", "top")


def _verdict(spread: LeanSpread, words: Words) -> Iterator[str]:
    wide, narrow = _wide_end(spread)
    boards, each = plural(spread.boards, "board"), f"within {words.given(spread.question.limit)} a board"
    if not spread.hidden:
        left = words.length(spread.left_over)
        yield f"CANNOT BE HIDDEN in {boards}: {left} of the lean is left after the last"
    if spread.boards:
        taper = _taper(spread, words)
        yield f"Set each gap of the next {boards} {taper} wider at the {wide} than at the {narrow}"
    yield f"  {each} it takes at least {plural(spread.least, 'board')}"


def _taper(spread: LeanSpread, words: Words) -> str:
    """How much wider each gap is at one end: the limit as it was given, or as gaps are set."""
    limit, least = spread.question.limit, words.mark
    if spread.taper >= limit - SAME_LENGTH:
        return words.given(limit)
    return words.length(spread.taper) if spread.taper >= least / 2 else f"less than {words.length(least)}"


def _narrow(spread: LeanSpread, words: Words) -> Iterator[str]:
    """What to do where the gap is too narrow to close at one end."""
    if spread.moved <= ROUNDING:
        return
    wide, narrow = _wide_end(spread)
    asked, length = spread.question, words.length
    if spread.clear:
        yield f"  gaps of {length(asked.spacing)} close at the {narrow} and open more at the {wide}"
        yield f"  spread over {plural(spread.clear, 'board')} no board would move along"
    else:
        short = length(spread.boards * spread.taper / 2)
        taper = _taper(spread, words)
        yield f"  boards touch: gaps stay shut at the {narrow} and open to {taper} at the {wide}"
        yield f"  or rip each of these boards to a taper and keep them touching: {length(asked.width)} at the"
        ripped = length(asked.width - spread.taper)
        yield f"  {wide}, {ripped} at the {narrow}; the last then ends {short} short"
    yield f"  with open gaps the last board's middle ends {length(spread.moved)} further along than planned"


def lean_record(spread: LeanSpread, where: JobLean | None = None) -> dict[str, Any]:
    """The same for machines; lengths in the answer's unit. `where` as in `lean_lines`."""
    asked, words = spread.question, Words.of_layout(spread.question.system)
    number = words.number
    lengths = {
        "amount": asked.lean.amount,
        "over": asked.lean.over,
        "height": asked.height,
        "lean": asked.whole,
        "width": asked.width,
        "spacing": asked.spacing,
        "limit": asked.limit,
        "taper": spread.taper,
        "left_over": spread.left_over,
        "moved": spread.moved,
    }
    columns = {head.replace(" ", "_"): values for head, values in _columns(spread).items()}
    return {
        "format": FORMAT,
        "units": str(words.system),
        "length_unit": words.unit,
        "toward": str(asked.lean.toward),
        "hidden": spread.hidden,
        "boards": spread.boards,
        "least_boards": spread.least,
        "least_boards_unmoved": spread.clear or None,
        **{key: number(inches) for key, inches in lengths.items()},
        "pickets": [
            {"number": which, **{key: number(values[k]) for key, values in columns.items()}}
            for k, which in enumerate(_numbers(spread, where))
        ],
        "assumed": dict(asked.assumed),
        "problems": [p.as_dict() for p in _problems(spread, where)],
        **({"run": where.run, "after": where.after} if where else {}),
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
    yield f"  {EASED_GAPS} gaps hide the drift with {words.given(limit)} each, in 95 of 100 fences"


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
