"""Boards as they are: widths measured on a few, what they do to the run's end, and a spacing that forgives.

      |[  w1  ] [ w2 ] [   w3  ] ...            |      the rest is what all widths before it leave
      start                         |<-- rest ->|

The error of the end is that of a sum of widths. With m boards measured and N boards laid its standard
deviation is spread sqrt(N + N^2 / m): N for the boards' own scatter, N^2 / m for the mean's uncertainty. Over
that deviation the error follows Student's t with m - 1 degrees of freedom, exactly so for normal widths
(prediction of a sum from a normal sample), nearly so for others where N is not small. Boards of different
bundles with different means are not one sample: measure each bundle.
"""

import math
from collections.abc import Iterator, Sequence

import numpy as np
from msgspec import Struct
from numpy.typing import ArrayLike
from scipy.special import gammaincinv, stdtr, stdtrit

from fencegrade.fence.slots import even_gap_count, fill_stretch
from fencegrade.job.choices import Fit
from fencegrade.problems import Problem, mistake, note
from fencegrade.units import UnitSystem
from fencegrade.units.arrays import Floats
from fencegrade.units.tolerances import ROUNDING
from fencegrade.units.words import Words

USUAL_LIMIT = {UnitSystem.IMPERIAL: "1/8 in", UnitSystem.METRIC: "3 mm"}
"""The most one gap may taper before the eye catches it. Common practice, no source."""

FEW = 5
"""Fewer widths than this say little about the spread: own choice."""

EASED_GAPS = 10
"""How many of the last gaps a builder changes a little so that the end comes out: own choice."""

_FAR = 0.2
"""A width this share off the median is taken for a slip of the tape: own choice."""
_DRIFT_STEPS = 10_000


class WidthSample(Struct, frozen=True, kw_only=True):
    """Widths of `count` boards; inches.

    `spread` is the standard deviation with count - 1; `spread_low` and `spread_high` bound the true one, and
    `mean_low` and `mean_high` the true mean, with 95 in 100.
    """

    count: int
    mean: float
    spread: float
    least: float
    most: float
    mean_low: float
    mean_high: float
    spread_low: float
    spread_high: float


def sample_widths(widths: Sequence[float]) -> WidthSample:
    """Mean and spread of measured widths, with how sure they are.

    `widths`: two or more, in inches, in any order. Errors: ValueError for fewer, or any not over zero.
    Source: normal sample theory (Student's t for the mean, chi-square for the spread), any statistics text.
    """
    values = np.asarray(widths, dtype=float)
    if len(values) < 2 or not np.all(values > 0) or not np.all(np.isfinite(values)):
        raise ValueError("two or more widths are needed, each over zero")
    count, mean, spread = len(values), float(values.mean()), float(values.std(ddof=1))
    free = count - 1
    reach = float(stdtrit(free, 0.975)) * spread / math.sqrt(count)
    return WidthSample(
        count=count,
        mean=mean,
        spread=spread,
        least=float(values.min()),
        most=float(values.max()),
        mean_low=mean - reach,
        mean_high=mean + reach,
        spread_low=spread * math.sqrt(free / _chi_square(free, 0.975)),
        spread_high=spread * math.sqrt(free / _chi_square(free, 0.025)),
    )


def _chi_square(free: int, share: float) -> float:
    return 2 * float(gammaincinv(free / 2, share))


def width_problems(place: str, widths: Sequence[float], system: UnitSystem) -> Iterator[Problem]:
    """What is wrong or doubtful with a list of measured widths (in)."""
    if len(widths) < 2:
        yield mistake(
            place, "one width says nothing about how boards differ", "measure ten boards, two at least"
        )
        return
    middle, words = float(np.median(widths)), Words.of_layout(system)
    for index, width in enumerate(widths):
        if abs(width - middle) > _FAR * abs(middle):
            yield mistake(
                f"{place} {index + 1}",
                f"{words.fine(width)} is far from the others, which lie about {words.fine(middle)}",
                "check the number and its unit, or leave that board out",
            )
    if len(widths) < FEW:
        yield note(place, f"{len(widths)} widths say little about the spread", "measure ten boards")
    if max(widths) - min(widths) < ROUNDING:
        yield note(
            place, "all widths read the same, so the end is taken as certain", "read them to a finer mark"
        )


