"""The usual cautions, in our own words, each with the authority to ask. Nothing hides them.

They defer to local codes and to licensed practice; the figures named are those of the authority given.
"""

import re
from enum import StrEnum

from msgspec import Struct

from fencegrade.units import UnitSystem

CHECK_THREE = (
    "Measured by you, computed from your numbers: check the first three boards you cut where they stand, "
    "before cutting the rest."
)


_EITHER = re.compile(r"\[([^|\]]*)\|([^\]]*)\]")


def said_in(system: UnitSystem, text: str) -> str:
    """A caution's text as a job of these units says it: a metric one names no authority of one country."""
    return _EITHER.sub(r"\1" if system is UnitSystem.IMPERIAL else r"\2", text)


class Work(StrEnum):
    """The work a caution belongs to; it is shown where that work is listed."""

    PLANNING = "planning"
    DIGGING = "digging"
    POSTS = "posts"
    LIFTING = "lifting"
    CUTTING = "cutting"
    FIXING = "fixing"
    SOIL = "soil"
    SITE = "site"


class Caution(Struct, frozen=True, kw_only=True):
    """One caution, or a line of good practice, which has no words for the screen.

    `work` it belongs to, `short` a line for the screen, `whole` for the sheets; in both `[a|b]` is a
    where the job is imperial, b where it is metric, as `said_in` reads it.
    """

    work: Work
    short: str
    whole: str


DIGGING = Caution(
    work=Work.DIGGING,
    short=(
        "Before digging: have buried lines marked [(811 in the US)|(one-call service)], days ahead; private "
        "ones are not."
    ),
    whole=(
        "Have buried lines marked before digging ([811 in the US, the one-call service elsewhere|by the "
        "one-call service, or by each utility]), days ahead, and wait for every answer. Marks tell about "
        "where, not how deep; dig by hand near them, as far off as [state law|the rule of your place] says. "
        "Garden lights, irrigation, shed power, grill gas, pet wires and septic pipes are usually not marked."
    ),
)
PERMIT = Caution(
    work=Work.PLANNING,
    short="Ask the permit office about height, setback, sight rules; a surveyor finds the boundary.",
    whole=(
        "Ask the permit office about height and how it is measured, setback, corner sight rules and "
        "easements. The boundary is found by a licensed surveyor, not from the old fence. This plan is no "
        "legal advice."
    ),
)
POOL = Caution(
    work=Work.PLANNING,
    short="A pool barrier is life safety: follow the adopted code and the inspector, not this plan.",
    whole=(
        "A barrier around a pool or spa is life safety. Follow the code your place has adopted, the "
        "inspector, and [the consumer safety commission's guidance|the guidance of your country]; "
        "gaps, heights and gates there have rules of their own."
    ),
)
WATER = Caution(
    work=Work.SOIL,
    short="Never dam a swale, ditch or flood path with boards or soil; ask the drainage authority.",
    whole=(
        "Never close a swale, culvert or flood path with boards or soil. Ask the drainage authority before "
        "anything stands in one."
    ),
)
TALL = Caution(
    work=Work.POSTS,
    short="Tall fence, wall, slope, wind or poor soil: a licensed engineer sizes the posts.",
    whole=(
        "A fence on or near a retaining wall, on poor or steep ground, in high wind, or over "
        "[6 to 7 ft|about 2 m] high needs a licensed engineer; local code decides where that begins."
    ),
)
SAW = Caution(
    work=Work.CUTTING,
    short="Saw: eyes, ears and dust mask on, both ends supported, guard working, hands clear.",
    whole=(
        "Wear eye and ear protection and a dust mask; support both ends; keep the guard working and hands "
        "out of the line of the cut. Follow the maker's manual."
    ),
)
TREATED = Caution(
    work=Work.CUTTING,
    short="Treated wood: cut outdoors, mask and gloves, wash before eating, never burn or mulch it.",
    whole=(
        "Cut preserved wood outdoors with a dust mask and gloves, wash before eating, coat cut ends as its "
        "maker says, and never burn or mulch the scraps; old treated posts and boards go where the local "
        "waste agency says[ (see the EPA's consumer safety sheets)|; see the maker's safety sheet]."
    ),
)


