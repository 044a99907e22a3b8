"""Values that a job may hold but seldom means: a slip of the unit, of the decimal point or of the key.

Nothing is refused: each is doubted by its value, what is usual, and what follows from it, until the job
lists it under `confirmed`. The bounds are wide, so that odd but honest jobs pass. Common practice, no source.
"""

import json
from collections.abc import Iterator, Sequence
from itertools import combinations, islice
from statistics import median
from typing import Any, Protocol

from fencegrade.job.records import JobTable, Run, Stock
from fencegrade.job.site import Site
from fencegrade.problems import Problem, warning
from fencegrade.units import MASS, MM_PER_INCH, SPEED, UnitSystem
from fencegrade.units.tolerances import SAME_COST, SAME_LENGTH
from fencegrade.units.words import Words

TAPES = {
    UnitSystem.IMPERIAL: (1 / 32, 1 / 16, 1 / 8, 1 / 4, 1 / 2, 1.0),
    UnitSystem.METRIC: tuple(mm / MM_PER_INCH for mm in (0.5, 1.0, 2.0, 5.0, 10.0)),
}
"""Marks of tapes that are sold (in)."""

DEAR = 12.0
"""How many times the usual price for its length a board may cost, either way, before the price is doubted."""

HALF_LONGER, LITTLE_MORE = 1.5, 1.15
"""A board so many times as long as another is doubted where it costs no more than so many times its price, as
it does where prices are by the foot. Yards that sell odd lengths alike do so within less (common practice, no
source)."""

CHEAP = 0.5
"""A board that costs less than so much of the middle price for its length is doubted: its price may be by the
foot or the metre, alone among them."""

MOST_OPEN = 12.0
"""Open height (in) for water under a fence past which it is doubted."""

FAR_STRING = 2.5
"""How many times the stretch that was read a string may span before its end is doubted."""

SLACK = 1 / 60
"""Share of its span that a pulled string hangs at most in its middle (common practice, no source)."""

SHORTEST = 24.0
"""Length (in) of a run under which it is doubted."""

LONG_STRING = 1200.0
"""Inches, the longest span of a string that is usual."""


def _plain(value: float, _: UnitSystem) -> str:
    return f"{value:g}"


_SLIDES = "soil steeper than one to one slides, and too little of it would be bought"
USUAL_SPEEDS = 95.0, 230.0
"""Basic wind speeds (mph) of maps since ASCE 7-10 (common practice, no source)."""

_USUAL: tuple[tuple[Any, ...], ...] = (
    ("job", "kerf", 0.0, 0.3125, "every cut would waste that much wood"),
    ("top", "least_height", 9.0, 132.0, "every board is cut for that height"),
    ("top", "most_height", 18.0, 168.0, "the limit is held against every board"),
    ("pickets", "width", 0.75, 12.5, "the count of boards comes from it"),
    ("pickets", "thickness", 0.25, 2.5, "screws and weights come from it"),
    ("pickets", "spacing", 0.0, 8.0, "the count of boards comes from it"),
    ("pickets", "clearance", 0.0, 10.0, "every board ends that far up"),
    ("pickets", "most_gap", 0.25, 14.0, "gaps that wide are left open"),
    ("posts", "width", 1.5, 14.0, "rails and holes are planned for it"),
    ("posts", "spacing", 30.0, 150.0, "posts and holes are counted from it"),
    ("posts", "hole_diameter", 3.0, 36.0, "concrete is bought for it"),
    ("posts", "least_depth", 0.0, 84.0, "every hole is dug that deep"),
    ("posts", "frost_depth", 5.0, 100.0, "posts stand below it"),
    ("posts", "gravel", 0.0, 24.0, "gravel is bought for it"),
    ("posts", "bag", 18.0, 130.0, "bags are counted by it", MASS.format),
    ("posts", "gravel_bag", 10.0, 2500.0, "bags are counted by it", MASS.format),
    ("posts", "concrete_extra", 1.0, 1.6, "concrete is bought by it", _plain),
    ("rails", "height", 1.0, 10.0, "rails are bought and placed by it"),
    ("rails", "thickness", 0.5, 4.0, "screws are chosen by it"),
    ("rails", "count", 1, 5, "that many are bought for every bay", _plain),
    ("soil", "crest", 3.0, 72.0, "soil is bought for it"),
    ("soil", "most_depth", 0.0, 30.0, "soil that deep may lie against boards"),
    ("soil", "side_slope", 1.0, 12.0, _SLIDES, _plain),
    ("soil", "loose_factor", 1.0, 1.9, "soil is bought by it", _plain),
    (
        "site",
        "wind_speed",
        *USUAL_SPEEDS,
        "posts are screened for it, and maps older than ASCE 7-10 show lower speeds, which give too little",
        SPEED.format,
    ),
    ("fasteners", "per_crossing", 1, 6, "screws are counted by it", _plain),
)
"""Keys of single tables, what they usually hold from least to most (in, lb, mph or plain), and what follows
past it; last how it is written, where it is no length."""

