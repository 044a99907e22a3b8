"""What the builder said, as records: one class a table of `job.toml`, one field a key.

Lengths are inches, forces pounds-force, money the job's currency. The field descriptions are the job
reference that users read; `defaults` holds what is taken where a key is left out.
"""

from enum import StrEnum

from pydantic import ConfigDict
from pydantic.dataclasses import dataclass

from fencegrade.job.fields import (
    Count,
    Extent,
    Factor,
    Length,
    LineWeight,
    Mass,
    Point,
    Price,
    Pull,
    SideSlope,
    Size,
    Text,
    explained,
)
from fencegrade.units import UnitSystem

_CLOSED = ConfigDict(extra="forbid")


class TopStyle(StrEnum):
    """The line the finished tops follow."""

    LEVEL = "level"
    SLOPED = "sloped"
    STEPPED = "stepped"
    RACKED = "racked"
    CONTOUR = "contour"


class HeightRule(StrEnum):
    """How the local height rule measures."""

    EVERY_POINT = "every point"
    AVERAGE = "average"
    LOWER_SIDE = "lower side"


class Pattern(StrEnum):
    """How the pickets stand on the rails."""

    SIDE_BY_SIDE = "side by side"
    BOARD_ON_BOARD = "board on board"
    SHADOWBOX = "shadowbox"


class Fit(StrEnum):
    """How a whole number of pickets is made to fill a stretch."""

    EVEN_GAPS = "even gaps"
    RIP_LAST = "rip last"
    RIP_BOTH_ENDS = "rip both ends"


class TopEnd(StrEnum):
    """The shape of a picket's top end; only a flat end may give two pieces a board."""

    DOG_EARED = "dog-eared"
    POINTED = "pointed"
    FLAT = "flat"


class BottomCut(StrEnum):
    """A picket's bottom: straight across, or cut along the ground's angle."""

    SQUARE = "square"
    SCRIBED = "scribed"


class RailJoint(StrEnum):
    """Rail ends meet on a post, or run past each other."""

    BUTTED = "butted"
    LAPPED = "lapped"


class LowGround(StrEnum):
    """What closes the gap where the ground falls away."""

    BOARDS = "boards"
    SOIL = "soil"
    CHEAPEST = "cheapest"


class StationsTaped(StrEnum):
    """How the stations were measured."""

    LEVEL = "level"
    ALONG_SLOPE = "along the slope"


@dataclass(frozen=True, slots=True, kw_only=True, config=_CLOSED)
class JobTable:
    """`[job]`: the job as a whole."""

    title: Text = explained("name of the job, printed on every sheet")
    units: UnitSystem = explained("what is printed: imperial or metric")
    tape: Size = explained("finest mark used; cut lengths are rounded down to it")
    currency: str = explained("sign printed before money", max_length=8)


@dataclass(frozen=True, slots=True, kw_only=True, config=_CLOSED)
class StringLine:
    """`[[run.string]]`: one set-up of the string."""

    id: Text | None = explained("its name in the survey's `string` column", default=None)
    start: Length | None = explained("station of its first end; the run's start if absent", default=None)
    end: Length | None = explained("station of its far end; the run's end if absent", default=None)
    height: Length | None = explained(
        "elevation of its first end; absent: tied by stations shared with another string", default=None
    )
    fall: Length = explained("how much lower its far end is than its first", default=0.0)
    weight: LineWeight | None = explained("weight of the line by length; with `pull`", default=None)
    pull: Pull | None = explained("how hard it was pulled; with `weight` the sag is corrected", default=None)
    sag: Extent | None = explained("sag measured at mid-span, instead of weight and pull", default=None)
    line_level: Mass | None = explained("weight of a line level left hanging at mid-span", default=None)


@dataclass(frozen=True, slots=True, kw_only=True, config=_CLOSED)
class Gate:
    """`[[run.gate]]`: an opening."""

    station: Length = explained("near edge of the opening")
    width: Size = explained("clear width of the opening")


@dataclass(frozen=True, slots=True, kw_only=True, config=_CLOSED)
class Stretch:
    """`[[run.no_post]]`: a stretch without posts: pipe, root, rock."""

    start: Length = explained("where the stretch begins")
    end: Length = explained("where the stretch ends")


@dataclass(frozen=True, slots=True, kw_only=True, config=_CLOSED)
class OpenStretch:
    """`[[run.keep_open]]`: water must pass: no fill, no post, at least this open height."""

    start: Length = explained("where the stretch begins")
    end: Length = explained("where the stretch ends")
    height: Size = explained("least open height under the pickets")


@dataclass(frozen=True, slots=True, kw_only=True, config=_CLOSED)
class ClearanceStretch:
    """`[[run.clearance]]`: another clearance over a stretch: paving, pool side, splash."""

    start: Length = explained("where the stretch begins")
    end: Length = explained("where the stretch ends")
    height: Extent = explained("clearance wanted there")


