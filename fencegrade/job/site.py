"""Where the fence stands, what holds it together and who builds it, as records beside those of the fence."""

from pydantic.dataclasses import dataclass

from fencegrade.figures.bearing import SoilClass
from fencegrade.figures.wind import Exposure
from fencegrade.job.fields import CLOSED, Count, Factor, Mass, Pressure, Price, Rate, Speed, explained


@dataclass(frozen=True, slots=True, kw_only=True, config=CLOSED)
class Site:
    """`[site]`: wind and soil, where posts are to be held against them."""

    wind_speed: Speed | None = explained(
        "basic wind speed of ASCE 7-10 or later, three-second gust; older maps give too little",
        default=None,
    )
    wind_pressure: Pressure | None = explained("wind pressure on the fence, instead of a speed", default=None)
    exposure: Exposure = explained(
        "surroundings: B built-up or wooded, C open, D by wide water", default=Exposure.C
    )
    soil: SoilClass = explained("bedrock, rock, gravel, sand or clay", default=SoilClass.CLAY)
    lateral_bearing: Pressure | None = explained(
        "lateral soil bearing for each foot of depth, instead of the class", default=None
    )
    sets_depth: bool = explained(
        "true to dig as deep as the screen of wind and soil asks, not only to be told", default=False
    )
    paved: bool = explained("true where rigid paving or a slab holds the posts at the ground", default=False)
    isolated_poles: bool = explained(
        "true if the building official lets fence posts use twice the soil table", default=False
    )


@dataclass(frozen=True, slots=True, kw_only=True, config=CLOSED)
class Fasteners:
    """`[fasteners]`: screws."""

    per_crossing: Count = explained("screws where a picket crosses a rail", default=2)
    extra: Factor = explained("screws to buy over those counted", default=1.05)
    box: Count = explained("screws in a box", default=350, ge=1)
    box_price: Price | None = explained("what a box costs", default=None)
    hinge_price: Price | None = explained("what a gate hinge costs", default=None)
    latch_price: Price | None = explained("what a gate latch costs", default=None)
    drop_rod_price: Price | None = explained("what a drop rod for two leaves costs", default=None)
    framing_box_price: Price | None = explained(
        "what a box of the longer screws into posts costs; box_price if absent", default=None
    )


@dataclass(frozen=True, slots=True, kw_only=True, config=CLOSED)
class Crew:
    """`[crew]`: your own pace and vehicle, for hours and trips."""

    posts_an_hour: Rate | None = explained("holes dug and posts set in an hour", default=None)
    rails_an_hour: Rate | None = explained("rails fixed in an hour", default=None)
    pickets_an_hour: Rate | None = explained("pickets cut and hung in an hour", default=None)
    payload: Mass | None = explained("what the vehicle may carry", default=None)