FAR = 30.0
"""How many times its usual price beside a board another thing may cost, either way, before it is doubted."""

_IN_BOARDS = (
    ("posts", "bag_price", 1.3),
    ("posts", "gravel_bag_price", 1.3),
    ("fasteners", "box_price", 6.0),
    ("fasteners", "framing_box_price", 6.0),
    ("fasteners", "hinge_price", 2.0),
    ("fasteners", "latch_price", 3.0),
    ("fasteners", "drop_rod_price", 3.0),
    ("soil", "price", 8.0),
)
"""Prices of single things, in picket boards of the middle length, whatever the money."""

_NO_FROST = ("posts", "frost_depth", 0.0)

STOCK = (
    ("pickets", "stock", 8.0, 194.0),
    ("posts", "stock", 18.0, 290.0),
    ("posts", "gate_stock", 18.0, 290.0),
    ("rails", "stock", 18.0, 290.0),
    ("soil", "kickboard", 18.0, 290.0),
)
"""Lists of boards and the lengths (in) such boards are sold in."""


class Tables(Protocol):
    """The single tables of a job, by their names."""

    @property
    def job(self) -> JobTable:
        """`[job]`, which says what is confirmed."""


def unusual(tables: Tables, runs: Sequence[Run], name: str) -> Iterator[Problem]:
    """A doubt about every value of a job that is out of all usual range; `name` of its file."""
    for key, told in unusual_values(tables, runs):
        yield warning(f"{name} {key}", told, _check(key))


def unusual_values(tables: Tables, runs: Sequence[Run]) -> Iterator[tuple[str, str]]:
    """Every unusual value that is not confirmed: the key that confirms it, and what is told."""
    for key, value, usual, follows in _all(tables, runs, Words.of(tables.job)):
        if key not in tables.job.confirmed:
            yield key, f"{value} is {usual}: {follows}"


def wind_doubted(site: Site | None, job: JobTable) -> bool:
    """Whether a wind speed is unusual and not confirmed, so that no post passes by it yet."""
    speed = None if site is None else site.wind_speed
    if speed is None or "[site] wind_speed" in job.confirmed:
        return False
    low, high = USUAL_SPEEDS
    return not low - SAME_LENGTH <= speed <= high + SAME_LENGTH


def _check(key: str) -> str:
    """What to do, with the key as TOML takes it: it may hold the name of a run in quotes."""
    text = f"'{key}'" if '"' in key and "'" not in key else json.dumps(key, ensure_ascii=False)
    return f"check it; if it is meant, add {text} to confirmed under [job]"


Found = tuple[str, str, str, str]
"""Key, its value, what is usual, and what follows."""


def _all(tables: Tables, runs: Sequence[Run], words: Words) -> Iterator[Found]:
    yield from _tape(tables.job.tape, words)
    for name, key, least, most, follows, *own in _USUAL:
        table = getattr(tables, name)
        value = None if table is None else getattr(table, key)
        if (
            value is not None
            and (name, key, value) != _NO_FROST
            and not least - SAME_LENGTH <= value <= most + SAME_LENGTH
        ):
            given = own[0](value, words.system) if own else words.given(value)
            low, high = (own[0](x, words.system) if own else words.fine(x) for x in (least, most))
            yield f"[{name}] {key}", given, f"not the usual {low} to {high}", follows
    for name, key, least, most in STOCK:
        stock, place = getattr(getattr(tables, name), key), f"[[{name}.{key}]]"
        yield from _stock(stock, place, (least, most), tables.job.confirmed, words)
    yield from _beside_boards(tables, words)
    yield from _odd_for_wood(tables, words)
    for run in runs:
        yield from _run(run, words)