@dataclass(frozen=True, slots=True, kw_only=True, config=_CLOSED)
class Run:
    """`[[run]]`: one straight fence line between two ends or corners."""

    name: Text = explained("name of the run, unique in the job")
    survey: Text = explained("survey CSV beside the job file")
    start: Length | None = explained("station of the fence's first end; default the first reading", default=None)
    end: Length | None = explained("station of the fence's far end; default the last reading", default=None)
    string: tuple[StringLine, ...] = explained("set-ups of the string; none means one level string", default=())
    stations_taped: StationsTaped = explained(
        "how stations were measured: level or along the slope", default=StationsTaped.LEVEL
    )
    reading_error: Size | None = explained(
        "your honest plus or minus of one reading (one standard deviation)", default=None
    )
    read_at_breaks: bool | None = explained(
        "true if a reading was taken at every visible break of the ground", default=None
    )
    most_misclosure: Size | None = explained("largest misclosure to accept", default=None)
    from_xy: Point | None = explained("point survey only: x and y of station 0", default=None)
    to_xy: Point | None = explained("point survey only: x and y of a point further along the run", default=None)
    most_offset: Size | None = explained("point survey only: farthest a point may lie off the run", default=None)
    gate: tuple[Gate, ...] = explained("openings", default=())
    no_post: tuple[Stretch, ...] = explained("stretches where no post can stand", default=())
    keep_open: tuple[OpenStretch, ...] = explained("stretches where water must pass", default=())
    clearance: tuple[ClearanceStretch, ...] = explained("stretches with another clearance", default=())


@dataclass(frozen=True, slots=True, kw_only=True, config=_CLOSED)
class Stock:
    """A length that can be bought."""

    length: Size = explained("actual length")
    price: Price | None = explained("what one costs", default=None)
    on_hand: Count = explained("how many are already there; used first at no cost", default=0)


@dataclass(frozen=True, slots=True, kw_only=True, config=_CLOSED)
class Top:
    """`[top]`: the line the tops follow, and the heights it must keep."""

    style: TopStyle = explained("level, sloped, stepped, racked or contour")
    least_height: Size = explained("nowhere lower than this above the ground")
    most_height: Size | None = explained("local height limit, flagged where passed", default=None)
    measured: HeightRule = explained("how the local rule measures: every point, average or lower side")


@dataclass(frozen=True, slots=True, kw_only=True, config=_CLOSED)
class Pickets:
    """`[pickets]`: the boards and how they stand."""

    width: Size = explained("actual width of a picket")
    spacing: Extent = explained("wanted space between pickets, edge to edge")
    pattern: Pattern = explained("side by side, board on board or shadowbox")
    fit: Fit = explained("even gaps, rip last or rip both ends")
    top_end: TopEnd = explained("dog-eared, pointed or flat")
    bottom_cut: BottomCut = explained("square or scribed")
    clearance: Extent = explained("wanted space between a picket's bottom and the soil")
    most_gap: Extent = explained("largest open height under a picket that may stay")
    stock: tuple[Stock, ...] = explained("lengths that can be bought")


@dataclass(frozen=True, slots=True, kw_only=True, config=_CLOSED)
class Posts:
    """`[posts]`: the posts and their holes."""

    width: Size = explained("actual width along the run")
    spacing: Size = explained("largest distance, centre to centre")
    height: Length = explained("post top relative to the top line; negative is below it")
    hole_diameter: Size = explained("diameter of the hole")
    least_depth: Extent = explained("least depth in the ground, such as the local frost rule")
    fixed: tuple[Length, ...] = explained("stations of posts that already stand", default=())
    stock: tuple[Stock, ...] = explained("lengths that can be bought")


@dataclass(frozen=True, slots=True, kw_only=True, config=_CLOSED)
class Rails:
    """`[rails]`: the horizontal pieces pickets are fixed to."""

    height: Size = explained("actual height of a rail's face")
    count: Count | None = explained("rails one above another; by height of the pickets if absent", default=None)
    joint: RailJoint = explained("butted (meet on a post) or lapped (run past each other)")
    stock: tuple[Stock, ...] = explained("lengths that can be bought")


@dataclass(frozen=True, slots=True, kw_only=True, config=_CLOSED)
class Soil:
    """`[soil]`: what closes low ground, and the shape of a fill."""

    low_ground: LowGround = explained("boards, soil or cheapest")
    price: Price | None = explained("price of soil by cubic yard (imperial) or cubic metre (metric)", default=None)
    most_depth: Extent = explained("no deeper than this against the boards")
    crest: Extent = explained("level width of the fill at the fence")
    side_slope: SideSlope = explained("side slope of the fill, horizontal to vertical")
    loose_factor: Factor = explained("loose volume over compacted volume")


@dataclass(frozen=True, slots=True, kw_only=True, config=_CLOSED)
class JobFile:
    """The whole of `job.toml`."""

    job: JobTable
    run: tuple[Run, ...]
    top: Top
    pickets: Pickets
    posts: Posts
    rails: Rails
    soil: Soil
