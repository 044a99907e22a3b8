"""What the builder said, as records: one class a table of `job.toml`, one field a key.

Lengths are inches, forces pounds-force, money the job's currency. The field descriptions are the job
reference that users read; `defaults` holds what is taken where a key is left out.
"""

import math
from dataclasses import field

from pydantic.dataclasses import dataclass

from fencegrade.fence.tops.table import TopStyle, names_of_styles
from fencegrade.figures import holes
from fencegrade.figures.lumber import Wood
from fencegrade.figures.shrinkage import SpeciesGroup
from fencegrade.job.choices import (
    Aim,
    BottomCut,
    Fit,
    HeightRule,
    HingePost,
    LeafShape,
    LowGround,
    PaperSize,
    Pattern,
    RailJoint,
    StationsTaped,
    StopSettings,
    SwingSide,
    TopEnd,
)
from fencegrade.job.fields import (
    CLOSED,
    Angle,
    Chance,
    Count,
    Extent,
    Factor,
    Length,
    LineWeight,
    Mass,
    Point,
    Price,
    Pull,
    Share,
    SideSlope,
    Sign,
    Size,
    Slope,
    Text,
    Volume,
    explained,
)
from fencegrade.job.site import Crew, Fasteners, Site
from fencegrade.units import UnitSystem


@dataclass(frozen=True, slots=True, kw_only=True, config=CLOSED)
class JobTable:
    """`[job]`: the job as a whole."""

    title: Text = explained("name of the job, printed on every sheet")
    units: UnitSystem = explained("what is printed: imperial or metric")
    tape: Size = explained("finest mark used; cut lengths are rounded down to it")
    currency: Sign = explained("sign printed before money")
    kerf: Extent = explained("width of the saw's cut, taken up to a whole mark of the tape")
    least_offcut: Extent = explained("shortest offcut worth keeping")
    paper: PaperSize | None = explained(
        "what the sheets are printed on, letter or A4; by the units if absent", default=None
    )
    dig_checked: bool = explained(
        "true once buried lines are marked, and permit and boundary settled", default=False
    )
    confirmed: tuple[Text, ...] = explained(
        "keys whose unusual values are meant, each as its doubt names it", default=()
    )


@dataclass(frozen=True, slots=True, kw_only=True, config=CLOSED)
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


@dataclass(frozen=True, slots=True, kw_only=True, config=CLOSED)
class Gate:
    """`[[run.gate]]`: an opening."""

    station: Length = explained("near edge of the opening")
    width: Size = explained("clear width of the opening")
    leaves: Count = explained("leaves that close it, 1 or 2", default=1, le=2, ge=1)
    hinge: HingePost | None = explained("post the leaf hangs on; the better one if absent", default=None)
    swing: SwingSide | None = explained(
        "side it opens to, looking along the run; the better one if absent", default=None
    )
    leaf: LeafShape | None = explained("square or raked; the better one if absent", default=None)
    slope_across: Slope = explained("how the ground rises to the left of the run there", default=0.0)
    open_angle: Angle | None = explained("how far it opens; 90 deg if absent", default=None)
    swing_rise: tuple[Length, Length, Length] | None = explained(
        "how much higher than at the hinge the ground is under the leaf's far end: shut, half open, open",
        default=None,
    )

    @property
    def opens(self) -> float:
        """How far a leaf opens (radians): by a quarter turn where it is not said, by half a turn at most."""
        return min(self.open_angle or math.pi / 2, math.pi)

    @property
    def end(self) -> float:
        """Station (in) of the far edge of the opening."""
        return self.station + self.width


@dataclass(frozen=True, slots=True, kw_only=True, config=CLOSED)
class Stretch:
    """`[[run.no_post]]`, `[[run.root]]`, `[[run.no_soil]]`: a stretch without posts, soil, or both."""

    start: Length = explained("where the stretch begins")
    end: Length = explained("where the stretch ends")


@dataclass(frozen=True, slots=True, kw_only=True, config=CLOSED)
class OpenStretch(Stretch):
    """`[[run.keep_open]]`: water must pass: no fill, no post, at least this open height."""

    height: Size = explained("least open height under the pickets")


