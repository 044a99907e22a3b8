"""Posts in the order they are set, and rails line by line with their marks at every post."""

import math
from collections.abc import Iterator

import numpy as np
from msgspec.structs import replace
from reportlab.platypus import Flowable

from fencegrade.ground.survey_line import ZERO, string_at
from fencegrade.planning.alike import ROWS_OF_RAILS
from fencegrade.planning.hanging import tops_over_line
from fencegrade.planning.plan import FencePlan, RunPlan
from fencegrade.sheets.cautions import Work
from fencegrade.sheets.facts import under_or_over
from fencegrade.sheets.paper.blocks import cautions_once, gap, grid, heading, kept, title, words
from fencegrade.sheets.paper.sheet import Look, one_column, room_for
from fencegrade.sheets.rail_lines import (
    SPARE_OF_RAIL,
    RailLine,
    bays_without_spare,
    rail_lines,
    rail_marks,
    rails_past_posts,
    slanted_words,
)
from fencegrade.sheets.run_words import pressure_words, shared_bags
from fencegrade.sheets.schedules import post_is_set, post_table, wind_table
from fencegrade.sheets.tables import over_line_words, sides_told
from fencegrade.units.words import Words, numbers

_WHOLE = 9
"""Posts whose marks stand on one page; those of more may go on on the next."""
_RULES = {
    "share of the post's length": "share",
    "least depth": "least",
    "wind and soil": "wind",
    "stock length": "stock",
}
"""Short words for the rules that set a depth."""


def posts(plan: FencePlan, index: int, look: Look, place: str) -> Iterator[Flowable]:
    """The posts of a run, with the cautions of digging and setting."""
    run, say = plan.runs[index], plan.words
    name = "string" if run.ground.strings else ZERO
    several = any(s.given_name for s in run.ground.strings)
    of_strings = ", over the string named there" if several else ""
    yield from title("Posts", place)
    yield words(
        f"Stations are the middles of the posts. Dig the hole {say.length(plan.job.posts.hole_diameter)} "
        f"wide, as deep as said, with {say.length(plan.job.posts.gravel)} of gravel in it. Set the post "
        f"long; mark its top from the {name} and cut there; the tops of the fence pass it as high as the "
        f"column of the tops says{of_strings}. Depths are by the share of a post's length that stands in the "
        "ground, the least depth of the job, frost, or wind and soil."
    )
    if told := shared_bags(plan):
        yield words(f"Bags are counted hole by hole; the whole fence takes {told}.", small=True)
    yield from cautions_once(plan, index, Work.POSTS, Work.LIFTING)
    yield gap(6)
    yield _post_grid(plan, run, index, look, say, name)
    yield from _wind(plan, index, look, say)


def _post_grid(plan: FencePlan, run: RunPlan, index: int, look: Look, say: Words, name: str) -> Flowable:
    table = post_table(plan, index)
    at = {head: k for k, head in enumerate(table.heads)}
    over, bags = (next(h for h in table.heads if h.startswith(s)) for s in ("top over", "bags of"))
    tops = tops_over_line(run, run.posts.station).tolist()
    raw, rows = list(table.rows), []
    notes: dict[int, str] = {}
    for place, (cells, values) in enumerate(zip(replace(table, rows=raw).written(say), raw, strict=True)):
        kind, told = _kind(cells[at["kind"]])
        notes |= {place: told} if told else {}
        own, stock, number = values[at[over]], values[at["from stock"]], values[at["post"]]
        top = tops[number - 1] if isinstance(number, int) else math.nan
        rows.append(
            (
                *(cells[at[head]] for head in ("post", "station")),
                kind,
                cells[at["hole"]].removesuffix(f" {say.unit}"),
                _RULES.get(cells[at["set by"]], cells[at["set by"]]),
                cells[at[bags]],
                say.sold_length(stock) if isinstance(stock, float) else cells[at["from stock"]],
                cells[at["top above ground"]].replace("not measured", "–"),
                _short_over(own if isinstance(own, float) else None, say),
                _short_over(None if math.isnan(top) else top, say, cells[at["string"]]),
            )
        )
    columns = list(zip(*rows, strict=True))
    columns[-2:] = [tuple(sides_told(texts)) for texts in columns[-2:]]
    rows = list(zip(*columns, strict=True))
    hole = f"hole [{say.unit}]"
    heads = (
        "post",
        "station",
        "kind",
        hole,
        "by",
        "bags",
        "stock",
        "over ground",
        f"post over {name} [{say.unit}]",
        f"tops over {name} [{say.unit}]",
    )
    bold, left = ("post", "station", hole), ("kind", "by")
    done = [place for place, values in enumerate(raw) if post_is_set(run, values)]
    return grid(
        look.width, heads, rows, left=left, bold=bold, tick=True, done=done, size=10.0, row=17.0, notes=notes
    )