def _tape(tape: float, words: Words) -> Iterator[Found]:
    if not any(abs(tape - mark) < SAME_LENGTH for marks in TAPES.values() for mark in marks):
        marks = ", ".join(words.fine(m) if m >= 1 / 16 else "1/32 in" for m in TAPES[UnitSystem.IMPERIAL])
        usual = "no mark of a tape: those are " + (marks if words.unit == "in" else "0.5, 1, 2, 5, 10 mm")
        yield "[job] tape", f"{tape:.4g} in", usual, "every cut is rounded down to it"


def _stock(
    stock: Sequence[Stock], key: str, ends: tuple[float, float], confirmed: Sequence[str], words: Words
) -> Iterator[Found]:
    """Lengths that are not sold, and the price that is off from the others; by one that is confirmed none is
    judged."""
    least, most = ends
    for one in stock:
        if not least <= one.length <= most:
            usual = (
                f"no usual length of such a board ({words.sold_length(least)} to {words.sold_length(most)})"
            )
            given = words.given(one.length)
            yield f"{key} {words.sold_length(one.length)} length", given, usual, "boards of it are bought"
    names = {s.length: f"{key} {words.sold_length(s.length)} price" for s in stock}
    priced = [s for s in stock if s.price and s.sold and names[s.length] not in confirmed]
    for one, told, usual, follows in islice(_off(sorted(priced, key=lambda s: s.length), words), 1):
        yield names[one.length], told, usual, follows


def _off(priced: Sequence[Stock], words: Words) -> Iterator[tuple[Stock, str, str, str]]:
    """Prices, the shortest board first, that do not go with the others; the worst of them first."""
    rates = [(s.price or 0.0) / s.length for s in priced]
    by_others = [median(rates[:k] + rates[k + 1 :] or rates) for k in range(len(rates))]
    apart = [max(rate / usual, usual / rate) for rate, usual in zip(rates, by_others, strict=True)]
    if max(apart, default=0.0) > DEAR:
        k = apart.index(max(apart))
        usual = (
            f"far from what the other lengths cost ({words.money(by_others[k] * priced[k].length)} by them)"
        )
        told = f"{words.price(priced[k].price or 0.0)} for {words.sold_length(priced[k].length)}"
        yield priced[k], told, usual, "what is bought follows the prices"
    named = [f"{words.sold_length(s.length)} at {words.price(s.price or 0.0)}" for s in priced]
    if rates and min(rates) < CHEAP * median(rates):
        k = rates.index(min(rates))
        by_them = words.money(by_others[k] * priced[k].length)
        yield priced[k], named[k], f"less than half of what it costs by the other lengths ({by_them})", _WHOLE
    for short, long in combinations(range(len(priced)), 2):
        ratio = rates[long] * priced[long].length / (rates[short] * priced[short].length)
        half_longer = priced[long].length >= HALF_LONGER * priced[short].length - SAME_LENGTH
        # the shorter, unless the longer is farther from the rest by more than as much again
        wrong, other = (long, short) if apart[long] > apart[short] ** 2 else (short, long)
        if ratio < 1 - SAME_COST:
            beside = f"{'cheaper' if wrong == long else 'dearer'} than {named[other]}"
            yield priced[wrong], named[wrong], beside, "the longer is bought and cut in its place"
        elif half_longer and ratio <= LITTLE_MORE + SAME_COST:
            beside = f"hardly {'dearer' if wrong == long else 'cheaper'} than {named[other]}"
            yield priced[wrong], named[wrong], beside, _WHOLE


_WHOLE = "a price is that of a whole board, not of a foot or a metre of it"


def _odd_for_wood(tables: Tables, words: Words) -> Iterator[Found]:
    """Posts and rails that cost far less for their wood than pickets do, as by a price by the foot, or far
    more, as where a decimal point of the pickets' price slipped."""
    pickets, posts, rails = (getattr(tables, name) for name in ("pickets", "posts", "rails"))
    usual = _by_volume(pickets.stock, pickets.width * pickets.thickness)
    sections = (
        ("posts", posts, posts.section(gate=False)),
        ("rails", rails, (rails.height, rails.thickness)),
    )
    for name, table, (width, thickness) in sections:
        rates = _by_volume(table.stock, width * thickness)
        times = median(rates) / median(usual) if usual and rates else 1.0
        if not 1 / DEAR <= times <= FAR:
            one, board = (next(s for s in own.stock if s.price and s.sold) for own in (table, pickets))
            told, beside = (f"{words.price(s.price)} for {words.sold_length(s.length)}" for s in (one, board))
            much = f"far {'less' if times < 1 else 'more'} for its wood than pickets cost ({beside})"
            follows = _WHOLE if times < 1 else "a decimal point may have slipped in either"
            yield f"[[{name}.stock]] {words.sold_length(one.length)} price", told, much, follows


