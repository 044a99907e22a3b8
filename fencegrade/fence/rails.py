"""Rails: how many one above another, where each meets its posts, how long it is, and where joints fall.

    top line ____________________________
      reveal |  ======================  row 1     rails parallel to the straight line from the top at one
             |  ======================  row 2     post to the top at the next
             |  ======================  row 3
    post    ||      bottom reveal          ||
    ground  ~~~~~~~~~ clearance ~~~~~~~~~~~~
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fencegrade.fence.bays import Bays
from fencegrade.fence.spans import HAIR
from fencegrade.fence.tops import TopLine
from fencegrade.ground.about_line import extremes_about_line
from fencegrade.ground.profile import Floats, GroundLine
from fencegrade.ground.wording import Say
from fencegrade.job.records import Rails, Run
from fencegrade.problems import Problem, warning

Indices = NDArray[np.int64]

TWO_ROWS, THREE_ROWS = 48.0, 84.0
"""Inches of picket up to which two, and three, rows of rails are enough: common practice, no source."""

MOST_BETWEEN_ROWS = 36.0
"""Inches between rows, at most: common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BayTops:
    """The top line over each bay (m,): its elevation (in) at the left and right post, on the bay's side."""

    left: Floats
    right: Floats

    def slope(self, bays: Bays) -> Floats:
        """Slope (rise over run) of the straight line between the two, by bay."""
        return (self.right - self.left) / bays.width


def bay_tops(top: TopLine, bays: Bays) -> BayTops:
    """The top line at both posts of each bay; at a step each bay takes its own side."""
    return BayTops(left=_after(top, bays.left), right=_before(top, bays.right))


def top_at_posts(top: TopLine, stations: Floats) -> Floats:
    """The top line (in) at posts (n,); at a step the higher side."""
    return np.maximum(_after(top, stations), _before(top, stations))


def _after(top: TopLine, x: Floats) -> Floats:
    """The top just after each station; the last one at the end."""
    k = np.clip(np.searchsorted(top.stations, x, side="right"), 1, len(top.stations) - 1)
    return _between(top, k - 1, k, x)


def _before(top: TopLine, x: Floats) -> Floats:
    """The top just before each station; the first one at the start."""
    k = np.clip(np.searchsorted(top.stations, x, side="left"), 1, len(top.stations) - 1)
    return _between(top, k - 1, k, x)


def _between(top: TopLine, i: Indices, j: Indices, x: Floats) -> Floats:
    run = top.stations[j] - top.stations[i]
    share = np.divide(x - top.stations[i], run, out=np.zeros(len(x)), where=run > 0)
    return np.asarray(top.elevations[i] + (top.elevations[j] - top.elevations[i]) * np.clip(share, 0.0, 1.0))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RailRows:
    """Every rail, one a row and bay, (r,) each; lengths in inches.

    `bay` and `row` count from 0, row 0 is the top one. `drop`: upper edge below the straight top line, plumb.
    `left_mark`, `right_mark`: upper edge above the ground at the two posts; `left_below`, `right_below`: below
    the top line at them. `length` along the slope; `angle` of the end cuts from square (radians).
    `clear` (m,): least height of each bay's lowest rail over the ground.
    """

    bay: Indices
    row: Indices
    drop: Floats
    left_mark: Floats
    right_mark: Floats
    left_below: Floats
    right_below: Floats
    length: Floats
    angle: Floats
    clear: Floats

    def __len__(self) -> int:
        return len(self.bay)


def rows_for(height: float, rails: Rails) -> int:
    """Rows of rails for pickets of a height (in), unless the job names a number.

    Two up to 4 ft, three up to 7 ft, four above, and more where they would be over 3 ft apart: common
    practice, no source.
    """
    if rails.count is not None:
        return max(1, rails.count)
    usual = 2 if height <= TWO_ROWS + HAIR else 3 if height <= THREE_ROWS + HAIR else 4
    between = height - rails.top_reveal - rails.bottom_reveal - rails.height
    return max(usual, math.ceil(between / MOST_BETWEEN_ROWS - HAIR) + 1)


