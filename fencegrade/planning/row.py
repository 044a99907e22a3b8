"""The row of pickets as it stands: every measured edge taken in turn, and the rest laid again from it.

  plan    [ ][ ][ ][ ][ ][ ][ ][ ][ ]|
  up      [ ][ ][ ]|                       the 3rd ends here, those before it lie evenly
  to come          | [ ] [ ] [ ] [ ] |     laid again up to the end of the stretch

An edge is held against the row as the edges before it left it, so a record taken at once and one taken day by
day lay the same row, and an edge that agrees with the row changes nothing.
"""

from collections.abc import Callable, Sequence

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from fencegrade.fence.pickets.patterns import in_the_way
from fencegrade.fence.pickets.relay import Relay, Rest, lay_again
from fencegrade.fence.slots import Slots
from fencegrade.ground.doubt import SLIPS, SlipKind
from fencegrade.job.as_built import PicketUp
from fencegrade.job.choices import Fit, Pattern
from fencegrade.problems import Problem, mistake, warning
from fencegrade.units import layout_mark
from fencegrade.units.arrays import Indices, some_of
from fencegrade.units.tolerances import SAME_LENGTH
from fencegrade.units.words import Words

DOUBTED_DRIFT = 0.125
"""Inches a board from which a drift is doubted before it is taken for the boards' width (own choice)."""

FEW_UP = 10
"""Over fewer boards a drift says little about their width (own choice)."""

RIPPED_SHARE = 0.1
"""A board whose width is this share off the plan's was ripped: it says nothing of the others (own choice)."""

SLIP_NEAR = 0.25
"""Inches from a foot, or from 100 mm, within which a drift may be a slip of it (own choice)."""

NARROWEST = 0.8
"""Share of its planned width that any board has at least; a station short of that many boards is a slip."""


class Stretch(Struct, frozen=True, kw_only=True, eq=False):
    """A stretch that is laid for itself: its ends (in), its slots in order and the row of each; `moved`: an
    end is not where the slots were laid for; `beyond`: how far its last board may stand past it (in)."""

    start: float
    end: float
    slots: Slots
    row: Indices
    moved: bool = False
    beyond: float = 0.0


class Laying(Struct, frozen=True, kw_only=True):
    """What laying again needs of the job: most one gap may change (in), the fit, whether bays start afresh
    with half a gap, a board's width and spacing as planned (in), and the pattern of its rows."""

    limit: float
    fit: Fit
    stepped: bool
    width: float
    spacing: float
    pattern: Pattern


class Again(Struct, frozen=True, kw_only=True, eq=False):
    """How the rest of the stretch being built is laid: the way taken and the next best.

    `after`: number of the last picket up, its far edge measured at `at` and laid at `planned` before (in);
    `gap` as it stood, `width` of the boards to come, `end` of the stretch (in); `replaced`: pickets the row
    had from there to the end of the stretch.
    """

    relay: Relay
    others: tuple[Relay, ...]
    after: int
    at: float
    planned: float
    gap: float
    width: float
    end: float
    limit: float
    replaced: int


class Row(Struct, frozen=True, kw_only=True, eq=False):
    """The whole row as it stands; `width` (in) of the boards to come, `known` by so many of those up, none
    where it was not measured and fewer than `FEW_UP` are; `again` None where nothing was measured or all of
    it agrees."""

    stretches: tuple[Stretch, ...]
    width: float
    known: int
    again: Again | None
    problems: tuple[Problem, ...]


LayNew = Callable[[float, float, float], tuple[Slots, Indices]]
"""Lays a stretch with nothing up: its ends and the boards' width (in) to slots and the row of each."""


def row_as_it_stands(
    stretches: Sequence[Stretch], pickets: Sequence[PicketUp], laying: Laying, lay: LayNew, words: Words
) -> Row:
    """The row of a run, from its stretches as planned and the pickets measured.

    `pickets`: ascending, their edges level stations (in); `lay`: for stretches nothing of which is up. Where
    posts were moved, boards went up by sheets made before that or after it, whichever their edges are nearer
    to. Problems hold a mistake for a number that is not in the row or an edge that cannot be. Source: own
    derivation.
    """
    row = _Row(list(stretches), laying, lay, words)
    row.take_all(pickets)
    if pickets and any(stretch.moved for stretch in stretches):
        # sheets may have been made again since the posts were set, before the boards between them went up
        anew = _Row(list(stretches), laying, lay, words)
        anew.lay_moved()
        anew.take_all(pickets)
        row = min(row, anew, key=lambda r: (r.broken, len(r.problems), r.off))
    return Row(
        stretches=tuple(row.stretches),
        width=row.width,
        known=row.hung if row.widths or row.hung >= FEW_UP else 0,
        again=row.again,
        problems=tuple(row.problems),
    )


