"""Small fences drawn by chance, and all that is told of their plans.

What is told is kept in `tests/unit/planning/fences.txt` and made again by `python -m tests.refresh_samples`,
or alone by `python tests/support/many_fences.py`: the words of the screen, and of each part of the plan's
JSON a sum that another figure would change.
"""

import io
import json
import zlib
from collections.abc import Callable, Iterator
from itertools import islice
from pathlib import Path
from random import Random
from typing import Any

from fencegrade.building.lean import LeanSpread, LeanTold, Toward, read_lean_question, spread_over_next
from fencegrade.building.plumb import JobLean, job_lean
from fencegrade.building.resume import record_to_keep, resume_fence
from fencegrade.building.resume_ask import read_ask
from fencegrade.job.as_built import built_text
from fencegrade.job.in_memory import job_from
from fencegrade.job.read import Job
from fencegrade.planning.plan import FencePlan, plan_fence
from fencegrade.problems import JobMistakesError
from fencegrade.sheets.plan_json import write_plan_json
from fencegrade.sheets.screen.details import detail_lines
from fencegrade.sheets.screen.lean_text import lean_lines, lean_record
from fencegrade.sheets.screen.resume_text import resume_lines
from fencegrade.sheets.screen.summary import summary_lines
from fencegrade.units import UnitSystem

LEANS = 30
KEPT = Path(__file__).parents[1] / "unit" / "planning" / "fences.txt"
SEEDS = (
    15,
    16,
    20,
    23,
    35,
    44,
    50,
    57,
    59,
    64,
    65,
    72,
    76,
)
"""Of 90 fences those that between them are told most of what all of them are, for the time they take."""
MM = 25.4


