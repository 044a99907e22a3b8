"""Gates, and the screen of wind and soil, for machines: parts of a run in `plan.json`."""

import math
from typing import Any

from fencegrade.fence.gates.gates import HINGE_SPACE, LATCH_SPACE
from fencegrade.planning.run import RunPlan
from fencegrade.units import FORCE, MM_PER_INCH, PRESSURE, UnitSystem
from fencegrade.units.words import Words

_IMPERIAL = {"pressure": "psf", "force": "lbf", "moment": "ft lbf"}
_METRIC = {"pressure": "kPa", "force": "N", "moment": "N m"}


def wind_record(run: RunPlan, system: UnitSystem) -> dict[str, Any] | None:
    """The screen of wind and soil: pressure, every post, and all that was taken; None without a site."""
    screen, units = run.wind, _IMPERIAL if system is UnitSystem.IMPERIAL else _METRIC
    if screen is None:
        return None
    load, judged = screen.load, screen.judged
    imperial = system is UnitSystem.IMPERIAL
    length, turn = (
        (1.0, 1.0) if imperial else (MM_PER_INCH, FORCE.value_in(1.0, "N") * MM_PER_INCH * 12 / 1000)
    )

    def pressed(psf: float) -> float:
        return round(PRESSURE.value_in(psf, units["pressure"]), 4)

    return {
        "units": units,
        "pressure": pressed(load.pressure),
        "speed_doubted": screen.doubted,
        "velocity_pressure": None if load.velocity_pressure is None else pressed(load.velocity_pressure),
        "posts": [
            {
                "number": k + 1,
                "force": round(FORCE.value_in(float(load.force[k]), units["force"]), 1),
                "moment": round(float(screen.moment[k]) * turn, 1),
                "judged": bool(judged[k]),
                "carried": round(float(screen.allowed[k]) * turn, 1) if judged[k] else 0.0,
                "depth": round(float(screen.depth[k]) * length, 4),
                "soil_passes": bool(screen.stands[k]) and not screen.doubted,
                "bending_passes": bool(screen.holds[k]) and not screen.doubted,
                "pressure": pressed(float(load.taken[k])),
                "coefficient": None
                if math.isnan(load.coefficient[k])
                else round(float(load.coefficient[k]), 4),
                "case": load.case(k),
            }
            for k in range(len(judged))
        ],
        "assumed": list(screen.assumptions),
    }


def gate_records(run: RunPlan, words: Words) -> list[dict[str, Any]]:
    """The gates of a run, each with its leaves as they are to be hung, from the run's start."""
    frames, number = iter(run.frames), words.number
    return [
        {
            "number": k,
            "start": number(plan.gate.station),
            "end": number(plan.gate.end),
            "leaves": plan.gate.leaves,
            "hinge": str(plan.chosen[0].hinge) if len(plan.chosen) == 1 else "both",
            "swing": str(plan.chosen[0].swing),
            "leaf": " and ".join(dict.fromkeys(str(fit.shape) for fit in plan.chosen)),
            "hung": [
                {
                    "hinge": str(fit.hinge),
                    "leaf": str(fit.shape),
                    "width": number(plan.leaf_width),
                    "space_at_hinge": number(HINGE_SPACE),
                    "space_at_latch": number(LATCH_SPACE),
                    "over_ground_at_hinge": number(fit.hinge_height),
                    "over_ground_at_latch": number(fit.latch_height),
                    "frame": [{"piece": name, "length": number(n)} for name, n, _ in frame.pieces()],
                    "hinges": frame.hinges,
                    "weight": words.mass(frame.weight),
                    "ripped": [{"picket": k, "width": number(width)} for k, width in frame.ripped],
                }
                for fit, frame in zip(plan.chosen, frames, strict=False)
            ],
        }
        for k, plan in enumerate(run.layout.gates, start=1)
    ]
