"""What is ticked before a hole is dug, and whether the job says that it is."""

from fencegrade.planning.plan import FencePlan
from fencegrade.sheets.cautions import said_in
from fencegrade.units import UnitSystem

NOT_CHECKED = "Buried lines: NOT CHECKED YET"
"""At the foot of every page until the job file says that the list before digging is done."""

_BEFORE_DIGGING = (
    "Line of the fence outlined on the ground, in white where the one-call service asks for it",
    "One-call service told[ (811 in the US)|], and every utility has answered",
    "Marks on the ground photographed, and every post hole checked against them",
    "Own lines found: irrigation, garden lights, shed power, grill gas, septic pipes, pet wires",
    "Boundary found by a licensed surveyor, or agreed with the neighbour in writing",
    "Permit office asked: height and how it is measured, setback, corner sight rules",
    "Easements, drainage ways and association rules read",
    "Overhead lines, trees, walls and slopes beside the line looked at",
)


def before_digging(system: UnitSystem) -> tuple[str, ...]:
    """What is ticked before a hole is dug, as a job of these units says it."""
    return tuple(said_in(system, line) for line in _BEFORE_DIGGING)


def is_checked(plan: FencePlan) -> bool:
    """Whether the job file says that the list before digging is done."""
    return plan.job.job.dig_checked
