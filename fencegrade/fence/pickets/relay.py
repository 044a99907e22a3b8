"""Laying again what is left of a stretch once some pickets are up and the last edge has been measured.

    up                      left
  [ ][ ][ ][ ]|  g1 [ ]  g2 [ ]  g3 [ ]  ...   [ ]|
              at                                  end

Each gap may differ from the one before it by a small limit that the eye does not catch. A gap is eased to its
new size in such steps: gap i = old gap + or - min(i x step, departure), so a departure within the limit is
taken in one step and stays, and a larger one is spread.
"""

import math
from collections.abc import Iterator, Sequence
from enum import StrEnum

import numpy as np
from msgspec import Struct

from fencegrade.fence.slots import LEAST_BOARD, LEAST_OFF, Slots, is_ripped
from fencegrade.job.choices import Fit
from fencegrade.units.arrays import Floats
from fencegrade.units.tolerances import ROUNDING, SAME_LENGTH

_UNSEEN = 0.25
"""A gap that departs by no more than this share of the limit counts as the old one beside a rip."""


class RelayKind(StrEnum):
    """How the rest of a stretch comes out."""

    AS_PLANNED = "as planned"
    FULL_BOARDS = "full boards"
    ONE_RIP = "last board ripped"
    TWO_RIPS = "last two boards ripped alike"
    NOTHING = "no board"


class Rest(Struct, frozen=True, kw_only=True, eq=False):
    """What is left of a stretch; stations and sizes in inches.

    `at`: far edge of the last board up; `end` of the stretch; `width` of the
    boards to come; `gap` as it stands between the boards up; `limit`: most one gap may differ from the one
    before it; `close`: share of a gap after the last board (1/2 at a post a stepped top starts afresh at,
    else 0); `planned`: the slots the plan has here; `shift`: how far `at` lies beyond the planned edge;
    `fit` of the job; `match`: rip to match at the far end with rips at both ends, 0 for none.
    """

    at: float
    end: float
    width: float
    gap: float
    limit: float
    fit: Fit
    planned: Slots
    shift: float
    close: float = 0.0
    match: float = 0.0

    @property
    def room(self) -> float:
        """What is left to fill (in)."""
        return self.end - self.at


class Relay(Struct, frozen=True, kw_only=True, eq=False):
    """One way to lay the rest; inches, arrays (n,) over the boards to come.

    `gaps`: the space before each board; `end_gap` the space after the last; `departure`: how much the last
    gap differs from the gap as it stands, with its sign; `change`: the largest difference between one gap
    and the next; `within`: whether it keeps the limit; `ripped`: widths of the boards that are ripped;
    `shortest_rip` as a share of a full board, 1 where none is ripped.
    """

    kind: RelayKind
    slots: Slots
    gaps: Floats
    end_gap: float
    departure: float
    change: float
    within: bool
    ripped: tuple[float, ...]
    shortest_rip: float

    def __len__(self) -> int:
        return len(self.slots)

    @property
    def sliver(self) -> bool:
        """Whether a board comes out under half its width."""
        return self.shortest_rip < 0.5 - SAME_LENGTH


def lay_again(rest: Rest) -> tuple[Relay, ...]:
    """Every sensible way to lay the rest, the one that shows least first.

    Result: one or more. As the fit asks: with even gaps full boards alone, as many as change the gap least;
    with a rip full boards at the gap as it stands and the last one ripped, unless that leaves less than half
    a board. Then gaps are eased within the limit to swallow or widen it, or two boards are ripped alike.
    What passes the limit comes after what keeps it, so with even gaps a rip comes first where no number of
    full boards keeps it; where the stretch is full, no board beyond the limit is named. Errors: ValueError
    for a width or limit not over zero, a negative gap or no room. Source: own derivation; the limit and half
    a board are common practice, no source.
    """
    if not (rest.width > 0 and rest.limit > 0 and rest.gap >= 0 and rest.room >= -SAME_LENGTH):
        raise ValueError("width and limit must be over zero, gap and room not below it")
    if abs(rest.shift) <= SAME_LENGTH and _plan_reaches(rest):
        return (_as_planned(rest),)
    found = [r for widths in _widths(rest) if (r := _eased(rest, widths)) is not None]
    found += _kept_gaps(rest)
    if not found or rest.room <= rest.gap + min(rest.limit, LEAST_BOARD):
        found.append(_nothing(rest))
    best, *others = _distinct(sorted(found, key=lambda r: _shows(rest, r)))
    full = best.kind is RelayKind.NOTHING
    return (best, *(r for r in others if r.within or not full))


