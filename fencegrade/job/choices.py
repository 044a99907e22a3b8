"""The choices of the job file: keys whose value is one of a few words."""

from enum import StrEnum


class PaperSize(StrEnum):
    """What the sheets are printed on."""

    LETTER = "letter"
    A4 = "A4"


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


class Aim(StrEnum):
    """Where a square-cut foot is aimed at over ground that falls across it."""

    CLEARANCE = "clearance"
    MIDDLE = "middle"


class BottomCut(StrEnum):
    """A picket's bottom: straight across, or cut along the ground's angle."""

    SQUARE = "square"
    SCRIBED = "scribed"


class StopSettings(StrEnum):
    """How many lengths boards are cut to."""

    FEWEST = "fewest"
    EVERY_LENGTH = "every length"


class RailJoint(StrEnum):
    """Rail ends meet on a post, or run past each other."""

    BUTTED = "butted"
    LAPPED = "lapped"


class LowGround(StrEnum):
    """What closes the gap where the ground falls away."""

    BOARDS = "boards"
    SOIL = "soil"
    CHEAPEST = "cheapest"
    KICKBOARD = "kickboard"


class HingePost(StrEnum):
    """The post a gate leaf hangs on, by its station: the nearer to the run's start, or to its end."""

    START = "start"
    END = "end"


class SwingSide(StrEnum):
    """The side a gate leaf opens to, looking along the run from its start."""

    LEFT = "left"
    RIGHT = "right"


class LeafShape(StrEnum):
    """A gate leaf's bottom: level, or parallel to the ground when shut."""

    SQUARE = "square"
    RAKED = "raked"


class StationsTaped(StrEnum):
    """How the stations were measured."""

    LEVEL = "level"
    ALONG_SLOPE = "along the slope"