class _Drawn:
    """A job of one run or two, its surveys, and at times what stands of it."""

    def __init__(self, seed: int) -> None:
        self.chance = Random(f"fence {seed}")
        self.metric = self.chance.random() < 0.4
        self.count = self.chance.choice([1, 1, 2])
        self.last = 24.0
        self.lengths = [self.chance.choice([120.0, 168.0, 231.0]) for _ in range(self.count)]

    def _often(self, share: float) -> bool:
        return self.chance.random() < share

    def _some(self, *inches: float) -> str:
        one = self.chance.choice(inches)
        return f"{round(one * MM)} mm" if self.metric else f"{one:g} in"

    def _one(self, key: str, share: float, *texts: str) -> list[str]:
        return [f"{key} = {self.chance.choice(texts)}"] if self._often(share) else []

    def _long(self, key: str, share: float, *inches: float) -> list[str]:
        return [f'{key} = "{self._some(*inches)}"'] if self._often(share) else []

    def _stock(self, table: str, *inches: float) -> list[str]:
        priced, found = self._often(0.7), []
        for k, length in enumerate(inches):
            found += [f"[[{table}]]", f'length = "{self._some(length)}"']
            found += [f"price = {0.06 * length + k:.2f}"] if priced else []
            found += self._one("on_hand", 0.2, "2", "9")
        return found

    def survey(self, length: float) -> str:
        """Rolling ground, read every so often."""
        steps, z, rows = self.chance.choice([4, 6, 8]), self.last, []
        rough = self.chance.choice([0.0, 1.0, 3.0, 8.0])
        head = "station [m],drop [mm]" if self.metric else "station [ft],drop [in]"
        for k in range(steps + 1):
            x = length * k / steps
            rows.append(
                f"{x * MM / 1000:.3f},{z * MM:.0f}" if self.metric else f"{x / 12:.3f},{round(z * 8) / 8:g}"
            )
            self.last, z = z, max(6.0, z + self.chance.gauss(0.0, rough))
        return "\n".join([head, *rows, ""])

    def _run(self, k: int) -> list[str]:
        length, lines = self.lengths[k], ["[[run]]", f'name = "r{k}"', f'survey = "s{k}.csv"']
        lines += ['join = "r0"'] if k and self._often(0.6) else []
        lines += self._one("style", 0.2, '"stepped"', '"racked"', '"level"')
        lines += self._long("reading_error", 0.2, 0.125, 0.5)
        lines += self._one("stations_taped", 0.15, '"along the slope"', '"level"')
        if self._often(0.4):
            at = self.chance.choice([0.0, 0.3, 0.5]) * length
            lines += [
                "[[run.gate]]",
                f'station = "{self._some(at)}"',
                f'width = "{self._some(36.0, 42.0, 60.0)}"',
            ]
            lines += self._one("leaves", 0.3, "2")
            lines += self._one("hinge", 0.3, '"start"', '"end"')
            lines += self._one("swing", 0.3, '"left"', '"right"')
            lines += self._one("slope_across", 0.4, '"3 %"', '"-6 %"')
        if self._often(0.25):
            lines += ["[[run.existing_post]]", f'station = "{self._some(0.0, 0.4 * length, length)}"']
            lines += [*self._long("height", 0.5, 60.0, 84.0), *self._one("keep", 0.3, "false")]
        for key in ("root", "no_post", "keep_open", "clearance", "no_soil"):
            if self._often(0.1):
                at = self.chance.uniform(0.1, 0.8) * length
                lines += [f"[[run.{key}]]", f'start = "{self._some(at)}"', f'end = "{self._some(at + 14.0)}"']
                lines += [f'height = "{self._some(4.0)}"'] if key in ("keep_open", "clearance") else []
        return lines

    def job(self) -> str:
        """The text of the job file."""
        units = "metric" if self.metric else "imperial"
        lines = ["[job]", 'title = "Yard"', f'units = "{units}"', *self._one("currency", 0.5, '"$"', '"EUR"')]
        lines += [*self._long("kerf", 0.3, 0.0, 0.125), *self._long("least_offcut", 0.3, 12.0, 30.0)]
        lines += self._one("dig_checked", 0.3, "true")
        for k in range(self.count):
            lines += self._run(k)
        lines += [
            "[top]",
            *self._one("style", 0.8, '"stepped"', '"racked"', '"level"', '"sloped"', '"contour"'),
        ]
        lines += [*self._long("least_height", 0.7, 36.0, 60.0), *self._long("most_height", 0.3, 62.0, 72.0)]
        lines += [
            *self._one("measured", 0.3, '"average"', '"lower side"'),
            *self._one("equal_steps", 0.2, "true"),
        ]
        lines += [*self._long("most_step", 0.2, 6.0, 12.0), *self._one("most_slope", 0.2, '"8 %"')]
        lines += ["[pickets]", *self._one("pattern", 0.4, '"board on board"', '"shadowbox"')]
        lines += [
            *self._one("fit", 0.4, '"rip last"', '"rip both ends"'),
            *self._long("spacing", 0.4, 1.0, 3.0),
        ]
        lines += [
            *self._one("top_end", 0.5, '"flat"', '"pointed"'),
            *self._one("bottom_cut", 0.3, '"scribed"'),
        ]
        lines += [
            *self._one("spare", 0.3, "0.05"),
            *self._one("aim", 0.3, '"middle"'),
            *self._one("most_chance", 0.3, "0.1"),
        ]
        lines += [*self._one("stop_settings", 0.3, '"every length"'), *self._long("most_gap", 0.2, 4.0, 6.0)]
        lines += [
            *self._one("moisture_now", 0.2, '"wet"', '"12 %"'),
            *self._stock("pickets.stock", *self.chance.choice([(48.0, 72.0), (72.0,), (60.0, 72.0, 96.0)])),
        ]
        lines += [
            "[posts]",
            *self._long("spacing", 0.5, 60.0, 72.0),
            *self._long("frost_depth", 0.3, 30.0),
            *self._long("gravel", 0.2, 6.0),
        ]
        lines += [
            *self._long("hole_diameter", 0.3, 12.0),
            *self._one("bag_price", 0.5, "5.6"),
            *self._one("share_tolerance", 0.2, "0"),
        ]
        lines += [
            *self._stock("posts.stock", 96.0, 120.0),
            *(["[[posts.gate_stock]]", f'length = "{self._some(120.0)}"'] if self._often(0.2) else []),
        ]
        lines += [
            "[rails]",
            *self._one("count", 0.5, "2", "3"),
            *self._one("joint", 0.3, '"lapped"'),
            *self._long("bottom_reveal", 0.2, 4.0),
        ]
        lines += self._stock("rails.stock", *self.chance.choice([(96.0,), (96.0, 192.0)]))
        lines += [
            "[soil]",
            *self._one("low_ground", 0.6, '"soil"', '"cheapest"', '"kickboard"'),
            *self._one("price", 0.5, "40"),
        ]
        lines += [
            *self._long("most_depth", 0.5, 9.0),
            *(self._stock("soil.kickboard", 96.0) if self._often(0.3) else []),
        ]
        if self._often(0.5):
            wind = ['wind_speed = "115 mph"', 'wind_speed = "50 m/s"', 'wind_pressure = "12 psf"']
            lines += [
                "[site]",
                self.chance.choice(wind),
                *self._one("soil", 0.7, '"sand"', '"clay"', '"gravel"'),
            ]
            lines += [
                *self._one("paved", 0.3, "true"),
                *self._one("sets_depth", 0.2, "true"),
                *self._one("exposure", 0.3, '"B"', '"D"'),
            ]
        lines += ["[fasteners]", *self._one("box_price", 0.4, "22"), *self._one("hinge_price", 0.4, "9")]
        lines += ["[crew]", *self._one("posts_an_hour", 0.4, "1.5"), *self._one("pickets_an_hour", 0.4, "14")]
        return "\n".join([*lines, ""])


