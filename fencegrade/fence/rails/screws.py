"""Screws: how many, how long, and of what."""

import math
from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from fencegrade.fence.bays.bays import Bays
from fencegrade.fence.pickets.patterns import row_names
from fencegrade.fence.rails.rails import RailRows
from fencegrade.job.choices import Pattern
from fencegrade.job.site import Fasteners
from fencegrade.problems import Problem, warning
from fencegrade.units import MM_PER_INCH, UnitSystem
from fencegrade.units.arrays import Floats, Indices
from fencegrade.units.tolerances import ROUNDING, WHOLE
from fencegrade.units.words import Words

LEAST_BITE = 1.0
"""Inches a picket's screw must enter the rail: common practice, no source."""

SCREW_LENGTHS = {
    UnitSystem.IMPERIAL: (1.25, 1.625, 2.0, 2.5, 3.0, 3.5, 4.0),
    UnitSystem.METRIC: tuple(mm / MM_PER_INCH for mm in (30, 35, 40, 50, 60, 70, 80, 100, 120)),
}
"""Inches; lengths commonly sold, by the inch and by the millimetre: common practice, no source."""

SCREWS_A_POST = 2
"""Screws wherever a rail or a kickboard lies on a post: common practice, no source."""


class Screws(Struct, frozen=True, kw_only=True):
    """Screws of one use: where picket meets rail or rail meets post; length in inches.

    `counted` without the extra, `needed` with it, `boxes` whole boxes. `pokes_out`: longer than what it goes
    through; `framing`: into posts and frames, not pickets.
    """

    use: str
    length: float
    counted: int
    needed: int
    boxes: int
    pokes_out: bool
    framing: bool

    def box_price(self, use: Fasteners) -> float | None:
        """What a box costs, None where the job names no price."""
        own = use.framing_box_price if self.framing else None
        return use.box_price if own is None else own


def screw_length(boards: float, rail: float, system: UnitSystem) -> tuple[float, bool]:
    """The shortest screw sold that goes through `boards` and an inch into the rail (all in).

    Result: its length and whether it would poke out behind the rail.
    """
    length = shortest_screw(boards + LEAST_BITE, system)
    return length, length > boards + rail + ROUNDING


def sharp_ends(screws: Sequence[Screws], words: Words) -> list[Problem]:
    """A warning for each use whose screws would come out behind, where they tear skin and clothes."""
    return [
        warning(
            f"screws, {s.use}",
            f"the shortest screw that holds, {words.fine(s.length)}, comes out behind; its point is sharp",
            "use thicker rails, or clip the points and file them",
        )
        for s in screws
        if s.pokes_out
    ]


def shortest_screw(wanted: float, system: UnitSystem) -> float:
    """The shortest screw sold (in) of a length or more; the longest where none is."""
    lengths = SCREW_LENGTHS[system]
    return next((s for s in lengths if s >= wanted - ROUNDING), lengths[-1])


def crossings(middles: Floats, bays: Bays, rows: RailRows) -> int:
    """How often pickets cross rails.

    `middles`: (n,) middles of the pickets (in); each crosses the rails of the bay it stands in, one outside
    every bay (before the first post, over a gate) those of the nearest. None where there is no bay.
    """
    if not len(bays):
        return 0
    by_bay = np.bincount(rows.bay, minlength=len(bays))
    bay = np.clip(np.searchsorted(bays.left, middles, side="right") - 1, 0, len(bays) - 1)
    return int(by_bay[bay].sum())


def picket_screws(
    crossing: Indices | int,
    thickness: float,
    rail_thickness: float,
    pattern: Pattern,
    use: Fasteners,
    system: UnitSystem,
) -> tuple[Screws, ...]:
    """Screws for pickets.

    `crossing`: times a picket crosses a rail, all pickets, or those of either row (2,);
    `thickness` of a picket and of a rail (in). The front row of board on board is fixed through two boards.
    """
    counts = np.atleast_1d(np.asarray(crossing, dtype=np.int64))
    through = [thickness, 2 * thickness if pattern is Pattern.BOARD_ON_BOARD else thickness]
    names = [f"pickets, {name}" for name in row_names(pattern)] if len(counts) > 1 else ["pickets"]
    return tuple(
        _screws(name, *screw_length(boards, rail_thickness, system), int(n) * use.per_crossing, use)
        for name, boards, n in zip(names, through, counts, strict=False)
        if n
    )


def rail_screws(
    places: int,
    rail_thickness: float,
    post_width: float,
    use: Fasteners,
    system: UnitSystem,
    joints: int = 0,
    kickboards: int = 0,
) -> Screws:
    """Screws that hold rails and kickboards to posts: two wherever one lies on a post, as deep in the post as
    in the rail.

    `places`: where rails lie on posts, see `RailPieces.on_posts`; thickness of a rail and width of a post
    (in); `joints`: screws in the frames of gates; `kickboards`: pieces, fixed at both ends. Source: two a
    place and 3 in screws through a 2x rail are common practice, no source; 3 in is twice
    its 1-1/2 in.
    """
    length = shortest_screw(2 * rail_thickness, system)
    pokes_out = length > rail_thickness + post_width + ROUNDING
    name = f"rails{' and kickboards' if kickboards else ''} to posts{', gate frames' if joints else ''}"
    counted = (places + 2 * kickboards) * SCREWS_A_POST + joints
    return _screws(name, length, pokes_out, counted, use, framing=True)


def _screws(
    use_name: str, length: float, pokes_out: bool, counted: int, use: Fasteners, framing: bool = False
) -> Screws:
    needed = math.ceil(counted * use.extra - WHOLE)
    return Screws(
        use=use_name,
        length=length,
        counted=counted,
        needed=needed,
        boxes=math.ceil(needed / use.box),
        pokes_out=pokes_out,
        framing=framing,
    )
