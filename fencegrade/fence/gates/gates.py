"""Gates on a slope: how high each kind of leaf must hang so that it clears the ground through its swing.

plan               latch           ground at reach rho and swing phi above the ground at the hinge:
  hinge o------------o             rho (m_along cos phi + m_across sin phi) + bend(rho cos phi)
         \\  phi                    m_along   rise from the hinge to the latch
          \\                        m_across  rise toward the side the leaf opens to
           o  open                 bend      the ground along the leaf over that chord, alike all across
"""

import math
from collections.abc import Iterator, Sequence
from itertools import product

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from fencegrade.fence.pickets.cuts import marks_down
from fencegrade.fence.pickets.patterns import Facing, lay_pattern
from fencegrade.fence.slots import Slots, is_ripped
from fencegrade.ground.profile import GroundLine
from fencegrade.job.choices import Fit, HingePost, LeafShape, Pattern, SwingSide
from fencegrade.job.records import Gate
from fencegrade.problems import Problem, note, warning
from fencegrade.units import MM_PER_INCH, UnitSystem, format_angle, past_limit
from fencegrade.units.arrays import Floats, Indices, Marks
from fencegrade.units.tolerances import SAME_LENGTH
from fencegrade.units.words import Words

HINGE_SPACE, LATCH_SPACE = 0.25, 0.5
"""Inches a leaf stays clear of its posts: common practice, no source; by the hardware."""

MOST_LEAF = {UnitSystem.IMPERIAL: 60.0, UnitSystem.METRIC: 1500 / MM_PER_INCH}
"""Inches: a wider single leaf sags; common practice, no source, some say 42 in."""

LEAST_OVER_GROUND = 1.0
"""Inches over the highest ground in the swing: common practice, no source."""

QUARTER_TURN = math.pi / 2

CAUTIONS = (
    "A leaf hung high at the hinge leaves that height open under it when shut: keep small children and dogs "
    "in another way.",
    "A timber brace runs from the bottom hinge corner up to the top latch corner: hold it over the frame "
    "there, mark both ends and cut them to fit between; halve it and a middle rail where they cross.",
    "A gate in a pool barrier has rules of its own: self-closing, self-latching, opening away from the pool. "
    "Read the adopted code and ask the inspector.",
    "Set gate posts first and let their concrete harden a week before the leaf is hung.",
)
"""Said with every gate: common practice, and pointers to the codes that decide."""


class LeafFit(Struct, frozen=True, kw_only=True):
    """One way to hang a leaf; heights over the ground in inches.

    `hinge_height`, `latch_height`: its bottom over the ground at the hinge and at the latch, shut;
    `open_height`: the most that stays open anywhere under the shut leaf; `tightest`: swing (radians) at which
    the ground comes nearest; `lifted`: how much higher it hangs than the ground under it asks, so that its
    lower edge meets that of the other leaf, or to spare longer boards.
    """

    hinge: HingePost
    swing: SwingSide
    shape: LeafShape
    hinge_height: float
    latch_height: float
    open_height: float
    tightest: float
    lifted: float = 0.0


class Bend(Struct, frozen=True, kw_only=True, eq=False):
    """The ground along a leaf against its chord: `at` (k,) inches from the leaf's edge nearer the run's
    start, ascending, both edges among them; `over` (k,) inches over the chord."""

    at: Floats
    over: Floats

    def toward_latch(self, hinge: HingePost) -> "Bend":
        """The same counted from the hinge."""
        return (
            self if hinge is HingePost.START else Bend(at=self.at[-1] - self.at[::-1], over=self.over[::-1])
        )


def leaf_fits(
    reach: float,
    along: float,
    across: float,
    clearance: float,
    open_angle: float = QUARTER_TURN,
    over: float = 0.0,
    *,
    bend: Bend | None = None,
) -> tuple[LeafFit, ...]:
    """Every way to hang a leaf: both hinge posts, both sides, square and raked; the best one first.

    `reach`: hinge to latch (in); `along`: rise of the ground along the run, from its start (rise over run);
    `across`: its rise to the left of the run; `clearance`: least space under the leaf anywhere in the swing
    (in); `open_angle`: how far it opens (radians, to half a turn); `over`: how much the ground stands over
    that plane (in), anywhere; `bend`: or how, along the leaf. A square leaf's bottom is level; a raked one is
    parallel to the chord of the ground when shut. Best is the least open height under the shut leaf, then the
    least at the hinge. Errors: ValueError for a reach or angle that is not over zero, or an angle past half a
    turn. Source: own derivation; the worst rise of a plane is reach sqrt(along^2 + across^2) at
    atan(across/along).
    """
    if not reach > 0 or not 0 < open_angle <= math.pi:
        raise ValueError("reach and angle must be over zero, the angle no more than half a turn")
    ground = bend or Bend(at=np.array([0.0, reach]), over=np.zeros(2))
    fits = [
        _fit(ground.toward_latch(hinge), along, across, clearance + over, open_angle, hinge, swing, shape)
        for hinge, swing, shape in product(HingePost, SwingSide, LeafShape)
    ]
    return tuple(sorted(fits, key=lambda f: (round(f.open_height, 9), round(f.hinge_height, 9))))


