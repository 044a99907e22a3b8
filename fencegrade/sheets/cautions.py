"""The usual cautions, in our own words, each with the authority to ask. Nothing hides them.

They defer to local codes and to licensed practice; the figures named are those of the authority given.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from fencegrade.plan import FencePlan

CHECK_THREE = (
    "Measured by you, computed from your numbers: check the first three boards before cutting the rest."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """One caution: the work it belongs to, a line for the screen, and the whole of it for the sheets."""

    work: str
    short: str
    whole: str


DIGGING = Caution(
    work="digging",
    short="Before digging: have buried lines marked (811 in the US), days ahead; private lines are not marked.",
    whole=(
        "Have buried lines marked before digging (811 in the US, the one-call service elsewhere), days ahead, "
        "and wait for every answer. Marks tell about where, not how deep; dig by hand near them. Garden "
        "lights, irrigation, shed power and septic pipes are usually not marked. State law decides."
    ),
)
PERMIT = Caution(
    work="digging",
    short="Ask the permit office about height, setback and sight rules; the boundary is a surveyor's to find.",
    whole=(
        "Ask the permit office about height and how it is measured, setback, corner sight rules and easements. "
        "The boundary is found by a licensed surveyor, not from the old fence. This plan is no legal advice."
    ),
)
POOL = Caution(
    work="planning",
    short="A pool barrier is life safety: follow the adopted code and the inspector, not this plan.",
    whole=(
        "A barrier around a pool or spa is life safety. Follow the code your place has adopted, the inspector, "
        "and the consumer safety commission's guidance; gaps, heights and gates there have rules of their own."
    ),
)
WATER = Caution(
    work="soil",
    short="Never dam a swale, ditch or flood path with boards or soil; ask the drainage authority.",
    whole=(
        "Never close a swale, culvert or flood path with boards or soil. Ask the drainage authority before "
        "anything stands in one."
    ),
)
TALL = Caution(
    work="posts",
    short="Tall fence, wall, slope, wind or poor soil: a licensed engineer sizes the posts.",
    whole=(
        "A fence on or near a retaining wall, on poor or steep ground, in high wind, or over 6 to 7 ft (about "
        "2 m) high needs a licensed engineer; local code decides where that begins."
    ),
)
SAW = Caution(
    work="cutting",
    short="Saw: eyes, ears and dust mask on, both ends supported, guard working, hands clear.",
    whole=(
        "Wear eye and ear protection and a dust mask; support both ends; keep the guard working and hands out "
        "of the line of the cut. Follow the maker's manual."
    ),
)
TREATED = Caution(
    work="cutting",
    short="Treated wood: cut outdoors, mask and gloves, wash before eating, never burn or mulch it.",
    whole=(
        "Cut preserved wood outdoors with a dust mask and gloves, wash before eating, coat cut ends as its maker "
        "says, and never burn or mulch the scraps (see the EPA's consumer safety sheets)."
    ),
)


def cautions(plan: FencePlan) -> Iterator[Caution]:
    """The cautions that belong to this plan's work."""
    yield DIGGING
    yield PERMIT
    yield WATER
    if any(float(run.cuts.tallest.max(initial=0.0)) > 72.0 for run in plan.runs):
        yield TALL
    yield POOL
    yield SAW
    yield TREATED
