"""What is ticked before a hole is dug, and whether the job says that it is."""

from fencegrade.planning.plan import FencePlan

NOT_CHECKED = "Buried lines: NOT CHECKED YET"
"""At the foot of every page until the job file says that the list before digging is done."""

BEFORE_DIGGING = (
    "Line of the fence outlined on the ground, in white where the one-call service asks for it",
    "One-call service told (811 in the US), and every utility has answered",
    "Marks on the ground photographed, and every post hole checked against them",
    "Own lines found: irrigation, garden lights, shed power, grill gas, septic pipes, pet wires",
    "Boundary found by a licensed surveyor, or agreed with the neighbour in writing",
    "Permit office asked: height and how it is measured, setback, corner sight rules",
    "Easements, drainage ways and association rules read",
    "Overhead lines, trees, walls and slopes beside the line looked at",
)
"""What is ticked before a hole is dug."""


def is_checked(plan: FencePlan) -> bool:
    """Whether the job file says that the list before digging is done."""
    return plan.job.job.dig_checked