def told(seed: int) -> Iterator[str]:
    """What is told of the plan of one fence, and at times of what is laid again from a board up."""
    drawn = _Drawn(seed)
    yield f"= {seed}"
    text, surveys = drawn.job(), {f"s{k}.csv": drawn.survey(x) for k, x in enumerate(drawn.lengths)}
    try:
        job = job_from(text, surveys)
        plan = plan_fence(job)
    except JobMistakesError as error:
        yield from (f"{p.severity} {p}" for p in error.problems)
        return
    yield from detail_lines(plan)
    yield from summary_lines(plan)
    yield from _sums(plan)
    yield from _asked(plan, drawn)
    if drawn.chance.random() < 0.5:
        yield from _or_mistakes(lambda: _stands(job_from(text, surveys, _built(plan, drawn))))


def _built(plan: FencePlan, drawn: _Drawn) -> str:
    """A record of what stands of the first run, about where it was planned."""
    chance, run = drawn.chance, plan.runs[0]
    lines = ["[[run]]", 'name = "r0"']
    for k in sorted(chance.sample(range(len(run.layout.bays.posts)), chance.choice([0, 1, 2]))):
        at = float(run.layout.bays.posts[k]) + chance.choice([0.5, -0.5, 2.0, -9.0])
        lines += ["[[run.post]]", f"number = {k + 1}", f'station = "{at!r} in"']
        lines += drawn._long("top", 0.3, 50.0, 66.0, 140.0)
    for n in sorted(chance.sample(range(2, len(run.slots) - 1), chance.choice([0, 1, 1, 2]))):
        at = float(run.slots.right[n - 1]) + chance.choice([0.0, 0.5, -0.7])
        lines += ["[[run.picket]]", f"number = {n}", f'far_edge = "{at!r} in"']
        lines += [*drawn._long("kept", 0.3, 60.0), *drawn._one("lean", 0.2, '["1/2 in", "4 ft"]')]
    if chance.random() < 0.4:
        n = len(run.slots) - 1
        drop = float(plan.mark * run.cuts.kept[n - 1]) + chance.choice([2.0, 3.5, -6.0])
        lines += ["[[run.measured]]", f"number = {n}", f'drop = "{drop!r} in"']
    if chance.random() < 0.4:
        lines += ["[[left]]", f'length = "{drawn._some(72.0)}"', f"count = {chance.choice([4, 60])}"]
    return "\n".join([*lines, ""])


def _stands(job: Job) -> Iterator[str]:
    """What is told of the plan of a fence that stands in part."""
    plan = plan_fence(job)
    yield from detail_lines(plan)
    yield from _sums(plan)
    told = LeanTold(
        sizes=dict.fromkeys(("lean", "over", "height", "limit", "spacing", "width")), toward=None, boards=None
    )
    yield from _or_mistakes(lambda: _lean(plan, "r0", None, told))