def _by_volume(stock: Sequence[Stock], section: float) -> list[float]:
    """What a cubic inch of each priced length costs."""
    return [s.price / s.length / section for s in stock if s.price and s.sold]


def _beside_boards(tables: Tables, words: Words) -> Iterator[Found]:
    """Prices of other things that are far from what they cost beside a board, in whatever money."""
    lists = (getattr(getattr(tables, name), key) for name, key, *_ in STOCK)
    prices = ([s.price for s in stock if s.price and s.sold] for stock in lists)
    board = next((median(own) for own in prices if own), None)
    for name, key, boards in _IN_BOARDS if board else ():
        price = getattr(getattr(tables, name), key)
        if price is not None and board and not 1 / FAR <= price / (boards * board) <= FAR:
            usual = f"far from usual where a board costs {words.price(board)}"
            yield f"[{name}] {key}", words.price(price), usual, "the cost of all is added up with it"


def _run(run: Run, words: Words) -> Iterator[Found]:
    place = f'[[run]] "{run.name}"'
    if run.end is not None and 0 < run.end - (run.start or 0.0) < SHORTEST - SAME_LENGTH:
        usual = f"less than {words.height(SHORTEST)} from the run's start"
        yield f"{place} end", words.given(run.end), usual, "the whole fence would be that long"
    yield from _slack(run, place, words)
    if run.reading_error is not None and run.reading_error > 1.0:
        follows = "hardly a board could be cut from the chart"
        yield (
            f"{place} reading_error",
            words.given(run.reading_error),
            f"over the usual {words.fine(1.0)}",
            follows,
        )
    for number, gate in enumerate(run.gate, start=1):
        if not 12.0 <= gate.width <= 288.0:
            usual = f"not the usual {words.height(12.0)} to {words.height(288.0)}"
            yield (
                f"{place} gate {number} width",
                words.given(gate.width, feet=True),
                usual,
                "no board stands there",
            )
    for number, stretch in enumerate(run.clearance, start=1):
        if stretch.height > 6.0:
            follows = "over paving or beside a pool a child gets under that"
            usual = f"over the usual {words.fine(6.0)}"
            yield f"{place} clearance {number}", words.given(stretch.height), usual, follows
    for number, water in enumerate(run.keep_open, start=1):
        if water.height > MOST_OPEN:
            follows = "dogs and children get under that, and the boards there are cut for it"
            usual = f"over the usual {words.fine(MOST_OPEN)}"
            yield f"{place} keep_open {number} height", words.given(water.height), usual, follows


def _slack(run: Run, place: str, words: Words) -> Iterator[Found]:
    """Strings that hang lower than any that is pulled; one whose ends are not said is as long as any."""
    for number, string in enumerate(run.string, start=1):
        start, end = string.start or run.start or 0.0, string.end or run.end
        most = SLACK * (LONG_STRING if end is None or end <= start else end - start)
        if string.sag is not None and string.sag > most:
            usual = f"more than a string hangs in so long a span ({words.length(most)} at most)"
            follows = (
                "the ground in the middle is taken to lie that much lower, and boards there are cut longer"
            )
            yield f"{place} string {number} sag", words.given(string.sag), usual, follows


def far_string(run: Run, name: str, last: float, confirmed: Sequence[str], words: Words) -> Iterator[Problem]:
    """A doubt about strings of a run that end far past what was read, at `last` (in)."""
    start = run.start or 0.0
    for number, string in enumerate(run.string, start=1):
        key = f'[[run]] "{run.name}" string {number} end'
        if (
            string.end is not None
            and string.end - start > FAR_STRING * (last - start)
            and key not in confirmed
        ):
            yield warning(
                f"{name} {key}",
                f"{words.station(string.end)} is far past the last reading at {words.station(last)}: "
                "its fall and its sag are worked out for that length",
                _check(key),
            )