def _kind(text: str) -> tuple[str, str]:
    """What a post is in the column of kinds, and what does not fit there."""
    kind, _, told = text.partition(": ")
    if kind.startswith("corner, with "):
        return "corner", f"one post with {kind.removeprefix('corner, with ')}"
    return kind, told


def _wind(plan: FencePlan, index: int, look: Look, say: Words) -> Iterator[Flowable]:
    """The screen of wind and soil of a run, post by post, with everything it takes."""
    screen = plan.runs[index].wind
    if screen is None:
        return
    yield room_for(160)
    yield heading("Wind and soil: a screen, not a design")
    yield words(f"The wind presses with {pressure_words(screen.load, say)}.")
    table = wind_table(plan, index)
    heads, rows = table.heads, list(table.written(plan.words))
    yield grid(look.width, heads, rows, left=heads[-2:], bold=(heads[0], heads[4]), size=10.0)
    yield words(f"Taken: {'; '.join(screen.assumptions)}.", small=True)


def _short_over(inches: float | None, say: Words, string: str = "") -> str:
    """As `_over`, without the unit, which stands in the heading."""
    return _over(inches, say, string).replace(f" {say.unit}", "", 1)


def _over(inches: float | None, say: Words, string: str = "") -> str:
    """A height over the string in words, empty where there is none: `2 in under`, `2 in over A`."""
    if inches is None:
        return ""
    if not string:
        return over_line_words(inches, say)
    return f"{say.fine(abs(inches))} {under_or_over(inches, say)} {string}"


def rails(plan: FencePlan, index: int, look: Look, place: str) -> Iterator[Flowable]:
    """The rails of a run, row by row."""
    run, say = plan.runs[index], plan.words
    if not len(run.rails):
        return
    name = "string" if run.ground.strings else ZERO
    if not run.rails_coming.any():
        yield heading("Rails")
        yield words("Every rail is up.")
        return
    yield from one_column()
    yield from title("Rails", place)
    yield words(
        "Row 1 is the top rail. Cut the pieces, mark every post, and fix each rail with its upper "
        "edge at the marks; "
        f"joints {'run past each other' if str(plan.job.rails.joint) == 'lapped' else 'meet on a post'}. "
        "Cut to length only after the posts stand: measure each bay."
    )
    if told := slanted_words(plan, say):
        yield words(told)
    for p in (p for p in plan.problems if p.place == ROWS_OF_RAILS):
        if run is next(r for r in plan.runs if r.run.name in p.found):
            yield words(f"{p.message}.", small=True)
    rows = list(_rail_rows(plan, index, say, slanted=bool(told)))
    takes = (f"takes [{say.unit}]",) if told else ()
    cut_to = f"cut to [{say.unit}]"
    heads = ("bays", "rows", "pieces", "bays each", cut_to, *takes, "stock", "below the tops", "ends")
    left = ("bays", "rows", "below the tops", "ends")
    yield grid(look.width, heads, rows, left=left, bold=("bays", cut_to), tick=True)
    if crowded := run.rails.crowded:
        yield words(
            f"{_bays([bay + 1 for bay in crowded])}: the rails do not fit one under the other there and have "
            "no marks; settle that before boards are bought or cut for them.",
            bold=True,
        )
    alone, shared = bays_without_spare(plan, index)
    if alone:
        yield words(
            f"{_bays(alone)}: a rail there leaves less than {say.fine(SPARE_OF_RAIL)} of its board. Set "
            "their "
            "posts no farther apart than planned, or measure before buying and take the next longer board.",
            bold=True,
        )
    if shared:
        yield words(
            f"{_bays(shared)}: rails there share a board that has nothing to spare. Measure all its "
            "bays before its first cut; one wider than planned takes another board.",
            bold=True,
        )
    yield from _rail_marks(run, look, say, name)