def _fit(
    ground: Bend,
    along: float,
    across: float,
    clearance: float,
    open_angle: float,
    hinge: HingePost,
    swing: SwingSide,
    shape: LeafShape,
) -> LeafFit:
    toward_latch = along if hinge is HingePost.START else -along
    toward_side = across if swing is SwingSide.LEFT else -across
    raised = toward_latch if shape is LeafShape.RAKED else 0.0
    angle, rise = _worst(ground, toward_latch, toward_side, raised, open_angle)
    height = clearance + max(0.0, rise)
    bottom = height + (raised - toward_latch) * ground.at
    return LeafFit(
        hinge=hinge,
        swing=swing,
        shape=shape,
        hinge_height=height,
        latch_height=float(bottom[-1]),
        open_height=float((bottom - ground.over).max()),
        tightest=angle,
    )


def _worst(
    ground: Bend, toward_latch: float, toward_side: float, raised: float, open_angle: float
) -> tuple[float, float]:
    """Swing (radians) at which the ground comes nearest to a leaf whose bottom is `raised` toward its latch,
    and how much it stands there over that bottom, were it on the ground at the hinge (in)."""
    steepest = min(max(math.atan2(toward_side, toward_latch), 0.0), open_angle)
    angles = np.concatenate([[0.0, open_angle, steepest], np.linspace(0.0, open_angle, _SWINGS)])
    reach = ground.at[1:]
    out = np.multiply.outer(np.cos(angles), reach)
    ahead = toward_latch * out + toward_side * np.multiply.outer(np.sin(angles), reach)
    rises = (ahead + np.interp(out, ground.at, ground.over) - raised * reach).max(axis=1)
    k = int(np.argmax(np.round(rises, 9)))
    return float(angles[k]), float(rises[k])


_SWINGS = 46
"""Swings at which a leaf is held over ground that bends: every second degree of a quarter turn."""


def plane_of_readings(
    reach: float, rises: tuple[float, float, float], open_angle: float
) -> tuple[float, float, float]:
    """The ground in a swing from three readings under the leaf's far end: shut, half open, open.

    `reach` (in); `rises`: height over the ground at the hinge (in). Result: slope toward the latch, slope
    toward the side it opens to, and how much the ground stands over that plane at most (in). Source: least
    squares, own derivation.
    """
    angles = np.array([0.0, open_angle / 2, open_angle])
    rows = reach * np.stack([np.cos(angles), np.sin(angles)], axis=1)
    slopes = np.linalg.lstsq(rows, np.array(rises), rcond=None)[0]
    over = float(np.max(np.array(rises) - rows @ slopes))
    return float(slopes[0]), float(slopes[1]), max(over, 0.0)


class GatePlan(Struct, frozen=True, kw_only=True):
    """A gate: its leaves, each with every way to hang it, best first, and the way chosen.

    `leaf_width` of one leaf (in); `along` the ground's slope along the run, `fits` and `chosen`: an entry a
    leaf, from the run's start. Of two leaves the fits stand in pairs: those of one place are hung together.
    """

    gate: Gate
    leaf_width: float
    along: tuple[float, ...]
    fits: tuple[tuple[LeafFit, ...], ...]
    chosen: tuple[LeafFit, ...]