def _plan_reaches(rest: Rest) -> bool:
    """Whether the plan's slots end where the stretch does, so that it still holds."""
    if not len(rest.planned):
        return False
    after = rest.end - float(rest.planned.right[-1])
    wanted = rest.close * rest.gap
    return abs(after - wanted) <= SAME_LENGTH or (
        rest.fit is not Fit.EVEN_GAPS and 0 <= after <= rest.gap + SAME_LENGTH
    )


def _shows(rest: Rest, relay: Relay) -> tuple[float, ...]:
    """What the eye catches first, in order; least is best."""
    ripped, off = len(relay.ripped), len(relay) - len(rest.planned)
    nothing = relay.kind is RelayKind.NOTHING and rest.room > rest.gap + rest.limit
    departure = abs(relay.departure)
    worst = (nothing, not relay.within, relay.sliver)
    change = 0.0 if relay.within else relay.change
    if rest.fit is Fit.EVEN_GAPS:
        return (*worst, ripped, change, departure, abs(off))
    unlike = rest.match > 0 and abs(sum(relay.ripped[-1:]) - rest.match) > rest.limit
    seen = max(0.0, departure - rest.limit * _UNSEEN)
    return (*worst, ripped > 1, unlike, change, seen, ripped, departure)


def _distinct(ways: Sequence[Relay]) -> Iterator[Relay]:
    seen: set[tuple[object, ...]] = set()
    for way in ways:
        key = (len(way), tuple(round(w, 4) for w in way.ripped), round(way.departure, 4))
        if key not in seen:
            seen.add(key)
            yield way


def _widths(rest: Rest) -> Iterator[list[float]]:
    """Rows of boards that come near to filling the rest."""
    w, pitch = rest.width, rest.width + rest.gap
    about = math.floor(rest.room / pitch + SAME_LENGTH)
    counts = [m for m in range(max(1, about - 2), about + 4) if m * w <= rest.room + SAME_LENGTH]
    yield from ([w] * m for m in counts)
    if rest.fit is not Fit.EVEN_GAPS and w >= 2 * LEAST_BOARD:
        yield from ([w] * (m - 1) + [w / 2] for m in range(max(1, about - 1), about + 3))
    if rest.fit is not Fit.EVEN_GAPS and LEAST_BOARD <= rest.match < w:
        yield from ([w] * (m - 1) + [rest.match] for m in range(max(1, about - 1), about + 3))


def _kept_gaps(rest: Rest) -> list[Relay]:
    """The rest at the gap as it stands: full boards, and one or two ripped at the end."""
    w, gap = rest.width, rest.gap
    room = rest.room - rest.close * gap
    full = max(0, math.floor(room / (w + gap) + SAME_LENGTH))
    over = room - full * (w + gap) - gap
    if over <= SAME_LENGTH:
        if rest.fit is Fit.EVEN_GAPS or not full:
            return [_single_rip(rest)] if rest.room < w and rest.room >= LEAST_BOARD else []
        return [_placed(rest, [w] * full, np.full(full, gap), RelayKind.FULL_BOARDS, 0.0)]
    if over < LEAST_BOARD and not full:
        return [_single_rip(rest)] if rest.room >= LEAST_BOARD else []
    spread = w - over < LEAST_OFF and w - over <= gap * (full + 1)
    rows = [([w] * full + [over], RelayKind.ONE_RIP)] if over >= LEAST_BOARD and not spread else []
    if full and over < w / 2 and w + over >= 2 * LEAST_BOARD:
        rows.append(([w] * (full - 1) + [(w + over) / 2] * 2, RelayKind.TWO_RIPS))
    return [_placed(rest, r, np.full(len(r), gap), kind, 0.0) for r, kind in rows]


def _single_rip(rest: Rest) -> Relay:
    """One board ripped to all that is left, or to leave the gap where that still gives a board."""
    width = rest.room - rest.gap if rest.room - rest.gap >= LEAST_BOARD else rest.room
    gaps = np.array([rest.gap if width < rest.room else 0.0])
    return _placed(rest, [width], gaps, RelayKind.ONE_RIP, float(gaps[0]) - rest.gap)


