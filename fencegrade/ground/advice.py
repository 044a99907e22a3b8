"""Where one more reading is worth the walk, and when there is enough."""

import math
from collections.abc import Iterable, Iterator, Sequence

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from fencegrade.ground.band import GroundBand
from fencegrade.ground.fit import GroundProfile
from fencegrade.ground.left_out import Hole, some_stations
from fencegrade.problems import Problem, note, warning
from fencegrade.units.arrays import Floats, Truths
from fencegrade.units.tolerances import SAME_LENGTH
from fencegrade.units.words import Words

FROM_CHART = 0.30
"""A board may be cut from the chart where its chance of standing outside its limits is no more: about one in
twenty of the boards so cut then stands outside (own measurements, `ground.band`)."""

CALM = 0.05
"""Mean chance of standing outside up to which a survey is enough (own measurements)."""

WORTH = 0.5
"""A reading is worth the walk if it should bring at least this many boards into their limits (own choice)."""

NARROW = 27.0
"""Inches; a gap narrower than this is not halved (own measurements)."""

MOST_STRETCHES = 3

ROOT_SPACING = 12.0
"""Readings this close (in) where a root or trunk is marked (common practice, no source)."""

UNREAD = 0.5
"""Least chance of standing outside its limits of a board over a root not read, or where a stake seems left
out: even odds (own choice)."""

MOST_IMAGINED = 50_000
"""Boards imagined at most: five miles of fence."""

BOARD, CLEARANCE, MARGIN = 6.0, 2.0, 1.0
"""Inches; width, open height, and how much more or less of it is allowed, of the boards imagined where a run
has none (the defaults of a job)."""


class Boards(Struct, frozen=True, kw_only=True, eq=False):
    """Boards as they are to be cut, (n,) each.

    `left`, `right` edges (in); `foot` elevation of the bottom at the left edge (in); `slope` of the bottom
    cut (rise over run); `least`, `most` open height over the highest and the lowest ground (in).
    """

    left: Floats
    right: Floats
    foot: Floats
    slope: Floats
    least: Floats
    most: Floats

    def chance_outside(self, spread: GroundBand, **how: bool) -> Floats:
        """Chance (n,) to stand outside the limits, by a band; `how` as there."""
        return spread.chance_outside(
            self.left, self.right, self.foot, self.least, self.most, self.slope, **how
        )


class DoubtfulStretch(Struct, frozen=True, kw_only=True):
    """A gap between two readings: `start`, `end` (in); `half` width of the band that holds the ground at its
    middle in 95 of 100 cases (in); `gain`: boards that one reading in its middle should bring into their
    limits; `to_saw`: boards that could then be cut from the chart and now cannot.
    """

    start: float
    end: float
    half: float
    gain: float
    to_saw: int


class ReadAgain(Struct, frozen=True, kw_only=True):
    """What all readings taken a second time should do: boards brought into their limits (`gain`), and boards
    that could then be cut from the chart and now cannot (`to_saw`).
    """

    gain: float
    to_saw: int


class Advice(Struct, frozen=True, kw_only=True, eq=False):
    """Where to measure next.

    `stretches` worth a reading, the most doubtful first; `read_breaks` whether to look for breaks first;
    `little_left` whether no reading would bring half a board into its limits, and `enough` whether the boards
    are sure as well, neither while ground that has to be read is not; `again` where the readings' own error
    is what makes boards unsure, more than all the gaps named; `missing` stations (in) near marked roots;
    `unread` (n,) boards over ground that has to be read, see there; `chance` (n,) that each stands outside.
    """

    stretches: tuple[DoubtfulStretch, ...]
    read_breaks: bool
    little_left: bool
    enough: bool
    again: ReadAgain | None
    missing: tuple[float, ...]
    unread: Truths
    chance: Floats