def plan_gate(
    place: str, gate: Gate, line: GroundLine, clearance: float, words: Words, most_gap: float = math.inf
) -> tuple[GatePlan, tuple[Problem, ...]]:
    """A gate of the job, and what a builder must see of it.

    `place`: how problems name it; `line`: the ground, under each leaf its own; `clearance` (in) at least
    that of the pickets; `most_gap` (in) that may stay open under a shut leaf. Hinge post, side and leaf
    are the job's where it names them. Two leaves each hang on their own post, both square or both raked and
    open to one side, the lower one lifted until their lower edges meet where they shut.
    """
    clearance = max(clearance, LEAST_OVER_GROUND)
    under = [_ground_under(gate, leaf, line) for leaf in range(gate.leaves)]
    across, over, reach = gate.slope_across, 0.0, gate.width / gate.leaves
    if gate.swing_rise is not None:
        toward_latch, toward_side, over = plane_of_readings(reach, gate.swing_rise, gate.opens)
        under = [(-toward_latch if gate.hinge is HingePost.END else toward_latch, None)] * gate.leaves
        across = -toward_side if gate.swing is SwingSide.RIGHT else toward_side
    every = [leaf_fits(reach, along, across, clearance, gate.opens, over, bend=bend) for along, bend in under]
    ways = _pairs(every, _face(gate, line)) if gate.leaves == 2 else [(fit,) for fit in every[0]]
    plan = GatePlan(
        gate=gate,
        leaf_width=(gate.width - 2 * HINGE_SPACE - LATCH_SPACE) / 2
        if gate.leaves == 2
        else gate.width - HINGE_SPACE - LATCH_SPACE,
        along=tuple(along for along, _ in under),
        fits=tuple(zip(*ways, strict=True)),
        chosen=_choose(ways, gate),
    )
    return plan, tuple(_findings(place, plan, words, most_gap))


def _ground_under(gate: Gate, leaf: int, line: GroundLine) -> tuple[float, Bend | None]:
    """Slope of the ground along the run from edge to edge of a leaf, and how it bends between; a face at
    either edge of the leaf is outside it."""
    reach = gate.width / gate.leaves
    first, last = gate.station + leaf * reach, gate.station + (leaf + 1) * reach
    x = np.unique(np.concatenate([np.linspace(first, last, 65), line.stations]))
    x = x[(x >= first) & (x <= last)]
    before, after = line.elevation(x, before=True), line.elevation(x)
    ground = np.concatenate([after[:1], np.maximum(before, after)[1:-1], before[-1:]])
    along = float(ground[-1] - ground[0]) / reach
    over = ground - ground[0] - along * (x - first)
    return along, Bend(at=x - first, over=over)


def _face(gate: Gate, line: GroundLine) -> float:
    """Rise of the ground (in) at the middle of an opening, where its leaves meet; 0 where no face is."""
    middle = gate.station + gate.width / 2
    return float(line.elevation(middle) - line.elevation(middle, before=True))


LIFT_TOLD = 0.25
"""Inches by which a leaf hangs higher than its own ground asks before that is told: own choice."""

SQUARE_WITHIN = 0.5
"""Inches more that may stay open under a square leaf before it is raked: common practice, no source."""

_Way = tuple[LeafFit, ...]
"""How a gate is hung: the fit of its one leaf, or of both."""


def _pairs(every: Sequence[Sequence[LeafFit]], face: float) -> list[_Way]:
    """Every way to hang two leaves, of one shape, open to one side and meeting; the best first: the least
    open height under the worse of them, then the least at its hinge. `face`: rise of the ground (in) where
    they meet."""
    own = [[f for f in fits if f.hinge is post] for fits, post in zip(every, HingePost, strict=True)]
    ways = [_meeting([f for fits in own for f in fits if (f.swing, f.shape) == how], face) for how in _HOW]
    return sorted(ways, key=lambda w: (_open(w), round(max(f.hinge_height for f in w), 9)))


_HOW = list(product(SwingSide, LeafShape))


def _meeting(pair: Sequence[LeafFit], face: float) -> _Way:
    """Two leaves, the lower of them lifted until both are as high at the latch, over the ground before a
    `face` there."""
    first, second = pair
    apart = second.latch_height + face - first.latch_height
    return _lifted(first, max(apart, 0.0)), _lifted(second, max(-apart, 0.0))


def _lifted(fit: LeafFit, by: float) -> LeafFit:
    return replace(
        fit,
        hinge_height=fit.hinge_height + by,
        latch_height=fit.latch_height + by,
        open_height=fit.open_height + by,
        lifted=by,
    )


def _open(way: _Way) -> float:
    """The most (in) that stays open under any shut leaf."""
    return round(max(f.open_height for f in way), 9)