def _bays(numbered: list[int]) -> str:
    return f"Bay{'s' if len(numbered) > 1 else ''} {numbers(numbered)}"


def _rail_rows(plan: FencePlan, index: int, say: Words, slanted: bool) -> Iterator[tuple[str, ...]]:
    """The rails bay by bay; those of several rows that are cut alike as one line."""
    alike: dict[tuple[object, ...], list[RailLine]] = {}
    for r in sorted(rail_lines(plan, index), key=lambda r: (r.first, r.row)):
        alike.setdefault((r.first, r.last, r.spans, r.length, r.stock, r.angle, r.fits), []).append(r)
    for lines in alike.values():
        r = lines[0]
        drops = (" to ".join(dict.fromkeys(say.fine(d) for d in each.drops)) for each in lines)
        yield (
            f"{r.first}" if r.first == r.last else f"{r.first}-{r.last}",
            numbers([each.row for each in lines]),
            f"{sum(each.pieces for each in lines)}",
            f"{r.spans}",
            *(
                say.length(x).removesuffix(f" {say.unit}")
                for x in ((r.length, r.taken) if slanted else (r.length,))
            ),
            "none" if r.stock is None else say.sold_length(r.stock),
            "; ".join(drops),
            "do not fit" if not r.fits else f"{r.angle:.1f}° off square" if r.angle else "square",
        )


def _rail_marks(run: RunPlan, look: Look, say: Words, name: str) -> Iterator[Flowable]:
    """The upper edge of each rail at each post, over or under the line of the readings."""
    marks = rail_marks(run)
    count = max((len(m) for m in marks.values()), default=0)
    named = any(s.given_name for s in run.ground.strings)
    every = [v for each in marks.values() for values in each for v in values if np.isfinite(v)]
    way = "under" if every and all(under_or_over(v, say) == "under" for v in every) else "over"

    def told(value: float) -> str:
        text = _short_over(value if np.isfinite(value) else None, say)
        return text.removesuffix(" under") if way == "under" else text

    body = [
        (
            f"{post}",
            *(" | ".join(dict.fromkeys(map(told, values))) for values in each),
            *((string_at(run.ground, float(run.posts.station[post - 1])) or "",) if named else ()),
        )
        for post, each in marks.items()
    ]
    lines = ("post", *(f"row {k + 1}" for k in range(count)), *(("string",) if named else ()))
    head = f"Marks at the posts: the rail's upper edge {way} the {name} [{say.unit}]"
    if any(" | " in cell for row in body for cell in row):
        head += "; two marks are for the bay before and the bay after"
    table = grid(look.width, lines, body, left=("string",), bold=("post",), tick=True)
    yield from [heading(head), table] if len(body) > _WHOLE else [kept([heading(head), table])]
    for post, by in rails_past_posts(run).items():
        yield words(
            f"▲ Post {post} ends {say.fine(by)} under its mark of the top rail: set a new post there, or "
            "lower the top and plan again, before the rail is cut.",
            bold=True,
        )