def advise(
    profile: GroundProfile,
    boards: Boards,
    marked: Sequence[tuple[float, float]] = (),
    share: float = FROM_CHART,
    left_out: Sequence[Hole] = (),
) -> Advice:
    """Where the next reading is worth most.

    Parameters
    ----------
    profile : GroundProfile
        The ground as read.
    boards : Boards
        As they are to be cut; `imagined` where there are none.
    marked : in
        Stretches with a root or trunk.
    share : 0 to 1
        Chance of standing outside up to which a board is cut from the chart.
    left_out
        Stretches in which stakes seem left out; they are told by themselves, and are no advice.

    Returns
    -------
    Advice
        The middle of the gap with the largest mean variance x width comes first; gaps under 27 in are left
        out. Source: own measurements, compared with even re-spacing after 2, 4 and 8 readings.
    """
    now, then = (boards.chance_outside(profile.spread, halved=halved) for halved in (False, True))
    told = {(hole.start, hole.end) for hole in left_out}
    worth = tuple(s for s in _worth(profile, boards, now, then, share) if (s.start, s.end) not in told)
    missing = tuple(_missing(profile.line.stations, marked))
    read = not worth and not missing and not left_out
    again = _again(profile, boards, now, share)
    unread = unread_under(boards, profile, marked, left_out)
    counts = again.gain >= max(WORTH, sum(s.gain for s in worth)) and float(now.mean()) > CALM
    return Advice(
        stretches=worth,
        read_breaks=bool(worth) and not len(profile.breaks),
        little_left=read,
        enough=read and (not len(now) or float(now.mean()) <= CALM),
        again=again if counts else None,
        missing=missing,
        unread=unread,
        chance=or_even_odds(now, unread),
    )


def _again(profile: GroundProfile, boards: Boards, now: Floats, share: float) -> ReadAgain:
    """What a second reading at every stake should bring: half the variance of each; the ground as rough."""
    then = boards.chance_outside(replace(profile.spread, variance=profile.spread.variance / 2))
    return ReadAgain(gain=float((now - then).sum()), to_saw=int(((now > share) & (then <= share)).sum()))


def unread_under(
    boards: Boards,
    profile: GroundProfile,
    marked: Sequence[tuple[float, float]],
    left_out: Sequence[Hole] = (),
) -> Truths:
    """Which boards (n,) stand where a root is marked and was not read, or where a stake seems left out.

    They are marked in place until the ground is read, whatever the chance allowed. None of those that may
    stand at any height over the ground. `marked`: stretches (in) with a root.
    """
    stations = profile.line.stations
    near = np.zeros(len(boards.left), dtype=bool)
    unread = [(x, ROOT_SPACING / 2) for x in _missing(stations, marked)]
    unread += [(x, hole.reach) for hole in left_out for x in _unread_at(stations, hole.missing, hole.reach)]
    for x, reach in unread:
        near |= (boards.left < x + reach - SAME_LENGTH) & (boards.right > x - reach + SAME_LENGTH)
    return near & (np.isfinite(boards.least) | np.isfinite(boards.most))


def or_even_odds(chance: Floats, unread: Truths) -> Floats:
    """Chances (n,) of standing outside, as told: at least UNREAD for boards over ground that is `unread`."""
    return np.where(unread, np.maximum(chance, UNREAD), chance)


def imagined(profile: GroundProfile, start: float, end: float) -> Boards:
    """Square-cut boards of 6 in from `start` to `end` (in), 2 in over the ground, an inch more or less; where
    those would be too many for a fence, some of them, evenly along it."""
    edges = np.linspace(start, end, min(MOST_IMAGINED, max(1, round((end - start) / BOARD))) + 1)
    left = edges[:-1]
    right = np.minimum(edges[1:], left + 2 * BOARD)
    return Boards(
        left=left,
        right=right,
        foot=profile.highest(left, right) + CLEARANCE,
        slope=np.zeros(len(left)),
        least=np.full(len(left), CLEARANCE - MARGIN),
        most=np.full(len(left), CLEARANCE + MARGIN),
    )