def _nothing(rest: Rest) -> Relay:
    none = np.empty(0)
    return Relay(
        kind=RelayKind.NOTHING,
        slots=Slots(left=none, right=none),
        gaps=none,
        end_gap=rest.room,
        departure=0.0,
        change=0.0,
        within=True,
        ripped=(),
        shortest_rip=1.0,
    )


def _as_planned(rest: Rest) -> Relay:
    left, right = rest.planned.left, rest.planned.right
    gaps = np.asarray(left - np.append(rest.at, right[:-1]), dtype=float)
    widths = rest.planned.width
    ripped = tuple(widths[is_ripped(widths, rest.width)].tolist())
    return Relay(
        kind=RelayKind.AS_PLANNED,
        slots=rest.planned,
        gaps=gaps,
        end_gap=rest.end - float(right[-1]),
        departure=0.0,
        change=0.0,
        within=True,
        ripped=ripped,
        shortest_rip=min(ripped, default=rest.width) / rest.width,
    )


def _eased(rest: Rest, widths: Sequence[float]) -> Relay | None:
    """A row of boards with the gaps eased so that it fills the rest; None where the boards do not fit."""
    shares = np.ones(len(widths))
    shares[-1] += rest.close
    missing = rest.room - sum(widths) - float(shares.sum()) * rest.gap
    size, sign = abs(missing), 1.0 if missing >= 0 else -1.0
    most = math.inf if sign > 0 else rest.gap
    if size > most * float(shares.sum()) + SAME_LENGTH:
        return None
    departure, step = _ease(shares, size, most, rest.limit)
    part = np.minimum(np.arange(1, len(widths) + 1) * step, departure)
    gaps = np.maximum(rest.gap + sign * part, 0.0)
    kind = RelayKind.ONE_RIP if widths[-1] < rest.width - SAME_LENGTH else RelayKind.FULL_BOARDS
    return _placed(rest, widths, gaps, kind, sign * departure)


def _ease(shares: Floats, size: float, most: float, limit: float) -> tuple[float, float]:
    """Departure and step of eased gaps whose weighted sum is `size`.

    The least departure with steps of `limit`, or with the least larger step where that is not enough. `most`:
    no gap departs by more. Solves sum(share_i min(i step, departure)) = size, exactly.
    """
    index = np.arange(1, len(shares) + 1)
    ramp, flat = np.cumsum(shares * index), float(shares.sum()) - np.cumsum(shares)
    reach = limit * (np.append(0.0, ramp)[:-1] + index * (np.append(float(shares.sum()), flat)[:-1]))
    k = int(np.searchsorted(reach, size - ROUNDING))
    if k < len(index):
        before = limit * float(ramp[k - 1]) if k else 0.0
        left = float(shares.sum()) if k == 0 else float(flat[k - 1])
        departure = (size - before) / left
        if departure <= most + SAME_LENGTH:
            return min(departure, most), limit
    if math.isinf(most):
        step = size / float(ramp[-1])
        return step * len(shares), step
    return most, _least_step(ramp, flat, size, most)


def _least_step(ramp: Floats, flat: Floats, size: float, most: float) -> float:
    """The least step with which gaps that close by `most` at the utmost give `size` together."""
    for k in range(len(ramp) - 1, -1, -1):
        step = (size - most * float(flat[k])) / float(ramp[k])
        if step > 0 and (k + 1) * step <= most + SAME_LENGTH:
            return step
    return most


def _placed(rest: Rest, widths: Sequence[float], gaps: Floats, kind: RelayKind, departure: float) -> Relay:
    """The row with its edges worked out."""
    wide = np.asarray(widths, dtype=float)
    right = rest.at + np.cumsum(gaps + wide)
    end_gap = rest.end - float(right[-1])
    if abs(end_gap) <= SAME_LENGTH:
        right[-1], end_gap = rest.end, 0.0
    ripped = tuple(wide[is_ripped(wide, rest.width)].tolist())
    change = float(np.abs(np.diff(np.append(rest.gap, gaps))).max())
    return Relay(
        kind=kind,
        slots=Slots(left=np.asarray(right - wide), right=np.asarray(right)),
        gaps=gaps,
        end_gap=end_gap,
        departure=departure,
        change=change,
        within=change <= rest.limit + SAME_LENGTH,
        ripped=ripped,
        shortest_rip=min(ripped, default=rest.width) / rest.width,
    )