def _choose(ways: Sequence[_Way], gate: Gate) -> _Way:
    """The best way among those the job leaves open; square leaves where they are as good within half an
    inch. Of two leaves each hangs on its own post, whatever the job says of one hinge."""
    hinge = gate.hinge if gate.leaves == 1 else None
    open_to = [
        w
        for w in ways
        if hinge in (None, w[0].hinge)
        and gate.swing in (None, w[0].swing)
        and gate.leaf in (None, w[0].shape)
    ]
    best = open_to[0]
    within = _open(best) + SQUARE_WITHIN + SAME_LENGTH
    square = [w for w in open_to if w[0].shape is LeafShape.SQUARE and _open(w) <= within]
    return min(
        square,
        key=lambda w: (w[0].hinge is not best[0].hinge, w[0].swing is not best[0].swing),
        default=best,
    )


def _findings(place: str, plan: GatePlan, words: Words, most_gap: float) -> Iterator[Problem]:
    most = MOST_LEAF[words.system]
    if plan.leaf_width > most + SAME_LENGTH:
        yield warning(
            place,
            f"a leaf of {words.fine(plan.leaf_width)} is wider than {words.fine(most)}: it sags",
            "hang two leaves, or let a wheel carry it at the latch"
            if plan.gate.leaves == 1
            else "make the opening narrower, or let a wheel carry each leaf at the latch",
        )
    widest = max(leaf.open_height for leaf in plan.chosen)
    if widest > most_gap + SAME_LENGTH:
        yield warning(
            place,
            f"the shut leaf leaves up to {past_limit(widest, most_gap, words.length)} open, over the largest "
            f"gap of {words.given(most_gap)}",
            "hang it another way, level the ground of its swing, or put a sill under it",
        )
    best = tuple(fits[0] for fits in plan.fits)
    if widest > _open(best) + SQUARE_WITHIN + 1 / 16:
        shut, leave = ("leaf", "leaves") if len(best) == 1 else ("leaves", "leave")
        yield note(
            place,
            f"as wished the shut {shut} {leave} {words.length(widest)} open; {_describe_way(best)} {leave} "
            f"{words.length(_open(best))}",
            "hang it so if it may open that way",
        )
    for chosen in plan.chosen:
        if chosen.lifted > LIFT_TOLD + SAME_LENGTH:
            yield note(
                place,
                f"so that the lower edges meet where the leaves shut, the one hinged nearer the "
                f"{chosen.hinge} hangs {words.fine(chosen.lifted)} higher than the ground under it asks, "
                f"and leaves up to {words.length(chosen.open_height)} open",
                "to have both lower, level the ground in the swing of the other",
            )
        if chosen.tightest > 0:
            yield note(
                place,
                f"the ground comes nearest at {format_angle(chosen.tightest, places=0)} of the swing",
                "read the ground there before the posts are set",
            )


def most_lift(plan: GatePlan, most_gap: float) -> float:
    """By how much (in) a gate may hang higher than it has to, unseen: no more than a lift that is told, nor
    past the `most_gap` (in) under the shut leaf, and not at all where it is told how high it hangs."""
    open_, best = _open(plan.chosen), _open(tuple(fits[0] for fits in plan.fits))
    if any(chosen.lifted > LIFT_TOLD for chosen in plan.chosen):
        return 0.0
    return max(0.0, min(LIFT_TOLD, most_gap - open_, best + SQUARE_WITHIN - open_) + SAME_LENGTH)


def lifted(plan: GatePlan, by: float) -> GatePlan:
    """A gate hung higher by so much (in), however it is hung."""
    return replace(
        plan,
        fits=tuple(tuple(_lifted(fit, by) for fit in own) for own in plan.fits),
        chosen=tuple(_lifted(fit, by) for fit in plan.chosen),
    )


def _describe_way(way: _Way) -> str:
    """A way to hang a gate, in words."""
    first = way[0]
    return describe(first) if len(way) == 1 else f"two {first.shape} ones opening to the {first.swing}"


def describe(fit: LeafFit) -> str:
    """A way to hang a leaf, in words."""
    return f"a {fit.shape} leaf hinged nearer the {fit.hinge}, opening to the {fit.swing}"


