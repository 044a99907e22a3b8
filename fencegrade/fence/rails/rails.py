"""Rails: how many one above another, where each meets its posts, how long it is, and where joints fall.

top line ____________________________
  reveal |  ======================  row 1     rails parallel to the straight line from the top at one
         |  ======================  row 2     post to the top at the next
         |  ======================  row 3
post    ||      bottom reveal          ||
ground  ~~~~~~~~~ clearance ~~~~~~~~~~~~
"""

import math
from collections.abc import Iterator
from itertools import pairwise

import numpy as np
from msgspec import Struct

from fencegrade.fence.bays.bays import Bays
from fencegrade.fence.bays.reach import slanted_ends
from fencegrade.fence.closed import NOTHING_CLOSED, Closed
from fencegrade.fence.tops.line import TopLine
from fencegrade.fence.tops.line_on_ground import ground_alone, touches
from fencegrade.ground.cubics import extremes_about_line
from fencegrade.ground.profile import GroundLine
from fencegrade.job.fields import MOST_TALL
from fencegrade.job.records import Rails, Run
from fencegrade.problems import Problem, mistake, raise_mistakes, warning
from fencegrade.units import marks_down
from fencegrade.units.arrays import Floats, Indices, Truths, first_most
from fencegrade.units.tolerances import SAME_LENGTH
from fencegrade.units.words import Words, numbered

TWO_ROWS, THREE_ROWS = 48.0, 84.0
"""Inches of picket up to which two, and three, rows of rails are enough: common practice, no source."""

MOST_BETWEEN_ROWS = 36.0
"""Inches between rows, at most: common practice, no source."""

TOP_EASE = 2.0
"""Inches that the top row may come lower than its reveal to keep one line: common practice, no source."""

HANG_FAR = 2.0
"""Times the most overhang at posts from which pickets between them hang too far below the lowest rail: own
choice."""

MOST_RAILS = 2_000_000
"""Rails of one run; more are a slip, refused before they fill the memory."""


class BayTops(Struct, frozen=True, kw_only=True, eq=False):
    """The top line over each bay (m,): its elevation (in) at the left and right post, on the bay's side."""

    left: Floats
    right: Floats

    def slope(self, bays: Bays) -> Floats:
        """Slope (rise over run) of the straight line between the two, by bay."""
        return (self.right - self.left) / bays.width


def bay_tops(top: TopLine, bays: Bays) -> BayTops:
    """The top line at both posts of each bay; at a step each bay takes its own side."""
    return BayTops(left=top.sides(bays.left)[1], right=top.sides(bays.right)[0])


def top_at_posts(top: TopLine, stations: Floats) -> Floats:
    """The top line (in) at posts (n,); at a step the higher side."""
    return np.maximum(*top.sides(stations))


class RailRows(Struct, frozen=True, kw_only=True, eq=False):
    """Every rail, one a row and bay, (r,) each; lengths in inches.

    `bay` and `row` count from 0, row 0 is the top one. `drop`: upper edge below the bay's straight top line,
    plumb, the same at both posts. `left_mark`, `right_mark`: upper edge above the ground at the posts.
    `length` along the slope; `angle` of the end cuts from square (radians); whether it `fits` with the others
    of its bay between the reveals.
    """

    bay: Indices
    row: Indices
    drop: Floats
    left_mark: Floats
    right_mark: Floats
    length: Floats
    angle: Floats
    fits: Truths

    def __len__(self) -> int:
        return len(self.bay)

    @property
    def crowded(self) -> list[int]:
        """Bays (from 0) whose rails do not fit."""
        return [int(bay) for bay in np.unique(self.bay[~self.fits])]


class _Heights(Struct, frozen=True, kw_only=True, eq=False):
    """What rails need to know of each bay (m,): slope of the straight line between the tops at its posts, its
    least height over the ground, and how far the top line itself dips under it.
    """

    slope: Floats
    least: Floats
    dip: Floats


def rows_for(height: float, rails: Rails) -> int:
    """Rows of rails for pickets of a height (in), unless the job names a number.

    Two up to 4 ft, three up to 7 ft, four above, and more where they would be over 3 ft apart: common
    practice, no source.
    """
    if rails.count:
        return rails.count
    usual = 2 if height <= TWO_ROWS + SAME_LENGTH else 3 if height <= THREE_ROWS + SAME_LENGTH else 4
    between = height - rails.top_reveal - rails.bottom_reveal - rails.height
    return max(usual, math.ceil(between / MOST_BETWEEN_ROWS - SAME_LENGTH) + 1)