def believed_edge(width: float, gap: float) -> float:
    """How far (in) a board's far edge may lie from where those before it lead, before the count is doubted:
    half the way from board to board; by the plan and by the page alike."""
    return (width + gap) / 2


def edge_of(picket: PicketUp) -> str:
    """The place of a picket's measured edge, as problems name it."""
    return f"{picket.place}, far_edge"


class _Row:
    """The row while edges are taken; `hung` boards of the first row so far, `since` of them and their `drift`
    (in) not yet put down to a width; `off`: how far (in) all edges were from where they were looked for."""

    def __init__(self, stretches: list[Stretch], laying: Laying, lay: LayNew, words: Words) -> None:
        self.stretches, self.laying, self.lay, self.words = stretches, laying, lay, words
        self.width, self.widths = laying.width, list[float]()
        self.hung, self.since, self.drift = 0, 0, 0.0
        self.reached, self.up, self.edge = -1, -1, 0.0
        self.again: Again | None = None
        self.off = 0.0
        self.problems: list[Problem] = []
        self.broken = False

    def take(self, picket: PicketUp) -> None:
        """One measured edge: what stands before it lies between it and the one before, the rest is laid."""
        found = self._find(picket)
        if found is None:
            return
        k, index = found
        if k != self.reached:
            self.reached, self.up, self.edge = k, -1, self.stretches[k].start
        first = np.flatnonzero(self.stretches[k].row == 0)
        stretch = self.stretches[k] = _reaching(self.stretches[k], picket.far_edge, index == first[-1])
        since = first[(first > self.up) & (first <= index)]
        if not self._possible(picket, k, float(stretch.slots.width[since].sum())):
            return
        self.hung += len(since)
        planned = float(stretch.slots.right[index])
        gap = _gap_before(stretch, index, self.laying.spacing) if picket.gap is None else picket.gap
        width = self._measured_width(picket)
        told = self._wider_boards(stretch, since, picket, width) + self._wider_gaps(stretch, since, picket)
        drift = picket.far_edge - planned - told
        self.off += abs(drift)
        doubted = self._doubt(picket, planned, drift, len(since), gap)
        agrees = abs(picket.far_edge - planned) <= layout_mark(self.words.system) + SAME_LENGTH
        if not (doubted or agrees):
            width = self._observed(width, len(since), drift)
        was, self.width = self.width, width
        changed = abs(width - was) > SAME_LENGTH
        edge = planned if agrees else picket.far_edge
        if not agrees and not (changed and self._widened(k, index, edge, was)):
            self._spread(k, index, planned, edge)
        self.up, self.edge = index, edge
        if changed or not agrees or picket.gap is not None or stretch.moved:
            self._lay_rest(picket.number, k, index, edge, planned, gap, changed or stretch.moved)
        if changed:
            self._lay_later(k + 1)

    def take_all(self, pickets: Sequence[PicketUp]) -> None:
        """Every measured edge in turn, and what is left between posts that were moved."""
        for picket in pickets:
            self.take(picket)
            if self.broken:
                return
        self.lay_moved()

    def lay_moved(self) -> None:
        """Stretches with a moved end and nothing measured in them are laid afresh."""
        for k, stretch in enumerate(self.stretches):
            if stretch.moved and not self.broken:
                self._lay_new(k)

    def _find(self, picket: PicketUp) -> tuple[int, int] | None:
        """The stretch of a picket and its index there."""
        index = picket.number - 1
        for k, stretch in enumerate(self.stretches):
            if index < len(stretch.slots):
                if stretch.row[index] == 0:
                    return k, index
                found, near = in_the_way(self.laying.pattern, picket.number)
                self._wrong(f"{picket.place}, number", found, f"measure {near}")
                return None
            index -= len(stretch.slots)
        count = sum(len(s.slots) for s in self.stretches)
        found = f"the plan has no picket {picket.number}, only {count}"
        self._wrong(f"{picket.place}, number", found, "check the number")
        return None

    def _possible(self, picket: PicketUp, k: int, boards: float) -> bool:
        """Whether the edge lies within its stretch and past the edge before it; `boards`: widths between."""
        words, stretch, at = self.words, self.stretches[k], picket.far_edge
        place = edge_of(picket)
        if at > stretch.end + layout_mark(words.system):
            what = "the run ends" if k == len(self.stretches) - 1 else "its stretch ends"
            found = f"{words.station(at)} lies beyond {words.station(stretch.end)}, where {what}"
            remedy = "check the station, that of the last board's far edge, and the post as set"
            self._wrong(place, found, remedy)
        elif at <= self.edge + SAME_LENGTH:
            found = (
                f"{words.station(at)} is not past {words.station(self.edge)}, where the edge before it lies"
            )
            self._wrong(place, found, "check number and station")
        elif at < self.edge + NARROWEST * boards - SAME_LENGTH:
            least = words.station(self.edge + NARROWEST * boards)
            found = (
                f"{words.station(at)} lies before picket {picket.number} can end: the boards from "
                f"{words.station(self.edge)} on reach at least {least}"
            )
            self._wrong(place, found, "check the station, that of its far edge, and the count")
        else:
            return True
        return False

    def _measured_width(self, picket: PicketUp) -> float:
        """The mean of the widths measured so far, ripped boards left out."""
        if picket.width is not None and not self._ripped(picket.width):
            self.widths.append(picket.width)
        return float(np.mean(self.widths)) if self.widths else self.width

    def _ripped(self, width: float) -> bool:
        """Whether a board of this width (in) says nothing of the others'."""
        return abs(width - self.laying.width) > RIPPED_SHARE * self.laying.width

    def _wider_boards(self, stretch: Stretch, since: Indices, picket: PicketUp, width: float) -> float:
        """How much farther the boards' `width` (in), and a ripped board its own, bring the edge than laid."""
        if picket.width is None or not self._ripped(picket.width):
            return len(since) * (width - self.width)
        own = picket.width - float(stretch.slots.width[since[-1]])
        return (len(since) - 1) * (width - self.width) + own

    def _wider_gaps(self, stretch: Stretch, since: Indices, picket: PicketUp) -> float:
        """How much farther the gaps as set bring the edge than those laid."""
        if picket.gap is None or not len(since):
            return 0.0
        count = len(since) if self.up >= 0 else len(since) - 1
        return count * (picket.gap - _gap_before(stretch, int(since[-1]), self.laying.spacing))

    def _doubt(self, picket: PicketUp, planned: float, drift: float, boards: int, gap: float) -> bool:
        """Whether a drift is more likely a slip of the count or the tape; it is told."""
        pitch = self.width + gap
        off = round(drift / pitch)
        if abs(drift) < believed_edge(self.width, gap) and (
            not boards or abs(drift) / boards < DOUBTED_DRIFT - SAME_LENGTH
        ):
            return False
        words, number = self.words, picket.number
        ends = f"{number} board{'s end' if number > 1 else ' ends'} at {words.station(planned)}"
        more = "more" if drift > 0 else "less"
        if off:
            told = f"is {abs(off)} board{'s' if abs(off) > 1 else ''} {more}"
            told = told.replace("is 1 board", "is one board") + self._slipped(drift, off * pitch)
        else:
            told = f"is {words.fine(abs(drift))} {more}, {words.fine(abs(drift) / boards)} a board"
        self.problems.append(
            warning(
                edge_of(picket),
                f"{ends}; {words.station(picket.far_edge)} {told}",
                "count again; if both are right, write the width of a board as well",
            )
        )
        return True

    def _slipped(self, drift: float, boards: float) -> str:
        """The slip of the tape that a drift (in) is nearer to than to so many whole boards (in); empty if
        none."""
        near = min(SLIP_NEAR, abs(drift - boards))
        slips = (s for s in SLIPS[self.words.system] if s.kind is SlipKind.ADD)
        return next((f", or {s.name}" for s in slips if abs(drift - s.by) < near), "")

    def _observed(self, width: float, boards: int, drift: float) -> float:
        """The boards' width, from where those that are up have come to, once there are enough of them."""
        if self.widths:
            return width
        self.since, self.drift = self.since + boards, self.drift + drift
        if self.since < FEW_UP:
            return width
        width += self.drift / self.since
        self.since, self.drift = 0, 0.0
        return width

    def _spread(self, k: int, index: int, planned: float, edge: float) -> None:
        """Move what stands between the edge before and this one evenly."""
        stretch = self.stretches[k]
        share = (edge - self.edge) / (planned - self.edge)
        moved = slice(self.up + 1, index + 1)
        left, right = stretch.slots.left.copy(), stretch.slots.right.copy()
        left[moved] = self.edge + (left[moved] - self.edge) * share
        right[moved] = self.edge + (right[moved] - self.edge) * share
        right[index] = edge
        self.stretches[k] = replace(stretch, slots=Slots(left=left, right=right))

    def _widened(self, k: int, index: int, edge: float, was: float) -> bool:
        """Give full boards between the edge before and this one the width found, and their gaps the rest
        evenly; whether that can be. `was`: their width (in) so far."""
        stretch, moved = self.stretches[k], slice(self.up + 1, index + 1)
        left, right = stretch.slots.left.copy(), stretch.slots.right.copy()
        wide = right[moved] - left[moved]
        gaps = left[moved] - np.append(self.edge, right[moved][:-1])
        wide = np.where(np.abs(wide - was) <= SAME_LENGTH, self.width, wide)
        room, apart = edge - self.edge - wide.sum(), gaps.sum()
        if stretch.row[moved].any() or gaps.min() < -SAME_LENGTH or room < 0 or apart <= SAME_LENGTH:
            return False
        right[moved] = self.edge + np.cumsum(gaps * (room / apart) + wide)
        left[moved] = right[moved] - wide
        right[index] = edge
        self.stretches[k] = replace(stretch, slots=Slots(left=left, right=right))
        return True

    def _lay_rest(
        self, number: int, k: int, index: int, edge: float, planned: float, gap: float, anew: bool
    ) -> None:
        stretch = self.stretches[k]
        rest = self._rest(stretch, index, edge, edge - planned, gap, anew)
        best, *others = lay_again(rest)
        coming, row = _with_second_row(best, edge, self.width, self.laying.pattern)
        up = slice(0, index + 1)
        self.stretches[k] = replace(
            stretch,
            slots=Slots(
                left=np.append(stretch.slots.left[up], coming.left),
                right=np.append(stretch.slots.right[up], coming.right),
            ),
            row=np.append(stretch.row[up], row),
            moved=False,
        )
        self.again = Again(
            relay=best,
            others=tuple(others),
            after=number,
            at=edge,
            planned=planned,
            gap=gap,
            width=self.width,
            end=stretch.end,
            limit=self.laying.limit,
            replaced=len(stretch.slots) - index - 1,
        )

    def _rest(self, stretch: Stretch, index: int, edge: float, shift: float, gap: float, anew: bool) -> Rest:
        laying, first = self.laying, np.flatnonzero(stretch.row == 0)
        coming = first[first > index]
        widths = stretch.slots.width[first]
        first_rip = float(widths[0]) if len(widths) else 0.0
        whole = float(widths.max(initial=0.0))
        both = laying.fit is Fit.RIP_BOTH_ENDS and first_rip < whole - SAME_LENGTH
        return Rest(
            at=min(edge, stretch.end),
            end=stretch.end,
            width=self.width,
            gap=gap,
            limit=laying.limit,
            fit=Fit.EVEN_GAPS if laying.stepped else laying.fit,
            planned=some_of(stretch.slots, coming),
            shift=1.0 if anew else shift,
            close=0.5 if laying.stepped else 0.0,
            match=first_rip if both else 0.0,
        )

    def _lay_later(self, k: int) -> None:
        """The stretches to come, with boards of the width found."""
        for later in range(k, len(self.stretches)):
            self._lay_new(later)

    def _lay_new(self, k: int) -> None:
        stretch = self.stretches[k]
        slots, row = self.lay(stretch.start, stretch.end, self.width)
        self.stretches[k] = replace(stretch, slots=slots, row=row, moved=False)

    def _wrong(self, place: str, found: str, remedy: str) -> None:
        self.problems.append(mistake(place, found, remedy))
        self.broken = True