class LeafPickets(Struct, frozen=True, kw_only=True, eq=False):
    """Pickets of a leaf, (n,): slots (stations, in), elevations of top and bottom at their middles, and
    `kept`, lengths of their longer sides in tape marks.

    `board`: width (in) of a whole one; `row`: 0 for pickets of the first row, 1 for those of the second where
    the pattern has two; `slopes`: of the leaf's lower and upper edge (rise over run). Tops are cut square,
    bottoms along the lower edge.
    """

    slots: Slots
    board: float
    row: Indices
    top: Floats
    bottom: Floats
    kept: Marks
    slopes: tuple[float, float]

    @property
    def span(self) -> float:
        """Width of the leaf (in), from side to side of its pickets."""
        return float(self.slots.right[-1] - self.slots.left[0])

    def bottoms(self) -> tuple[Floats, Floats]:
        """Elevations (n,) in of the bottoms at the pickets' left and right edges."""
        half = self.slopes[0] * self.slots.width / 2
        return self.bottom - half, self.bottom + half

    def gaps(self) -> list[float]:
        """The spaces (in) between neighbours of the first row."""
        front = self.row == 0
        return (self.slots.left[front][1:] - self.slots.right[front][:-1]).tolist()  # type: ignore[no-any-return]

    def ripped(self) -> tuple[tuple[int, float], ...]:
        """Every picket that is ripped, by its number from the run's start, with its width (in)."""
        widths = self.slots.width
        ripped = np.flatnonzero(is_ripped(widths, self.board))
        return tuple(zip((ripped + 1).tolist(), widths[ripped].tolist(), strict=True))


def leaf_pickets(
    plan: GatePlan,
    leaf: int,
    line: GroundLine,
    top: Floats,
    width: float,
    spacing: float,
    fit: Fit,
    mark: float,
    pattern: Pattern = Pattern.SIDE_BY_SIDE,
) -> LeafPickets:
    """The pickets of a leaf as it hangs shut.

    `leaf`: which one, from the run's start; `top`: (2,) elevation of the top line at both edges of the
    opening (in); `width` of pickets and `spacing` as laid in the fence beside it (in); `mark`: tape
    mark (in). Where whole pickets cannot keep that spacing within an eighth of an inch the outer two are
    ripped alike, or the last one alone where that leaves it half a board; where no rip fills the leaf its
    spaces are even all the same. A raked leaf's pickets are cut along its lower edge, so that each keeps the
    clearance over all its width; lengths, of the longer side, are rounded down.
    """
    gate, chosen = plan.gate, plan.chosen[leaf]
    first = gate.station + (
        HINGE_SPACE if chosen.hinge is HingePost.START or gate.leaves == 2 else LATCH_SPACE
    )
    if leaf == 1:
        first += plan.leaf_width + LATCH_SPACE
    slots, row = _leaf_slots(first, plan.leaf_width, width, spacing, fit, pattern)
    at_start = chosen.hinge is HingePost.START
    hinge = gate.station if at_start else gate.end
    slope = plan.along[leaf] if chosen.shape is LeafShape.RAKED else 0.0
    bottom = (
        float(line.elevation(hinge, before=not at_start))
        + chosen.hinge_height
        + slope * (slots.centre - hinge)
    )
    edges = np.array([gate.station, gate.end])
    crown = np.interp(slots.centre, edges, top)
    below = abs(slope) * slots.width / 2
    kept = marks_down(crown - bottom + below, mark)
    return LeafPickets(
        slots=slots,
        board=width,
        row=row,
        top=crown,
        bottom=crown - kept * mark + below,
        kept=kept,
        slopes=(slope, float(top[1] - top[0]) / gate.width),
    )


SPACING_WITHIN = 0.125
"""Inches by which a leaf's spaces may differ from the fence's before a picket at its edge is ripped: own
choice."""


def _leaf_slots(
    first: float, leaf: float, width: float, spacing: float, fit: Fit, pattern: Pattern
) -> tuple[Slots, Indices]:
    """Where the pickets of a leaf stand, both rows in order along the run, and the row of each."""

    def lay(how: Fit) -> Facing:
        return lay_pattern(pattern, first, first + leaf, width, spacing, how)

    laid = even = lay(Fit.EVEN_GAPS)
    front = even.first
    off = len(front) > 1 and abs(float(front.left[1] - front.right[0]) - spacing) > SPACING_WITHIN
    if fit is not Fit.EVEN_GAPS or off:
        laid = lay(Fit.RIP_BOTH_ENDS if fit is Fit.EVEN_GAPS else fit)
        if laid.first.right[-1] < first + leaf - SAME_LENGTH:
            laid = even
    return laid.in_order()