def rows_wanted(bays: Bays, top: TopLine, line: GroundLine, rails: Rails, clearance: float) -> int:
    """Rows of rails that the tallest picket of a run asks for; inputs as `rail_rows`."""
    return rows_for(_tallest(bays, top, line) - clearance, rails)


def rail_rows(
    run: Run,
    bays: Bays,
    top: TopLine,
    line: GroundLine,
    rails: Rails,
    clearance: float,
    words: Words,
    count: int | None = None,
    closed: Closed = NOTHING_CLOSED,
) -> tuple[RailRows, tuple[Problem, ...]]:
    """The rails of a run.

    `top`: the top line; `clearance`: what pickets keep over the ground (in); `count`: rows one above
    another, `rows_wanted` if absent; `closed`: where advice sends no post and no spade. Rails run
    straight from post to post, parallel to the line between the tops at them. Every bay has as many rows,
    spread evenly, the top one `top_reveal` under the lowest of the top line. The rows keep one line over
    as many bays as they can: the lowest rail keeps `bottom_reveal` over the pickets' bottoms at every
    post of theirs and no more than `most_overhang` stays below it; they step only where the top steps or
    no line serves both bays. Where a hump between two posts would come nearer to the lowest rail than the
    clearance it is raised, which is said. Errors: JobMistakesError for more than
    `MOST_RAILS`. Source: own derivation, exact for the ground line; the fewest steps.
    """
    tops = bay_tops(top, bays)
    heights = _heights(bays, tops, top, line)
    over = _over_ground(bays, tops, line)
    lowest = np.minimum(*over) - clearance - rails.bottom_reveal
    raised = np.minimum(lowest, heights.least - clearance)
    tallest = _tallest(bays, top, line) - clearance
    count = count or rows_for(tallest, rails)
    raise_mistakes(_too_many(run, count, len(bays), tallest, words))
    first = _Range(low=rails.top_reveal + heights.dip, high=rails.top_reveal + heights.dip + TOP_EASE)
    deepest = raised - rails.height
    least = np.maximum(*over) - clearance - rails.height - rails.most_overhang
    last = _Range(low=np.minimum(least, deepest), high=deepest)
    drops = _in_lines(bays, tops, first, last)
    room = drops[1] + rails.height - drops[0]
    rows = _spread(bays, tops, line, heights, *drops, count, room >= count * rails.height - SAME_LENGTH)
    bad = _Findings(run=run, bays=bays, words=words)
    problems = [
        *bad.humps(lowest - raised, line, heights.slope, closed),
        *bad.crowded(room, count, rails.height, heights.dip),
        *bad.hanging(_overhang(bays, tops, line, drops[1] + rails.height + clearance), rails.most_overhang),
        *bad.too_long(rows),
    ]
    return rows, tuple(problems)


class _Range(Struct, frozen=True, kw_only=True, eq=False):
    """How far under the top line (in) a row's upper edge may come in each bay (m,)."""

    low: Floats
    high: Floats


def _in_lines(bays: Bays, tops: BayTops, first: _Range, last: _Range) -> tuple[Floats, Floats]:
    """Drops (m,) of the top and the bottom row, the same over as many neighbouring bays as their ranges
    allow: the top row as high, the bottom row as low as all of them can have it.
    """
    goes_on = (bays.first[1:] == bays.first[:-1] + 1) & (
        np.abs(tops.right[:-1] - tops.left[1:]) < SAME_LENGTH
    )
    top, bottom = first.low.copy(), last.high.copy()
    edges = [0, *_where_lines_end(goes_on, first, last), len(bays)]
    for a, b in pairwise(edges):
        top[a:b], bottom[a:b] = first.low[a:b].max(initial=0.0), last.high[a:b].min(initial=np.inf)
    return top, bottom


def _where_lines_end(goes_on: Truths, first: _Range, last: _Range) -> Iterator[int]:
    """Bays with which a new line begins: each line goes on as long as one drop of either row serves it."""
    rows = np.stack([first.low, first.high, last.low, last.high], axis=1).tolist()
    line: list[float] = []
    for k, (high, most, least, low) in enumerate(rows):
        both = (
            [max(line[0], high), min(line[1], most), max(line[2], least), min(line[3], low)] if line else []
        )
        if k and not (
            goes_on[k - 1] and both[0] <= both[1] + SAME_LENGTH and both[2] <= both[3] + SAME_LENGTH
        ):
            yield k
            both = []
        line = both or [high, most, least, low]