@dataclass(frozen=True, slots=True, kw_only=True, config=CLOSED)
class ClearanceStretch(Stretch):
    """`[[run.clearance]]`: another clearance over a stretch: paving, pool side, splash."""

    height: Extent = explained("clearance wanted there")


@dataclass(frozen=True, slots=True, kw_only=True, config=CLOSED)
class ExistingPost:
    """`[[run.existing_post]]`: a post that already stands."""

    station: Length = explained("station of its centre")
    height: Size | None = explained(
        "its top above the ground; the tops take no account of it, and what it is off them is told",
        default=None,
    )
    keep: bool = explained(
        "false if it is rotten or leans: a new post then stands beside its hole", default=True
    )


@dataclass(frozen=True, slots=True, kw_only=True, config=CLOSED)
class Run:
    """`[[run]]`: one straight fence line between two ends or corners."""

    name: Text = explained("name of the run, unique in the job")
    survey: Text = explained("survey CSV beside the job file")
    join: Text | None = explained(
        "name of the run at whose far end this one starts: one post serves both; tops chosen run by run may "
        "step there",
        default=None,
    )
    start: Length | None = explained(
        "station of the fence's first end; default the first reading", default=None
    )
    end: Length | None = explained("station of the fence's far end; default the last reading", default=None)
    style: TopStyle | None = explained("this run's own top; that of [top] if absent", default=None)
    string: tuple[StringLine, ...] = explained(
        "set-ups of the string; none means one level string", default=()
    )
    stations_taped: StationsTaped | None = explained(
        "how stations were measured, level or along the slope; taken as level if absent", default=None
    )
    reading_error: Size | None = explained(
        "your honest plus or minus of one reading (one standard deviation)", default=None
    )
    read_at_breaks: bool | None = explained(
        "true if every visible break of the ground was read: readings off the even grid then count as ones "
        "at breaks, as those with the word break in their note do",
        default=None,
    )
    tops_levelled: bool = explained(
        "true if the tops are levelled otherwise than from a string pulled as the one the ground was read "
        "from: the doubt of its sag then counts for every board",
        default=False,
    )
    confirmed: bool = explained(
        "true if readings, units and pulls that look like slips were checked and are right", default=False
    )
    most_misclosure: Size | None = explained("largest misclosure to accept", default=None)
    from_xy: Point | None = explained("point survey only: x and y of station 0", default=None)
    to_xy: Point | None = explained(
        "point survey only: x and y of a point further along the run", default=None
    )
    most_offset: Size | None = explained(
        "point survey only: farthest a point may lie off the run", default=None
    )
    gate: tuple[Gate, ...] = explained("openings", default=())
    existing_post: tuple[ExistingPost, ...] = explained(
        "posts that already stand; a house wall is none", default=()
    )
    no_post: tuple[Stretch, ...] = explained(
        "stretches where no post can stand: pipe, cable, rock", default=()
    )
    root: tuple[Stretch, ...] = explained(
        "stretches where a root or trunk lifts the ground: no post, no soil", default=()
    )
    no_soil: tuple[Stretch, ...] = explained(
        "stretches where no soil may be laid: a bed, a drain, a neighbour's side, paving along the fence; "
        "posts may stand there",
        default=(),
    )
    keep_open: tuple[OpenStretch, ...] = explained(
        "stretches where water must pass, or that are paved: no post, no soil", default=()
    )
    clearance: tuple[ClearanceStretch, ...] = explained("stretches with another clearance", default=())


@dataclass(frozen=True, slots=True, kw_only=True, config=CLOSED)
class Stock:
    """A length of board that can be bought, or that is there already."""

    length: Size = explained("actual length")
    price: Price | None = explained("what one costs", default=None)
    on_hand: Count = explained("how many are already there; used first at no cost", default=0)
    limit: Count | None = explained("only 0, where no more can be bought; any number if absent", default=None)

    @property
    def sold(self) -> bool:
        """Whether more of them can be bought."""
        return self.limit != 0