def rail_rows(
    run: Run,
    bays: Bays,
    tops: BayTops,
    line: GroundLine,
    rails: Rails,
    clearance: float,
    say: Say,
    top: TopLine | None = None,
) -> tuple[RailRows, tuple[Problem, ...]]:
    """The rails of a run.

    `tops`: the top line at the posts; `clearance`: what pickets keep over the ground (in); `top`: the top line
    itself, where it bends within a bay: rails then run parallel to its chord and the rows are counted from
    it. Rows are counted by the tallest picket of each bay and spread evenly. The lowest rail keeps
    `bottom_reveal` over the pickets' bottoms at both posts, and is raised where a hump between them would
    come nearer than the clearance, which is said. Source: own derivation, exact for the ground line.
    """
    slope = tops.slope(bays)
    near, far = _headroom(bays, tops, line, slope)
    lowest = _lowest_edges(bays, tops, line, rails, clearance)
    raised = np.minimum(lowest, near - clearance)
    problems = list(_humps(run, bays, line, tops, slope, lowest, raised, say))
    crests = near if top is None else near + _crown(top, bays, tops)
    counts = np.array([rows_for(h - clearance, rails) for h in np.maximum(far, crests)], dtype=np.int64)
    rows = _spread(bays, tops, line, rails, raised, counts, near, slope)
    problems += _crowded(run, bays, rails, raised, counts, say)
    problems += _too_long(run, bays, rows, say)
    return rows, tuple(problems)


def _headroom(bays: Bays, tops: BayTops, line: GroundLine, slope: Floats) -> tuple[Floats, Floats]:
    """Least and greatest height (in) of each bay's straight top line over the ground, exact."""
    high, low = extremes_about_line(line, bays.left, bays.right, slope)
    return tops.left - high, tops.left - low


def _lowest_edges(
    bays: Bays, tops: BayTops, line: GroundLine, rails: Rails, clearance: float
) -> Floats:
    """How far below the top line the lowest rail's lower edge comes, by the ground at the two posts."""
    left = tops.left - line.elevation(bays.left)
    right = tops.right - line.elevation(bays.right, before=True)
    return np.minimum(left, right) - clearance - rails.bottom_reveal


def _crown(top: TopLine, bays: Bays, tops: BayTops) -> Floats:
    """How far (in) the top line rises over its chord in each bay."""
    rise = np.zeros(len(bays))
    k = np.searchsorted(bays.left, top.stations, side="right") - 1
    for x, z, i in zip(top.stations, top.elevations, k, strict=True):
        if i >= 0 and bays.left[i] < x < bays.right[i]:
            chord = tops.left[i] + (tops.right[i] - tops.left[i]) * (x - bays.left[i]) / bays.width[i]
            rise[i] = max(rise[i], z - chord)
    return rise


def _spread(
    bays: Bays,
    tops: BayTops,
    line: GroundLine,
    rails: Rails,
    lowest: Floats,
    counts: Indices,
    near: Floats,
    slope: Floats,
) -> RailRows:
    """Rows spread evenly between the reveal and the lowest rail."""
    bay = np.repeat(np.arange(len(bays)), counts)
    row = np.arange(len(bay)) - np.repeat(np.cumsum(counts) - counts, counts)
    first = rails.top_reveal
    last = lowest - rails.height
    step = np.divide(last - first, counts - 1, out=np.zeros(len(bays)), where=counts > 1)
    drop = np.where(counts[bay] == 1, (first + last[bay]) / 2, first + step[bay] * row)
    ground_left = line.elevation(bays.left)[bay]
    ground_right = line.elevation(bays.right, before=True)[bay]
    return RailRows(
        bay=bay,
        row=row,
        drop=drop,
        left_mark=tops.left[bay] - drop - ground_left,
        right_mark=tops.right[bay] - drop - ground_right,
        left_below=drop,
        right_below=drop,
        length=((bays.width + bays.extra) * np.hypot(1.0, slope))[bay],
        angle=np.arctan(np.abs(slope))[bay],
        clear=near - lowest,
    )


def _humps(
    run: Run,
    bays: Bays,
    line: GroundLine,
    tops: BayTops,
    slope: Floats,
    lowest: Floats,
    raised: Floats,
    say: Say,
) -> list[Problem]:
    found = []
    for k in np.flatnonzero(raised < lowest - HAIR):
        found.append(
            warning(
                f"{run.name}, bay {k + 1}, {say.stretch(float(bays.left[k]), float(bays.right[k]))}",
                f"the ground humps up between the posts: the lowest rail is raised by "
                f"{say(float(lowest[k] - raised[k]))} to clear it",
                "dig the hump off, set a post on it, or let the bottom rail follow the marks",
            )
        )
    return found