def end_deviation(sample: WidthSample, boards: ArrayLike) -> Floats:
    """Standard deviation (in) of where `boards` boards end, about where the mean width puts them."""
    n = np.asarray(boards, dtype=float)
    return np.asarray(sample.spread * np.sqrt(n + n * n / sample.count))


def _below(sample: WidthSample, boards: Floats, error: Floats) -> Floats:
    """Chance that the sum of the widths minus its mean is at most `error`."""
    deviation = end_deviation(sample, boards)
    certain = np.where(error >= 0, np.inf, -np.inf)
    ratio = np.divide(error, deviation, out=certain, where=deviation > 0)
    return np.asarray(stdtr(float(sample.count - 1), ratio))


def sliver_chance(length: float, spacing: float, sample: WidthSample, ease: float = 0.0) -> float:
    """Chance that boards at a kept gap end in a rip under half a board.

    `length`: from the first board's left edge to the end (in); `spacing`: the gap kept (in); `ease`: how much
    each of the last ten gaps may be changed to dodge it (in). The rest after k boards and gaps is a sliver
    if it lies between 0 and half the mean width; k boards exclude k + 1, so the chances add up. Eased gaps
    open to swallow a narrow rest, or close to widen one. Result: 0 to 1. Errors: ValueError for a length not
    over zero or a negative gap. Source: own derivation; half a board as the least rip is common practice, no
    source.
    """
    _check(length, spacing)
    pitch = sample.mean + spacing
    boards = np.arange(math.floor(length / pitch) + 2 + _extra(length, sample), dtype=float)
    gaps = np.minimum(boards, EASED_GAPS)
    rest = length - boards * pitch
    narrow = gaps * ease + ROUNDING
    wide = np.maximum(narrow, sample.mean / 2 - gaps * min(ease, spacing) - ROUNDING)
    within = _below(sample, boards, rest - narrow) - _below(sample, boards, rest - wide)
    return float(min(1.0, max(0.0, within.sum())))


def _extra(length: float, sample: WidthSample) -> int:
    """Boards beyond the expected count that chance may still fit in."""
    return math.ceil(12 * float(end_deviation(sample, length / sample.mean)) / sample.mean) + 1


def off_chance(boards: int, sample: WidthSample, limit: float, spacing: float, gaps: int = 1) -> float:
    """Chance that the last gap differs by more than `limit` (in) from the others, or that boards do not fit.

    `boards`: how many, laid at the gap that the mean width asks for; `spacing`: that gap (in), which boards
    that are too wide can use up; `gaps`: how many of the last gaps share the error. Result: 0 to 1. Errors:
    ValueError for a limit not over zero. Source: own derivation, see the module.
    """
    if not limit > 0:
        raise ValueError(f"the limit must be over zero, not {limit}")
    n = np.asarray(float(boards))
    narrow = _below(sample, n, np.asarray(-limit * gaps))
    wide = 1 - _below(sample, n, np.asarray(min(limit, max(0.0, spacing)) * gaps))
    return float(narrow + wide)


def boards_between_checks(sample: WidthSample, limit: float, chance: float = 0.05) -> int:
    """Most boards after which the leading edge is off by more than `limit` (in) with at most that chance.

    Result: 1 to 10,000; 1 also where a single board differs by more. Errors: ValueError for a limit not over
    zero.
    """
    low, high = 1, _DRIFT_STEPS
    while low < high:
        middle = (low + high + 1) // 2
        if off_chance(middle, sample, limit, limit) <= chance:
            low = middle
        else:
            high = middle - 1
    return low


class SpacingChoice(Struct, frozen=True, kw_only=True):
    """One way to lay a stretch: the gap (in), how many boards, and the chance that its end shows.

    The end shows if the last rip is under half a board, or, with even gaps, if the last gap is off by more
    than the limit or a board has no room. `eased` is the chance that it still shows where each of the last
    ten gaps is changed by up to the limit.
    """

    spacing: float
    count: int
    chance: float
    eased: float


