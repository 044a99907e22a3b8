"""What the page works out a board measured in place from, as texts for its scripts."""

from fencegrade.planning.measured import believed_off
from fencegrade.planning.row import believed_edge
from fencegrade.planning.run import RunPlan


def lines_and_depths(run: RunPlan) -> list[str]:
    """What a board measured in place is worked out from, as text.

    How much higher the line of the tops is at its left and right edge than its own top, and how deep under
    that top the ground of the plan lies at both (in).
    """
    left, right = run.slots.left, run.slots.right
    ground = run.ground.line
    own, offsets = run.cuts.top, (run.top.sides(left)[1], run.top.sides(right)[0])
    depths = (own - ground.elevation(left), own - ground.elevation(right, before=True))
    columns = [(edge - own).tolist() for edge in offsets] + [depth.tolist() for depth in depths]
    return [" ".join(f"{value:.6g}" for value in row) for row in zip(*columns, strict=True)]


def far_edges(run: RunPlan, spacing: float) -> list[str]:
    """Where the far edge of each board is planned, and how far off it may be measured before it is doubted
    (in), as text; empty for what stands."""
    columns = (run.slots.right.tolist(), run.slots.width.tolist(), run.layout.coming.tolist())
    return [
        f"{right:.9g} {believed_edge(width, spacing):.4g}" if to_come else ""
        for right, width, to_come in zip(*columns, strict=True)
    ]


def ground_depths(run: RunPlan) -> list[str]:
    """How deep under its own top the highest ground under each board lies, and how far off that ground
    measured in place may lie before it is doubted (in), as text; empty for what stands."""
    depths = run.cuts.top - run.ground.line.highest(run.slots.left, run.slots.right)
    pairs = zip(depths.tolist(), believed_off(run.ground, run.slots).tolist(), strict=True)
    coming = run.layout.coming.tolist()
    return [f"{d:.6g} {off:.4g}" if to_come else "" for (d, off), to_come in zip(pairs, coming, strict=True)]
