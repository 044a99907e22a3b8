"""Values that a job may hold but seldom means: a slip of the unit, of the decimal point or of the key.

Nothing is refused: each is doubted by its value, what is usual, and what follows from it, until the job
lists it under `confirmed`. The bounds are wide, so that odd but honest jobs pass. Common practice, no source.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import median

from fencegrade.job.records import JobFile, Run, Stock
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

FAR_STRING = 2.5
"""How many times the stretch that was read a string may span before its end is doubted."""

Written = Callable[[float, Words], str]


def _length(value: float, words: Words) -> str:
    return words.fine(value)


def _plain(value: float, words: Words) -> str:
    return f"{value:g}"


def _mass(value: float, words: Words) -> str:
    return MASS.format(value, words.system)


def _speed(value: float, words: Words) -> str:
    return SPEED.format(value, words.system)


@dataclass(frozen=True, slots=True, kw_only=True)
class Usual:
    """What a key usually holds, `least` to `most` (in, lb, mph or plain), and what `follows` past them."""

    table: str
    key: str
    least: float
    most: float
    follows: str
    written: Written = _length


USUAL = (
    Usual(table="job", key="kerf", least=0.0, most=0.3125, follows="every cut would waste that much wood"),
    Usual(
        table="top", key="least_height", least=9.0, most=132.0, follows="every board is cut for that height"
    ),
    Usual(
        table="top",
        key="most_height",
        least=18.0,
        most=168.0,
        follows="the limit is held against every board",
    ),
    Usual(table="pickets", key="width", least=0.75, most=12.5, follows="the count of boards comes from it"),
    Usual(table="pickets", key="thickness", least=0.25, most=2.5, follows="screws and weights come from it"),
    Usual(table="pickets", key="spacing", least=0.0, most=8.0, follows="the count of boards comes from it"),
    Usual(table="pickets", key="clearance", least=0.0, most=10.0, follows="every board ends that far up"),
    Usual(table="pickets", key="most_gap", least=0.25, most=14.0, follows="gaps that wide are left open"),
    Usual(table="posts", key="width", least=1.5, most=14.0, follows="rails and holes are planned for it"),
    Usual(
        table="posts", key="spacing", least=30.0, most=150.0, follows="posts and holes are counted from it"
    ),
    Usual(table="posts", key="hole_diameter", least=3.0, most=36.0, follows="concrete is bought for it"),
    Usual(table="posts", key="least_depth", least=0.0, most=84.0, follows="every hole is dug that deep"),
    Usual(table="posts", key="gravel", least=0.0, most=24.0, follows="gravel is bought for it"),
    Usual(table="posts", key="bag", least=18.0, most=130.0, follows="bags are counted by it", written=_mass),
    Usual(
        table="posts",
        key="gravel_bag",
        least=10.0,
        most=2500.0,
        follows="bags are counted by it",
        written=_mass,
    ),
    Usual(
        table="posts",
        key="concrete_extra",
        least=1.0,
        most=1.6,
        follows="concrete is bought by it",
        written=_plain,
    ),
    Usual(table="rails", key="height", least=1.0, most=10.0, follows="rails are bought and placed by it"),
    Usual(table="rails", key="thickness", least=0.5, most=4.0, follows="screws are chosen by it"),
    Usual(
        table="rails",
        key="count",
        least=1,
        most=5,
        follows="that many are bought for every bay",
        written=_plain,
    ),
    Usual(table="soil", key="crest", least=3.0, most=72.0, follows="soil is bought for it"),
    Usual(
        table="soil", key="most_depth", least=0.0, most=30.0, follows="soil that deep may lie against boards"
    ),
    Usual(
        table="soil",
        key="side_slope",
        least=1.0,
        most=12.0,
        follows="soil steeper than one to one slides, and too little of it would be bought",
        written=_plain,
    ),
    Usual(
        table="soil", key="loose_factor", least=1.0, most=1.9, follows="soil is bought by it", written=_plain
    ),
    Usual(
        table="site",
        key="wind_speed",
        least=60.0,
        most=230.0,
        follows="posts are screened for it",
        written=_speed,
    ),
    Usual(
        table="fasteners",
        key="per_crossing",
        least=1,
        most=6,
        follows="screws are counted by it",
        written=_plain,
    ),
)
"""Keys of single tables and their usual range."""

STOCK = (
    ("pickets", "stock", 8.0, 194.0),
    ("posts", "stock", 18.0, 290.0),
    ("posts", "gate_stock", 18.0, 290.0),
    ("rails", "stock", 18.0, 290.0),
    ("soil", "kickboard", 18.0, 290.0),
)
"""Lists of boards and the lengths (in) such boards are sold in."""


def unusual(file: JobFile, name: str) -> Iterator[Problem]:
    """A doubt about every value of the job file called `name` that is out of all usual range."""
    words = Words.of(file.job)
    for found in _all(file, words):
        key, value, usual, follows = found
        if key not in file.job.confirmed:
            yield warning(
                f"{name} {key}",
                f"{value} is {usual}: {follows}",
                f'check it; if it is meant, add "{key}" to confirmed under [job]',
            )


Found = tuple[str, str, str, str]
"""Key, its value, what is usual, and what follows."""


def _all(file: JobFile, words: Words) -> Iterator[Found]:
    yield from _tape(file, words)
    for rule in USUAL:
        table = getattr(file, rule.table)
        value = None if table is None else getattr(table, rule.key)
        if value is not None and not rule.least - SAME_LENGTH <= value <= rule.most + SAME_LENGTH:
            yield f"[{rule.table}] {rule.key}", rule.written(value, words), _range(rule, words), rule.follows
    for table, key, least, most in STOCK:
        yield from _stock(getattr(getattr(file, table), key), f"[[{table}.{key}]]", least, most, words)
    for run in file.run:
        yield from _run(run, words)


def _range(rule: Usual, words: Words) -> str:
    return f"not the usual {rule.written(rule.least, words)} to {rule.written(rule.most, words)}"


def _tape(file: JobFile, words: Words) -> Iterator[Found]:
    tape = file.job.tape
    if not any(abs(tape - mark) < SAME_LENGTH for marks in TAPES.values() for mark in marks):
        marks = ", ".join(words.fine(m) if m >= 1 / 16 else "1/32 in" for m in TAPES[UnitSystem.IMPERIAL])
        usual = "no mark of a tape: those are " + (marks if words.unit == "in" else "0.5, 1, 2, 5, 10 mm")
        yield "[job] tape", f"{tape:.4g} in", usual, "every cut is rounded down to it"


def _stock(stock: Sequence[Stock], key: str, least: float, most: float, words: Words) -> Iterator[Found]:
    for one in stock:
        if not least <= one.length <= most:
            usual = (
                f"no usual length of such a board ({words.sold_length(least)} to {words.sold_length(most)})"
            )
            yield f"{key} length", words.fine(one.length), usual, "boards of it are bought"
    priced = sorted((s for s in stock if s.price), key=lambda s: s.length)
    rates = [(s.price or 0.0) / s.length for s in priced]
    for k, one in enumerate(priced):
        others = rates[:k] + rates[k + 1 :]
        if others and not median(others) / DEAR <= rates[k] <= median(others) * DEAR:
            usual = (
                f"far from what the other lengths cost ({words.price(median(others) * one.length)} by them)"
            )
            told = f"{words.price(one.price or 0.0)} for {words.sold_length(one.length)}"
            yield f"{key} price", told, usual, "what is bought follows the prices"
            return
    for short, long in pairwise(priced):
        if (short.price or 0.0) > (long.price or 0.0) + SAME_COST:
            told = f"{words.sold_length(short.length)} at {words.price(short.price or 0.0)}"
            dearer = f"dearer than {words.sold_length(long.length)} at {words.price(long.price or 0.0)}"
            yield f"{key} price", told, dearer, "the longer is bought and cut in its place"
            return


def _run(run: Run, words: Words) -> Iterator[Found]:
    place = f'[[run]] "{run.name}"'
    if run.reading_error is not None and run.reading_error > 1.0:
        follows = "hardly a board could be cut from the chart"
        yield (
            f"{place} reading_error",
            words.fine(run.reading_error),
            f"over the usual {words.fine(1.0)}",
            follows,
        )
    for number, gate in enumerate(run.gate, start=1):
        if not 12.0 <= gate.width <= 288.0:
            usual = f"not the usual {words.height(12.0)} to {words.height(288.0)}"
            yield f"{place} gate {number} width", words.height(gate.width), usual, "no board stands there"
    for number, stretch in enumerate(run.clearance, start=1):
        if stretch.height > 6.0:
            follows = "over paving or beside a pool a child gets under that"
            usual = f"over the usual {words.fine(6.0)}"
            yield f"{place} clearance {number}", words.fine(stretch.height), usual, follows


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
                f"check it; if it is meant, add {key!r} to confirmed under [job]",
            )