def _crowded(
    run: Run, bays: Bays, rails: Rails, lowest: Floats, counts: Indices, say: Say
) -> list[Problem]:
    """Bays too low for their rows."""
    found = []
    room = lowest - rails.top_reveal
    for k in np.flatnonzero(room < counts * rails.height - HAIR):
        found.append(
            warning(
                f"{run.name}, bay {k + 1}, {say.stretch(float(bays.left[k]), float(bays.right[k]))}",
                f"{counts[k]} rails of {say(rails.height)} do not fit in the {say(max(float(room[k]), 0.0))} "
                "between the top reveal and the lowest rail",
                "use fewer rails or a smaller reveal, or raise the top there",
            )
        )
    return found


def _too_long(run: Run, bays: Bays, rows: RailRows, say: Say) -> list[Problem]:
    """Bays whose rails, on the slope of this top line, are longer than any stock."""
    found = []
    longest = np.zeros(len(bays))
    np.maximum.at(longest, rows.bay, rows.length)
    for k in np.flatnonzero(longest > bays.reach + HAIR):
        found.append(
            warning(
                f"{run.name}, bay {k + 1}, {say.stretch(float(bays.left[k]), float(bays.right[k]))}",
                f"its rails are {say(float(longest[k]))} long, {say(float(longest[k]) - bays.reach)} more than "
                f"the longest stock, {say(bays.reach)}",
                "offer a longer rail, or lay the bays out for this top",
            )
        )
    return found


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RailPieces:
    """Rails as they are cut, (p,) each: row, first and last bay they run over (from 0), length (in)."""

    row: Indices
    first_bay: Indices
    last_bay: Indices
    length: Floats

    def __len__(self) -> int:
        return len(self.row)


def one_piece_a_bay(rows: RailRows) -> RailPieces:
    """Every rail cut to its own bay."""
    return RailPieces(row=rows.row, first_bay=rows.bay, last_bay=rows.bay, length=rows.length)


def long_pieces(rows: RailRows, bays: Bays, tops: BayTops) -> RailPieces:
    """Rails that run over two bays where the longest stock and the line allow, joints staggered.

    Two bays share a rail if it runs straight on over the post between them: same slope, no step, the same
    rows. Odd rows begin with one bay alone, so no post has the joints of all rows. Common practice, no
    source; lengths as `RailRows`.
    """
    straight = _straight_on(rows, bays, tops)
    found: list[tuple[int, int, int, float]] = []
    for row in range(int(rows.row.max()) + 1 if len(rows) else 0):
        own = np.flatnonzero(rows.row == row)
        found += _chain(rows, bays, tops, own, straight, alone=row % 2 == 1)
    columns = list(zip(*found, strict=True)) or [(), (), (), ()]
    row_, first, last = (np.array(c, dtype=np.int64) for c in columns[:3])
    return RailPieces(row=row_, first_bay=first, last_bay=last, length=np.array(columns[3], dtype=float))


def _straight_on(rows: RailRows, bays: Bays, tops: BayTops) -> NDArray[np.bool_]:
    """For each bay but the last whether its rails run straight on into the next bay."""
    slope = tops.slope(bays)
    drops = [tuple(np.round(rows.drop[rows.bay == k], 6)) for k in range(len(bays))] if len(bays) < 2000 else None
    next_to = bays.first[1:] == bays.first[:-1] + 1
    level = np.abs(tops.right[:-1] - tops.left[1:]) < HAIR
    same = np.abs(np.diff(slope)) < HAIR
    alike = np.array([drops is not None and drops[k] == drops[k + 1] for k in range(len(bays) - 1)], dtype=bool)
    return np.asarray(next_to & level & same & alike)


def _chain(
    rows: RailRows,
    bays: Bays,
    tops: BayTops,
    own: Indices,
    straight: NDArray[np.bool_],
    alone: bool,
) -> list[tuple[int, int, int, float]]:
    """The pieces of one row, two bays at a time from the left."""
    slope = tops.slope(bays)
    pieces: list[tuple[int, int, int, float]] = []
    i, single = 0, alone
    while i < len(own):
        k = int(rows.bay[own[i]])
        joined = i + 1 < len(own) and int(rows.bay[own[i + 1]]) == k + 1 and bool(straight[k])
        if not joined:
            single = alone
        length = 0.0
        if joined and not single:
            extra = (bays.extra[k] + bays.extra[k + 1]) if True else 0.0
            length = float((bays.width[k] + bays.width[k + 1] + extra) * np.hypot(1.0, slope[k]))
        if joined and not single and length <= bays.reach + HAIR:
            pieces.append((int(rows.row[own[i]]), k, k + 1, length))
            i += 2
        else:
            pieces.append((int(rows.row[own[i]]), k, k, float(rows.length[own[i]])))
            single = False if joined else alone
            i += 1
    return pieces