def _worth(
    profile: GroundProfile, boards: Boards, now: Floats, then: Floats, share: float
) -> Iterator[DoubtfulStretch]:
    """Gaps in which a reading is worth the walk, the one with the largest mean variance x width first."""
    stations = profile.spread.line.stations  # `profile.line` also goes through ground measured in place
    widths = np.diff(stations)
    gap, _ = profile.spread.place((boards.left + boards.right) / 2)
    gain = np.bincount(gap, weights=now - then, minlength=len(widths))
    to_saw = np.bincount(gap, weights=(now > share) & (then <= share), minlength=len(widths))
    open_ = np.flatnonzero((widths >= NARROW) & (gain >= WORTH))
    weight = np.round((profile.spread.mean_variance() * widths)[open_], 9)
    for k in open_[np.argsort(-weight, kind="stable")][:MOST_STRETCHES]:
        start, end = float(stations[k]), float(stations[k + 1])
        yield DoubtfulStretch(
            start=start,
            end=end,
            half=float(profile.spread.at((start + end) / 2).half_width(0.95)),
            gain=float(gain[k]),
            to_saw=int(to_saw[k]),
        )


def _missing(stations: Floats, marked: Sequence[tuple[float, float]]) -> Iterator[float]:
    """Stations (in) without a reading near, a foot apart, in marked stretches inside the survey.

    As many as a stretch has room for and as far from its one end as from the other, so that they are the same
    whichever way the run is walked.
    """
    for a, b in marked:
        low, high = max(a, float(stations[0])), min(b, float(stations[-1]))
        if low <= high:
            steps = np.arange(math.floor((high - low) / ROOT_SPACING + SAME_LENGTH) + 1)
            wanted = (low + high) / 2 + (steps - steps[-1] / 2) * ROOT_SPACING
            yield from _unread_at(stations, wanted, ROOT_SPACING / 2)


def _unread_at(stations: Floats, wanted: Iterable[float], reach: float) -> Iterator[float]:
    """Those of the `wanted` stations (in) that have no reading within `reach` (in)."""
    for x in wanted:
        if np.abs(stations - x).min() > reach + SAME_LENGTH:
            yield float(x)


def unread_roots(
    profile: GroundProfile, marked: Sequence[tuple[float, float]], run: str, words: Words
) -> Iterator[Problem]:
    """Stretches (in) with a root or trunk in which readings are missing, as a warning."""
    yield from _unread(tuple(_missing(profile.line.stations, marked)), run, words)


def _unread(missing: tuple[float, ...], run: str, words: Words) -> Iterator[Problem]:
    if missing:
        yield warning(
            run,
            f"a root or trunk is marked where no reading was taken near {some_stations(missing, words)}",
            f"read the ground there, {words.fine(ROOT_SPACING)} apart; a root lifts it where no curve can "
            "know, and boards over it are marked in place until then",
        )


def advice_problems(
    advice: Advice, run: str, words: Words, *, provisional: bool = False
) -> Iterator[Problem]:
    """The advice as notes and warnings; no readings are enough while the run is `provisional`."""
    yield from _unread(advice.missing, run, words)
    if advice.enough:
        if not provisional:
            yield note(run, "the readings are enough: one more would hardly change a board or the purchase")
        return
    if advice.again:
        yield _read_again(advice.again, run)
    elif advice.little_left:
        yield note(
            run,
            "more readings will hardly help, though the ground between them is not sure under every board",
            "cut what the chart holds for and mark the rest in place",
        )
    if advice.read_breaks:
        yield note(
            run,
            "the ground between the readings is least sure where it breaks",
            "look where the ground leaves a straight edge: read it at every crest, toe, ditch lip and "
            'paving edge, and write "break" in the note of those rows',
        )
    for s in advice.stretches:
        yield note(
            f"{run}, {words.stretch(s.start, s.end)}",
            f"the ground half way here is within {words.fine(s.half)} of the line in 95 of 100 cases",
            f"one reading near {words.station((s.start + s.end) / 2)} should bring about {s.gain:.1f} boards "
            f"into their limits{_to_saw(s.to_saw)}",
        )


def _read_again(again: ReadAgain, run: str) -> Problem:
    return note(
        run,
        "what a reading may be off by itself counts for more here than the ground between two",
        f"read every stake a second time, as a row of its own: about {again.gain:.1f} boards should come "
        f"into their limits{_to_saw(again.to_saw)}",
    )


def _to_saw(boards: int) -> str:
    return f"; {boards} more may then be cut from the chart" if boards else ""
