"""Gate leaves: lifted by a mark or two where that spares longer boards, spaced as the fence beside them."""

from collections.abc import Callable

import numpy as np
import pytest
from in_json import as_json

from fencegrade.fence.gates.gates import LIFT_TOLD, LeafPickets
from fencegrade.job.read import Job
from fencegrade.planning.buying import buying_list
from fencegrade.planning.plan import FencePlan, plan_fence

WriteJob = Callable[..., Job]

LEVEL = "station [ft],elevation [in]\n0,0\n8,0\n16,0\n24,0\n"
GATE = '[[run.gate]]\nstation = "8 ft"\nwidth = "{}"\nleaves = {}'


def hung(write_job: WriteJob, height: str, most_gap: str = "3 in", leaves: int = 1) -> FencePlan:
    """A level fence with a gate; 6 ft boards stand 6 ft 2 in high with the clearance of 2 in."""
    gate = GATE.format(f"{4 * leaves} ft", leaves)
    keys = f'most_gap = "{most_gap}"\nclearance = "2 in"'
    return plan_fence(
        write_job(f'[top]\nleast_height = "{height}"\n', pickets=keys, lane=(LEVEL, gate)), "level"
    )


@pytest.mark.parametrize("leaves", [1, 2])
@pytest.mark.parametrize(
    ("height", "most_gap", "lift"),
    [
        ("6 ft 2 in", "3 in", 0.0),
        ("6 ft 2-1/8 in", "3 in", 0.125),
        ("6 ft 2-1/4 in", "3 in", 0.25),
        ("6 ft 2-3/8 in", "3 in", 0.0),
        ("6 ft 2-1/4 in", "2-1/8 in", 0.0),
        ("6 ft 2-1/8 in", "2-1/8 in", 0.125),
    ],
)
def test_a_leaf_is_lifted_where_its_boards_then_cost_less(
    write_job: WriteJob, height: str, most_gap: str, lift: float, leaves: int
) -> None:
    plan = hung(write_job, height, most_gap, leaves)
    (run,) = plan.runs
    (gate,) = run.layout.gates
    assert [fit.hinge_height for fit in gate.chosen] == pytest.approx([2 + lift] * leaves)
    assert [fit.open_height for fit in gate.chosen] == pytest.approx([2 + lift] * leaves)
    assert lift <= LIFT_TOLD
    for leaf in run.leaves:
        assert leaf.bottom == pytest.approx(np.full(len(leaf.kept), 2 + lift))
    (line,) = (x for x in buying_list(plan).lines if x.part == "gate pickets")
    longer = lift == 0 and height != "6 ft 2 in"
    assert line.length == (96.0 if longer else 72.0)
    (told,) = as_json(plan)["runs"][0]["gates"]
    assert [own["over_ground_at_hinge"] for own in told["hung"]] == pytest.approx([2 + lift] * leaves)


def test_two_leaves_that_are_lifted_to_meet_hang_where_it_is_told(write_job: WriteJob) -> None:
    """Ground that rises under one leaf: what is told of how high the other hangs stays so."""
    rises = "station [ft],elevation [in]\n0,0\n8,0\n12,0\n16,3\n24,3\n"
    gate = GATE.format("8 ft", 2) + '\nleaf = "square"'
    job = write_job('[top]\nleast_height = "6 ft 2-1/8 in"\n', lane=(rises, gate))
    (run,) = plan_fence(job, "level").runs
    fits = run.layout.gates[0].chosen
    assert max(fit.lifted for fit in fits) > LIFT_TOLD
    assert min(fit.lifted for fit in fits) == 0


LENGTH, WIDE = 240.0, 42.0


def beside(write_job: WriteJob, station: float) -> tuple[tuple[LeafPickets, ...], list[float]]:
    """Of a gate in a level run of 20 ft, and the spaces on both sides of it."""
    gate = f'[[run.gate]]\nstation = "{station} in"\nwidth = "{WIDE} in"\n'
    flat = "station [ft],elevation [in]\n0,0\n5,0\n10,0\n15,0\n20,0\n"
    job = write_job(pickets='width = "3-1/2 in"\nspacing = "1-3/4 in"', lane=(flat, gate))
    (run,) = plan_fence(job).runs
    return run.leaves, [s.gap for s in run.layout.spaces()]


@pytest.mark.parametrize(
    ("station", "rips"), [(20.0, 0), (27.0, 2), (33.0, 1), (48.0, 1), (62.5, 0), (165.0, 1)]
)
def test_a_leaf_is_spaced_by_the_side_that_asks_for_fewer_rips_whichever_way_the_run_is_walked(
    write_job: WriteJob, station: float, rips: int
) -> None:
    (leaf,), spaces = beside(write_job, station)
    (mirrored,), back = beside(write_job, LENGTH - WIDE - station)
    assert back[::-1] == pytest.approx(spaces)
    assert len(leaf.slots) == len(mirrored.slots)
    assert sorted(w for _, w in leaf.ripped()) == pytest.approx(sorted(w for _, w in mirrored.ripped()))
    assert len(leaf.ripped()) == rips
    if rips:
        kept = [space for space in spaces if leaf.gaps() == pytest.approx([space] * len(leaf.gaps()))]
        assert kept, "ripped to keep the space of one side"