def end_chance(length: float, spacing: float, fit: Fit, sample: WidthSample, limit: float) -> SpacingChoice:
    """How a stretch laid from the mean width ends, and the chance that its end shows.

    `length`, `spacing`, `limit` in inches; `limit`: largest difference of the last gap that is not noticed.
    With even gaps the spacing in the result is the even one. With both ends ripped the first rip is made
    from the mean width and the far end takes all the error. Errors: ValueError for a length not over zero
    or a negative gap. Source: own derivation.
    """
    _check(length, spacing)
    count = len(fill_stretch(0.0, length, sample.mean, spacing, fit))
    if fit is Fit.EVEN_GAPS:
        return _even_choice(length, count, spacing, sample, limit)
    first = float(fill_stretch(0.0, length, sample.mean, spacing, fit).width[0])
    ripped = fit is Fit.RIP_BOTH_ENDS and first < sample.mean - ROUNDING and count > 1
    rest = length - first - spacing if ripped else length
    return SpacingChoice(
        spacing=spacing,
        count=count,
        chance=sliver_chance(rest, spacing, sample),
        eased=sliver_chance(rest, spacing, sample, limit),
    )


def spacing_choices(
    length: float, wanted: float, within: float, fit: Fit, sample: WidthSample, *, limit: float, mark: float
) -> list[SpacingChoice]:
    """Spacings about the wanted one, the least likely to show at the end first, near ones before far.

    `length`: of the stretch (in); `wanted`: spacing (in); `within`: how far it may differ (in); `limit`: see
    `end_chance`; `mark`: spacings tried differ from the wanted one by multiples of it (in). With even gaps
    the choices are counts, and where none lies within, the nearest. Errors: ValueError as `end_chance`.
    """
    _check(length, wanted)
    if fit is Fit.EVEN_GAPS:
        choices = _counts(length, wanted, within, sample, limit)
    else:
        steps = range(-math.floor(within / mark + ROUNDING), math.floor(within / mark + ROUNDING) + 1)
        spacings = [wanted + k * mark for k in steps if wanted + k * mark >= 0]
        choices = [end_chance(length, s, fit, sample, limit) for s in spacings]
    return sorted(choices, key=lambda c: (round(c.eased, 3), round(c.chance, 3), abs(c.spacing - wanted)))


def _counts(
    length: float, wanted: float, within: float, sample: WidthSample, limit: float
) -> list[SpacingChoice]:
    """Even gaps: every count whose gap lies within, or the nearest count alone."""
    widest, closest = wanted + within, max(0.0, wanted - within)
    least = max(2, math.ceil((length + widest) / (sample.mean + widest) - ROUNDING))
    most = math.floor((length + closest) / (sample.mean + closest) + ROUNDING)
    counts = range(least, most + 1) or [even_gap_count(length, sample.mean, wanted)]
    return [_even_choice(length, n, wanted, sample, limit) for n in counts]


def _even_choice(
    length: float, count: int, wanted: float, sample: WidthSample, limit: float
) -> SpacingChoice:
    """`count` boards with even gaps; a single board stands in the middle and shows nothing."""
    if count < 2:
        return SpacingChoice(spacing=wanted, count=count, chance=0.0, eased=0.0)
    gap = max(0.0, (length - count * sample.mean) / (count - 1))
    return SpacingChoice(
        spacing=gap,
        count=count,
        chance=off_chance(count, sample, limit, gap),
        eased=off_chance(count, sample, limit, gap, min(EASED_GAPS, count - 1)),
    )


def planned_width_problems(
    place: str, sample: WidthSample, planned: float, boards: int, system: UnitSystem
) -> Iterator[Problem]:
    """A note where the job's width (in) lies outside what the measured boards allow for the mean."""
    if not sample.mean_low - ROUNDING <= planned <= sample.mean_high + ROUNDING:
        drift = abs(boards * (sample.mean - planned))
        words = Words.of_layout(system)
        plan, mean, off = (words.fine(x) for x in (planned, sample.mean, drift))
        yield note(
            place,
            f"the boards measured average {mean}, not {plan}; over {boards} that is {off}: they are laid out "
            "from the average",
        )


def _check(length: float, spacing: float) -> None:
    if not (length > 0 and spacing >= 0):
        raise ValueError(f"the length {length} must be over zero and the gap {spacing} not below it")