def _asked(plan: FencePlan, drawn: _Drawn) -> Iterator[str]:
    """What is told of leans of its boards, and of the rest laid again from a board up."""
    chance, count = drawn.chance, len(plan.runs[0].slots)
    for _ in range(4):
        sizes: dict[str, str | None] = {
            "lean": drawn._some(0.1, 0.375, 1.0),
            "over": drawn._some(48.0, 36.0, 100.0),
        }
        limit = chance.choice([None, None, drawn._some(0.125, 0.03)])
        sizes |= {"limit": limit, **dict.fromkeys(("height", "spacing", "width"))}
        toward, boards = chance.choice([Toward.START, *Toward]), chance.choice([None, None, 1, 5])
        after = chance.choice([None, 1, 2, 7, count // 2, count - 3, count, count + 1, 0])
        lean = LeanTold(sizes=sizes, toward=toward, boards=boards)
        run = chance.choice([None, "r0", "r0", "r1"] if len(plan.runs) > 1 else [None, "r0"])
        yield from _or_mistakes(lambda r=run, a=after, t=lean: _lean(plan, r, a, t))  # type: ignore[misc]
    if drawn.chance.random() < 0.4:
        yield from _or_mistakes(lambda: _resumed(plan, drawn))


def _or_mistakes(ask: Callable[[], Iterator[str]]) -> list[str]:
    try:
        return list(ask())
    except JobMistakesError as error:
        return [f"{p.severity} {p}" for p in error.problems]


def _lean(plan: FencePlan, run: str | None, after: int | None, told: LeanTold) -> Iterator[str]:
    found = job_lean(plan, run, after, told)
    yield from _leaning(found.spread, found)


def _resumed(plan: FencePlan, drawn: _Drawn) -> Iterator[str]:
    """A board up where it was planned or not, of the planned width or not, and at times the pile counted."""
    chance, slots = drawn.chance, plan.runs[0].slots
    after = chance.choice([3, 10, len(slots) - 2])
    at = float(slots.right[after - 1]) + chance.choice([0.5, -0.7, 2.0, 9.0])
    texts: dict[str, str | None] = {"at": f"{at!r} in", "width": chance.choice([None, None, "5.25 in"])}
    texts |= {"gap": chance.choice([None, None, "3/8 in"]), "limit": chance.choice([None, "1/16 in"])}
    left = [f"{drawn._some(72.0)}:{chance.choice([3, 40])}"] if chance.random() < 0.4 else []
    resumed = resume_fence(plan.job, read_ask(plan.job, run="r0", after=after, texts=texts, left=left))
    yield from resume_lines(resumed)
    yield built_text(record_to_keep(resumed), plan.units)


def _alone(chance: Random) -> Iterator[str]:
    """A lean that belongs to no job."""
    sizes: dict[str, str | None] = {
        "lean": chance.choice(["3/8 in", "9 mm", "1 in", "0 in", "7 in", "x"]),
        "over": chance.choice(["4 ft", "1.2 m", "1/2 in", "2 ft"]),
        "height": chance.choice([None, "6 ft", "1.5 m", "3 ft", "-1 in"]),
        "limit": chance.choice([None, "1/8 in", "2 mm", "0.0001 in"]),
        "spacing": chance.choice([None, "0 in", "1/4 in", "-1 in", "2 in"]),
        "width": chance.choice([None, "3-1/2 in", "90 mm"]),
    }
    boards, toward = chance.choice([None, None, 0, 3, 1001]), chance.choice([Toward.START, *Toward])
    told = LeanTold(sizes=sizes, toward=toward, boards=boards)
    spread = spread_over_next(read_lean_question(told, chance.choice([*UnitSystem])))
    yield from _leaning(spread)


def _leaning(spread: LeanSpread, where: JobLean | None = None) -> Iterator[str]:
    """The first lines about a lean, and a sum of its record."""
    yield from islice(lean_lines(spread, where), 20)
    record = lean_record(spread, where)
    yield from (f"{p['severity']}: {p['place']}: {p['message']}" for p in record["problems"])
    yield _sum(record)


def _sums(plan: FencePlan) -> Iterator[str]:
    """The problems of the plan's JSON, and a sum of each of its other parts."""
    out = io.StringIO()
    write_plan_json(plan, out)
    tree: dict[str, Any] = json.loads(out.getvalue())
    yield from (f"{p['severity']} {p['place']}: {p['message']}" for p in tree.pop("problems"))
    for run in tree.pop("runs"):
        yield " ".join(f"{key}:{_sum(value)}" for key, value in run.items())
    yield " ".join(f"{key}:{_sum(value)}" for key, value in tree.items())


def _sum(value: Any) -> str:
    return f"{zlib.crc32(json.dumps(value).encode()) & 0xFFFF:04x}"


def all_told() -> str:
    """What is told of all of them; a line told before is cut short."""
    known: set[str] = set()
    lines = []
    leans = (line for k in range(LEANS) for line in _or_mistakes(lambda k=k: _alone(Random(f"lean {k}"))))  # type: ignore[misc]
    for line in (*(line for seed in SEEDS for line in told(seed)), *leans):
        lines.append(f"{line[:24]}..." if line in known and len(line) > 30 else line)
        known.add(line)
    return "\n".join([*lines, ""])


if __name__ == "__main__":
    KEPT.write_text(all_told(), encoding="utf-8")