AUGER = Caution(
    work=Work.POSTS,
    short="Power auger: no loose clothing, both know the stop, it kicks at roots and stones. Cover holes.",
    whole=(
        "A power auger grabs and kicks at roots and stones: no loose clothing or hair, two people who both "
        "know how it is stopped, and ease off when it jerks. Look up for overhead lines and watch for nests "
        "and sharp scrap. Cover every open hole before you leave it. Keep tetanus shots up to date."
    ),
)
CEMENT = Caution(
    work=Work.POSTS,
    short="Wet cement burns skin before it hurts: waterproof gloves, boots, eye protection; rinse at once.",
    whole=(
        "Wet cement is strongly alkaline and burns skin before it hurts. Wear waterproof gloves, boots and "
        "eye protection, rinse splashes at once, change soaked clothes, see a doctor for burns or eyes[ "
        "(OSHA 3351)|]. Pour dry mix low and with the wind at your back: its dust holds silica."
    ),
)
PULLING = Caution(
    work=Work.POSTS,
    short="Old posts: jack straight up, nobody near a loaded strap or chain, no vehicle jerks.",
    whole=(
        "A strap or chain under load whips when it lets go: everybody well clear of its line, a blanket or "
        "coat over its middle. Jack old posts straight up off solid blocks; do not jerk them out with a "
        "vehicle. An old concrete collar is heavier than it looks, and rolls."
    ),
)
OVERHEAD = Caution(
    work=Work.POSTS,
    short="Look up before you stand a post, an auger or a ladder: {near} from overhead lines at least.",
    whole=(
        "Look up before you stand a long post, an auger or a ladder on end. Keep yourself and what you "
        "carry {near} "
        "or more from overhead lines ([US 29 CFR 1910.333, to 50 kV; more above|to 50 kV; your own rules "
        "may ask for more]); the utility says how "
        "far, and "
        "shuts them off if it must be closer."
    ),
)
HEAVY = Caution(
    work=Work.LIFTING,
    short="Lifting: heavy bags and wet posts are for two people or a cart; ask for half-weight bags.",
    whole=(
        "{limit} is the most one person should lift under the best conditions (NIOSH lifting equation). Big "
        "bags of concrete and wet posts are for two people or a cart; smaller bags exist. Do not load a "
        "vehicle past the weight on its plate."
    ),
)
NAILER = Caution(
    work=Work.FIXING,
    short="Nailer or driver: eyes and ears on, hands away from where a nail may come out.",
    whole=(
        "Wear eye and ear protection. Keep the holding hand away from where a nail or screw may come out, "
        "and disconnect a nailer before clearing it. Hot-dipped or stainless fasteners last in treated wood."
    ),
)
LADDER = Caution(
    work=Work.FIXING,
    short="Ladders and banks: level footing and a helper, or work from the high side.",
    whole=(
        "A short ladder on a bank tips. Give it level footing and a helper, or work from the high side. "
        "Where the ground drops away beside you, as at a wall, keep back from the edge or have it guarded."
    ),
)
TRIMMING = Caution(
    work=Work.CUTTING,
    short="Trimming boards that stand: a guide and a stop; nobody below you or in line with the cut.",
    whole=(
        "To trim boards that already stand, screw on a straight guide and a stop for the offcut, hold the "
        "saw with both hands; nobody below you or in line with the cut."
    ),
)
WEATHER = Caution(
    work=Work.SITE,
    short="Heat, cold, storms: water and shade often, stop for lightning; a tape and a wet string conduct.",
    whole=(
        "In heat drink about [a cup|a quarter of a litre] of water every 15 to 20 minutes, rest in the "
        "shade, and work up to full days over the first week[ (OSHA heat guidance)|]. Stop for lightning: "
        "a steel tape and a wet string conduct. Know the nearest hospital and carry a telephone."
    ),
)
PASSING = Caution(
    work=Work.SITE,
    short="Keep children, animals and traffic away from the line; close openings with mesh overnight.",
    whole=(
        "Keep children, neighbours' dogs and livestock away while the line is open; temporary mesh closes "
        "it overnight. Beside a road put proper warning out and keep the vehicle from being your only "
        "barrier; ask the road authority before working on its land."
    ),
)