@dataclass(frozen=True, slots=True, kw_only=True, config=CLOSED)
class Top:
    """`[top]`: the line the tops follow, and the heights it must keep."""

    style: TopStyle = explained(names_of_styles())
    least_height: Size = explained(
        "nowhere lower than this above the ground; shortest picket and clearance if absent"
    )
    most_height: Size | None = explained("local height limit, flagged where passed", default=None)
    most_step: Size | None = explained(
        "stepped: largest step at a post; a face of the ground may need more", default=None
    )
    equal_steps: bool = explained("stepped: all steps of one size", default=False)
    most_slope: Slope | None = explained("sloped, racked: steepest straight piece of the top", default=None)
    measured: HeightRule = explained("how the local rule measures: every point, average or lower side")


@dataclass(frozen=True, slots=True, kw_only=True, config=CLOSED)
class Pickets:
    """`[pickets]`: the boards and how they stand."""

    width: Size = explained("actual width of a picket")
    thickness: Size = explained("actual thickness of a picket", default=0.625)
    spacing: Extent = explained("wanted space between pickets, edge to edge")
    pattern: Pattern = explained("side by side, board on board or shadowbox")
    fit: Fit = explained("even gaps, rip last or rip both ends; a stepped top, side by side, takes even gaps")
    top_end: TopEnd = explained("dog-eared, pointed or flat")
    bottom_cut: BottomCut = explained("square or scribed")
    clearance: Extent = explained("wanted space between a picket's bottom and the soil")
    least_clearance: Extent | None = explained(
        "least open height that is still all right once a picket stands; half the clearance if absent",
        default=None,
    )
    most_gap: Extent = explained("largest open height under a picket that may stay")
    aim: Aim = explained(
        "clearance: always kept over the high side; middle: over ground that falls under a square cut, less "
        "of it, halfway between least_clearance and most_gap. In the season of the README, at a most_chance "
        "of 0.2, clearance marked 19 in 100 pickets and left 3.2 outside, middle marked 10 and left 3.8",
        default=Aim.CLEARANCE,
    )
    stop_settings: StopSettings = explained(
        "fewest: boards are cut to as few lengths as their gaps allow; every length: each to its own",
        default=StopSettings.FEWEST,
    )
    most_chance: Chance = explained(
        "chance of ending outside least_clearance to most_gap up to which a picket is cut from the chart; "
        "with more it is marked in place. In the season of the README 0.2 marked 19 in 100 pickets and left "
        "3.2 in 100 outside, 0.3 marked 10 and left 5.0",
        default=0.3,
    )
    spare: Share = explained(
        "boards over those planned, of gates too, as a share; left on hand, else bought", default=0.0
    )
    widths: tuple[Size, ...] = explained(
        "widths of some boards as measured; ten or more tell well", default=()
    )
    moisture_now: Text | None = explained(
        "moisture of the boards today: wet, damp, dry or a meter's figure such as 16 %", default=None
    )
    moisture_service: Text | None = explained(
        "moisture they will come to: wet, damp, dry or a figure; dry if absent", default=None
    )
    species: SpeciesGroup = explained("most softwoods, or redwood and cedars", default=SpeciesGroup.SOFTWOOD)
    stock: tuple[Stock, ...] = explained("lengths that can be bought")