def _over_ground(bays: Bays, tops: BayTops, line: GroundLine) -> tuple[Floats, Floats]:
    """How far the top line stands over the ground at the left and the right post of each bay, (m,) both."""
    left = tops.left - line.elevation(bays.left)
    return left, tops.right - line.elevation(bays.right, before=True)


def _tallest(bays: Bays, top: TopLine, line: GroundLine) -> float:
    """The most (in) that the top line stands over the ground in any bay; 0 without bays."""
    return float(tallest_by_bay(bays, top, line).max(initial=0.0))


def tallest_by_bay(bays: Bays, top: TopLine, line: GroundLine) -> Floats:
    """(m,) the most (in) that the top line stands over the ground in each bay."""
    most = np.zeros(len(bays))
    if not len(bays):
        return most
    edges = np.unique(np.concatenate([bays.left, bays.right, top.stations]))
    bay = np.searchsorted(bays.left, edges[:-1], side="right") - 1
    held = (bay >= 0) & (edges[1:] <= bays.right[np.maximum(bay, 0)])
    a, b = edges[:-1][held], edges[1:][held]
    at_a, at_b = top.sides(a)[1], top.sides(b)[0]
    _, low = extremes_about_line(line, a, b, (at_b - at_a) / (b - a))
    np.maximum.at(most, bay[held], at_a - low)
    return most


def _too_many(run: Run, count: int, bays: int, tallest: float, words: Words) -> Iterator[Problem]:
    """A fence taller, or of more rails, than anybody builds: a slip in a reading or in the number of rows."""
    if tallest > MOST_TALL:
        yield mistake(
            run.name,
            f"pickets would stand up to {words.fine(tallest)} over the ground; no fence is taller than "
            f"{words.fine(MOST_TALL)}",
            "check the readings and what was measured in place, or choose a top that follows the ground",
        )
    if count * bays > MOST_RAILS:
        yield mistake(
            run.name,
            f"pickets up to {words.fine(tallest)} with {count:,} rows of rails in {bays:,} bays are "
            f"{count * bays:,} rails; the most is {MOST_RAILS:,}",
            "check the readings and [rails] count, or choose a top that follows the ground",
        )


def _heights(bays: Bays, tops: BayTops, top: TopLine, line: GroundLine) -> _Heights:
    slope = tops.slope(bays)
    high, _ = extremes_about_line(line, bays.left, bays.right, slope)
    dip = np.zeros(len(bays))
    bay = np.searchsorted(bays.left, top.stations, side="right") - 1
    begun = bay >= 0
    k, x, z = bay[begun], top.stations[begun], top.elevations[begun]
    inside = (x > bays.left[k]) & (x < bays.right[k])
    k, x = k[inside], x[inside]
    over = z[inside] - (tops.left[k] + slope[k] * (x - bays.left[k]))
    np.maximum.at(dip, k, -over)
    return _Heights(slope=slope, least=tops.left - high, dip=dip)


def _spread(
    bays: Bays,
    tops: BayTops,
    line: GroundLine,
    heights: _Heights,
    first: Floats,
    last: Floats,
    count: int,
    fits: Truths,
) -> RailRows:
    """Rows spread evenly between the drops of the top and the bottom one (m,); a single one half-way."""
    bay, row = np.repeat(np.arange(len(bays)), count), np.tile(np.arange(count), len(bays))
    drop = first[bay] + (last - first)[bay] * (row / (count - 1) if count > 1 else 0.5)
    left, right = _over_ground(bays, tops, line)
    return RailRows(
        bay=bay,
        row=row,
        drop=drop,
        left_mark=left[bay] - drop,
        right_mark=right[bay] - drop,
        length=((bays.width + bays.extra) * np.hypot(1.0, heights.slope))[bay],
        angle=np.arctan(np.abs(heights.slope))[bay],
        fits=fits[bay],
    )


def _overhang(bays: Bays, tops: BayTops, line: GroundLine, drop: Floats) -> Floats:
    """(m,) the most (in) that the ground falls away under a line so far below the tops (m,) in each bay."""
    _, low = extremes_about_line(line, bays.left, bays.right, tops.slope(bays))
    return tops.left - drop - low