def _reaching(stretch: Stretch, edge: float, last: bool) -> Stretch:
    """The stretch, with its end at the edge (in) of its last board where that stands a little past it."""
    past = edge - stretch.end
    return replace(stretch, end=edge) if last and SAME_LENGTH < past <= stretch.beyond else stretch


def _gap_before(stretch: Stretch, index: int, spacing: float) -> float:
    """The space that stands before a picket of the first row, or that after it where it is the first."""
    first = np.flatnonzero(stretch.row == 0)
    at = int(np.searchsorted(first, index))
    pair = first[at - 1 : at + 1] if at else first[:2]
    if len(pair) < 2:
        return spacing
    return max(0.0, float(stretch.slots.left[pair[1]] - stretch.slots.right[pair[0]]))


def _with_second_row(relay: Relay, edge: float, width: float, pattern: Pattern) -> tuple[Slots, Indices]:
    """The boards to come; a second row stands centred on the new gaps of the first, the one at the edge
    too."""
    left, right = relay.slots.left, relay.slots.right
    row = np.zeros(len(relay), dtype=np.int64)
    if pattern is Pattern.SIDE_BY_SIDE or not len(relay):
        return Slots(left=left, right=right), row
    middle = (np.append(edge, right)[:-1] + left) / 2
    half = width / 2
    left, right = np.append(left, middle - half), np.append(right, middle + half)
    row = np.append(row, np.ones(len(middle), dtype=np.int64))
    order = np.argsort(left, kind="stable")
    return Slots(left=left[order], right=right[order]), row[order]