@dataclass(frozen=True, slots=True, kw_only=True, config=CLOSED)
class Posts:
    """`[posts]`: the posts and their holes."""

    width: Size = explained("actual width along the run")
    thickness: Size | None = explained("actual size across the run; the width if absent", default=None)
    spacing: Size = explained("largest distance, centre to centre")
    height: Length = explained("post top relative to the top line; negative is below it")
    hole_diameter: Size = explained("diameter of the hole")
    least_depth: Extent = explained("least depth in the ground, such as the local frost rule")
    frost_depth: Extent = explained("how deep the ground freezes; posts stand that deep", default=0.0)
    depth_share: Share = explained(
        "least share of a post's length in the ground; 0 for none", default=holes.SHARE_IN_GROUND
    )
    share_tolerance: Share = explained(
        "how far under it a post may stand to spare a longer one; 0 where depth_share is written",
        default=0.0,
    )
    gate_deeper: Extent = explained("how much deeper gate posts go", default=holes.GATE_POST_DEEPER)
    gate_width: Size | None = explained("actual width of gate posts; the width if absent", default=None)
    gate_thickness: Size | None = explained("their actual size across the run", default=None)
    gate_hole_diameter: Size | None = explained(
        "diameter of their holes; hole_diameter if absent", default=None
    )
    gravel: Extent = explained("gravel under the post, added to the hole", default=holes.GRAVEL)
    gravel_bag: Mass = explained("weight of a bag of gravel", default=50.0)
    gravel_bag_price: Price | None = explained("what a bag of gravel costs", default=None)
    gravel_bags_on_hand: Count | None = explained(
        "bags of gravel already there; used first at no cost", default=None
    )
    wood: Wood = explained("wood of the posts", default=Wood.GROUND_CONTACT)
    bag: Mass = explained("weight of a bag of concrete mix", default=80.0)
    bag_price: Price | None = explained("what a bag of concrete mix costs", default=None)
    bags_on_hand: Count | None = explained(
        "bags of concrete mix already there; used first at no cost", default=None
    )
    concrete_extra: Factor = explained("concrete to buy over the volume of the holes", default=1.1)
    fixed: tuple[Length, ...] = explained("stations of posts that already stand", default=())
    stock: tuple[Stock, ...] = explained("lengths that can be bought")
    gate_stock: tuple[Stock, ...] = explained(
        "lengths gate posts can be bought in, where theirs are others", default=()
    )

    def section(self, gate: bool) -> tuple[float, float]:
        """Width along the run and thickness across it (in) of a line post, or of a gate post."""
        if gate and self.gate_width is not None:
            return self.gate_width, self.gate_thickness or self.gate_width
        return self.width, (gate and self.gate_thickness) or self.thickness or self.width

    def hole(self, gate: bool) -> float:
        """Diameter (in) of the hole of a line post, or of a gate post."""
        return (gate and self.gate_hole_diameter) or self.hole_diameter


@dataclass(frozen=True, slots=True, kw_only=True, config=CLOSED)
class Rails:
    """`[rails]`: the horizontal pieces pickets are fixed to."""

    height: Size = explained("actual height of a rail's face")
    thickness: Size = explained("actual thickness of a rail", default=1.5)
    wood: Wood = explained("wood of the rails", default=Wood.TREATED)
    top_reveal: Extent = explained("picket above the top rail", default=6.0)
    bottom_reveal: Extent = explained("picket below the bottom rail", default=6.0)
    most_overhang: Extent = explained(
        "most of a picket below the bottom rail at a post; the rows of rails step where more would be",
        default=12.0,
    )
    count: Count | None = explained(
        "rails one above another; by height of the pickets if absent", default=None
    )
    joint: RailJoint = explained("butted (meet on a post) or lapped (run past each other)")
    bearing: Size | None = explained(
        "how much of a post a rail end must cover; half of it (butted) or all of it (lapped) if absent",
        default=None,
    )
    stock: tuple[Stock, ...] = explained("lengths that can be bought")


@dataclass(frozen=True, slots=True, kw_only=True, config=CLOSED)
class Soil:
    """`[soil]`: what closes low ground, and the shape of a fill."""

    low_ground: LowGround = explained("boards, soil, cheapest or kickboard")
    price: Price | None = explained(
        "price of soil by cubic yard (imperial) or cubic metre (metric)", default=None
    )
    most_depth: Extent = explained("no deeper than this against the boards")
    crest: Extent = explained("level width of the fill at the fence")
    side_slope: SideSlope = explained("side slope of the fill, horizontal to vertical")
    loose_factor: Factor = explained(
        "loose volume to order over the volume once tamped (not over undisturbed ground)"
    )
    end_slope: SideSlope = explained(
        "slope of a fill's ends along the fence, horizontal to vertical", default=7.0
    )
    least_length: Extent = explained("no fill shorter than this along the fence", default=24.0)
    bag: Volume | None = explained("loose soil in a bag, if it is bought in bags", default=None)
    kickboard: tuple[Stock, ...] = explained("kickboard lengths that can be bought", default=())
    kickboard_width: Size = explained("actual width of a kickboard", default=7.25)


@dataclass(frozen=True, slots=True, kw_only=True, config=CLOSED)
class JobFile:
    """The whole of `job.toml`."""

    job: JobTable
    run: tuple[Run, ...]
    top: Top
    pickets: Pickets
    posts: Posts
    rails: Rails
    soil: Soil
    site: Site | None = None
    fasteners: Fasteners = field(default_factory=Fasteners)
    crew: Crew = field(default_factory=Crew)