def _over_a_hump(hump: float, closed: Closed) -> str:
    """What gives rails room over a hump at a station (in)."""
    ways = [] if closed.to_spade(hump) else ["dig the hump off"]
    ways += [] if closed.to_post(hump) else ["set a post on it"]
    return ", ".join([*ways, f"{'or ' if ways else ''}raise the top there"])


class _Findings(Struct, frozen=True, kw_only=True):
    """What a builder must see of the rails, bay by bay."""

    run: Run
    bays: Bays
    words: Words

    def _place(self, bays: Indices) -> str:
        return f"{self.run.name}, {numbered('bay', bays)}"

    def _worst(self, bays: Indices, by: Floats) -> tuple[int, str]:
        """The bay with the greatest `by` (one value a bay of the run), and where it is."""
        k = int(bays[first_most(by[bays])])
        return k, f"in bay {k + 1}, {self.words.stretch(float(self.bays.left[k]), float(self.bays.right[k]))}"

    def humps(self, raised: Floats, line: GroundLine, slope: Floats, closed: Closed) -> Iterator[Problem]:
        """Bays whose lowest rail is raised over a hump, by how much (m,), with what may be done there."""
        found = np.flatnonzero(raised > SAME_LENGTH)
        _, at = touches(ground_alone(line), self.bays.left[found], self.bays.right[found], slope[found])
        ways: dict[str, list[int]] = {}
        for bay, hump in zip(found.tolist(), at.tolist(), strict=True):
            ways.setdefault(_over_a_hump(hump, closed), []).append(bay)
        for remedy, alike in ways.items():
            own = np.array(alike)
            k, where = self._worst(own, raised)
            yield warning(
                self._place(own),
                f"the ground humps up between the posts: the lowest rail is raised to clear it, by "
                f"{self.words.fine(float(raised[k]))} {where}",
                remedy,
            )

    def crowded(self, room: Floats, count: int, height: float, dip: Floats) -> Iterator[Problem]:
        """Bays with less room (m,) between top and lowest rail than their rails are high; `dip` (m,): how far
        the tops come down between the posts, where rails run straight on."""
        found = np.flatnonzero(room < count * height - SAME_LENGTH)
        if len(found):
            k, where = self._worst(found, count * height - room)
            dips, way = "", "use fewer rails or smaller reveals, or raise the top there"
            if dip[k] > height:
                dips = (
                    f"; the tops dip {self.words.fine(float(dip[k]))} between its posts, rails run straight"
                )
                way = "set posts nearer to the dip, or choose another top there"
            yield warning(
                self._place(found),
                f"{count} rails of {self.words.fine(height)} do not fit in the "
                f"{self.words.fine(max(float(room[k]), 0.0))} between the top reveal and the lower edge of "
                f"the lowest rail {where}{dips}",
                f"{way}; their boards are listed all the same",
            )

    def hanging(self, over: Floats, most: float) -> Iterator[Problem]:
        """Bays in which pickets hang far below the lowest rail, by how much (m,); `most` (in) is asked."""
        found = np.flatnonzero(over > HANG_FAR * most + SAME_LENGTH)
        if len(found):
            k, where = self._worst(found, over)
            yield warning(
                self._place(found),
                f"pickets hang up to {self.words.fine(float(over[k]))} below the lowest rail {where}; "
                f"most_overhang under [rails] is {self.words.given(most)}",
                "choose a top that dips less there, or fix a short rail across them lower down",
            )

    def _cut(self, inches: float) -> float:
        """A length (in) as it is cut, to the mark below."""
        return marks_down(inches, self.words.mark) * self.words.mark

    def too_long(self, rows: RailRows) -> Iterator[Problem]:
        """Bays whose rails take more of a board than any stock has."""
        length, angle = rows.length[rows.row == 0], rows.angle[rows.row == 0]
        ends = slanted_ends(self.bays.rail_height, np.tan(angle))
        over = length + ends - self.bays.reach
        found = np.flatnonzero(over > SAME_LENGTH)
        if len(found):
            k, where = self._worst(found, over)
            slant = f", their slanted ends take {self.words.fine(float(ends[k]))} more" if ends[k] else ""
            yield warning(
                self._place(found),
                f"rails are up to {self.words.length(self._cut(float(length[k])))} long, {where}{slant}: "
                f"{self.words.fine(float(over[k]))} more than the longest stock, "
                f"{self.words.sold_length(self.bays.reach)}",
                "offer a longer rail, or lay the bays out for this top",
            )
