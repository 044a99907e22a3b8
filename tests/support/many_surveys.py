"""Surveys of all kinds with slips of all kinds, drawn by chance, and all that is told of their ground.

What is told is kept in `tests/unit/ground/surveys.txt` and made again by `python -m tests.refresh_samples`,
or alone by `python tests/support/many_surveys.py`: a doubt that comes or goes, a word or a figure that
changes is seen there.
"""

from collections.abc import Iterator
from pathlib import Path
from random import Random

import numpy as np
from telling import each_remedy_once, told_line

from fencegrade.ground.report import ground_report
from fencegrade.ground.survey import ground_from_survey
from fencegrade.job.in_memory import job_from
from fencegrade.job.read import Job
from fencegrade.problems import JobMistakesError

KEPT = Path(__file__).parents[1] / "unit" / "ground" / "surveys.txt"
SEEDS = (
    1,
    13,
    14,
    15,
    16,
    17,
    26,
    28,
    56,
    57,
    60,
    63,
    64,
    66,
    68,
    70,
    74,
    77,
    100,
    101,
    102,
    129,
    130,
    135,
    141,
    155,
    159,
    170,
    174,
    184,
    187,
    204,
    208,
    233,
    241,
    248,
    277,
    298,
    307,
    308,
    313,
    326,
    335,
    351,
    354,
    363,
    366,
    373,
    380,
    389,
    412,
    425,
    429,
    434,
    456,
    462,
    471,
    492,
    519,
    523,
    529,
    543,
    555,
    570,
    572,
    583,
    610,
    614,
    626,
    631,
    653,
    691,
    738,
    740,
    741,
    749,
    759,
    804,
    812,
    827,
    830,
    862,
    867,
    874,
    944,
    947,
    954,
    967,
    972,
    976,
    1066,
    1084,
    1094,
    1096,
    1116,
    1128,
    1129,
    1156,
    1176,
    1202,
    1211,
    1219,
    1234,
    1245,
    1262,
    1272,
    1324,
    1333,
    1374,
    1378,
)
"""Of 1400 surveys those that between them are told nearly all that all of them are, most of it some times."""

Row = dict[str, str]
MM = 25.4


class _Drawn:
    """One survey: its rows as texts by column, the keys of its run, and the units of its job."""

    def __init__(self, seed: int) -> None:
        self.chance = Random(f"survey {seed}")
        self.metric = self.chance.random() < 0.5
        self.kind = self.chance.choice(["string", "string", "string", "heights", "book", "points"])
        self.keys: list[str] = []
        self.stations = self._stations()
        self.ground = self._ground()
        self.notes = ["" for _ in self.stations]

    def _often(self, share: float) -> bool:
        return self.chance.random() < share

    def _stations(self) -> list[float]:
        """Stations (in)."""
        step = 1000 / MM if self.metric else 48.0
        count = self.chance.choice([2, 4, 5, 6, 7, 8, 10, 12, 14])
        even = [k * step for k in range(count)]
        if self._often(0.3):
            even += [
                x + step * self.chance.choice([0.25, 0.5]) for x in self.chance.sample(even[:-1], count // 4)
            ]
        if self._often(0.15):
            even[-1] *= self.chance.choice([3.0, 5.0, 10.0])
        if self._often(0.1):
            even[-1] -= step * 0.6
        return sorted(set(even))

    def _ground(self) -> list[float]:
        """Ground (in) under the stations."""
        rough = self.chance.choice([0.0, 0.005, 0.01, 0.02, 0.05])
        grade = self.chance.choice([0.0, 0.0, 0.0, 0.03, -0.08, 0.2])
        z, at, found = 0.0, self.stations[0], []
        for x in self.stations:
            z += (x - at) * (grade + self.chance.gauss(0.0, rough))
            at = x
            found.append(z)
        return found

    def _length(self, inches: float) -> str:
        return f"{round(inches * MM)}" if self.metric else f"{round(inches * 8) / 8:g}"

    def _along(self, inches: float) -> str:
        return f"{inches * MM / 1000:.3f}" if self.metric else f"{inches / 12:.2f}"

    def _said(self, inches: float) -> str:
        return f"{round(inches * MM)} mm" if self.metric else f"{round(inches * 16) / 16:g} in"

    def _slipped(self, figures: list[float]) -> list[float]:
        """The figures (in) with a slip or several of the hand."""
        n, chance = len(figures), self.chance
        at = chance.randrange(n)
        foot = 100 / MM if self.metric else 12.0
        by = chance.choice([foot, -foot, foot, -foot, 10 * foot, 8.0, 1.0])
        kind = chance.choice(
            ["", "", "one", "one", "shared", "shared", "scaled", "swapped", "all", "all", "many"]
        )
        if kind == "one":
            figures[at] += by
        elif kind == "shared":
            for k in range(at, chance.choice([n, min(n, at + 2), min(n, at + 3)])):
                figures[k] += by
        elif kind == "scaled":
            figures[at] *= chance.choice([12, 1 / 12, 10, 0.1, 2.54, 1 / 2.54, 100, 25.4])
        elif kind == "swapped":
            unit = 1 / MM if self.metric else 1.0
            figures[at] = float(f"{abs(figures[at]) / unit:.0f}"[::-1]) * unit
        elif kind == "all":
            scale = chance.choice([12, 1 / 12, 2.54, 1 / 2.54, 25.4, 1 / 25.4])
            figures = [f * scale for f in figures]
        elif kind == "many":
            for k in chance.sample(range(n), min(n, 3)):
                figures[k] *= chance.choice([10, 0.1])
        if self._often(0.15):
            self.notes[at] = chance.choice(["confirmed", "break", "crest"])
        return figures

    def rows(self) -> list[Row]:
        """The rows of the survey."""
        if self.kind == "points":
            return self._points()
        if self.kind == "book":
            return self._book()
        return self._string() if self.kind == "string" else self._heights()

    def _run(self) -> None:
        """Keys of the run that any survey may have."""
        end = self.stations[-1]
        if self._often(0.15):
            self.keys.append(f'start = "{self._said(self.chance.choice([end * 0.2, end * 0.5, -24.0]))}"')
        if self._often(0.15):
            self.keys.append(
                f'end = "{self._said(self.chance.choice([end * 0.7, end + 0.1, end + 40, end * 0.1]))}"'
            )
        if self._often(0.15):
            self.keys.append(f'reading_error = "{self._said(self.chance.choice([0.125, 0.5]))}"')
        for key in ("read_at_breaks", "tops_levelled", "confirmed"):
            if self._often(0.1):
                self.keys.append(f"{key} = true")
        if self.kind != "points" and self._often(0.3):
            self.keys.append(f'stations_taped = "{self.chance.choice(["level", "along the slope"])}"')

    def _heights(self) -> list[Row]:
        unit, base = ("mm", 500.0) if self.metric else ("in", self.chance.choice([0.0, 100.0]))
        figures = self._slipped([base + z for z in self.ground])
        self._run()
        rows = [
            {self._station: self._along(x), f"elevation [{unit}]": self._length(f), "note": n}
            for x, f, n in zip(self.stations, figures, self.notes, strict=True)
        ]
        return self._faces(rows, f"elevation [{unit}]")

    @property
    def _station(self) -> str:
        return "station [m]" if self.metric else "station [ft]"

    def _faces(self, rows: list[Row], column: str) -> list[Row]:
        """Some rows twice: at a face, or read again."""
        if not self._often(0.4) or len(rows) < 3:
            return [{**row, "side": ""} for row in rows]
        at = self.chance.randrange(1, len(rows) - 1)
        size = self.chance.choice([0.25, 0.5, 0.75, 3.0, 20.0])
        sides = self.chance.choice(
            [("before", "after"), ("before", "after"), ("", ""), ("after", "before"), ("before", "")]
        )
        moved = float(rows[at][column]) + size * (MM if self.metric else 1)
        again = {**rows[at], column: f"{moved:.4g}" if not self.metric else f"{moved:.0f}"}
        rows = [*rows[: at + 1], again, *rows[at + 1 :]]
        return [{**row, "side": sides[k - at] if k in (at, at + 1) else ""} for k, row in enumerate(rows)]

    def _string(self) -> list[Row]:
        unit = "mm" if self.metric else "in"
        top = max(self.ground) + self.chance.choice([0.0, 4.0, 12.0, 24.0, 40.0])
        figures = self._slipped([top - z for z in self.ground])
        self._run()
        rows = [
            {self._station: self._along(x), f"drop [{unit}]": self._length(f), "note": n}
            for x, f, n in zip(self.stations, figures, self.notes, strict=True)
        ]
        rows = self._faces(rows, f"drop [{unit}]")
        if self._often(0.35) and len(rows) > 3:
            return self._two_strings(rows, f"drop [{unit}]")
        if self._often(0.4):
            self._how_hung("")
        if self._often(0.2):
            known = [str(self.chance.choice([0, 100, 3000]))] + [""] * (len(rows) - 1)
            if self._often(0.7):
                drops = [float(row[f"drop [{unit}]"]) for row in rows]
                off = self.chance.choice([0.0, 0.125, 0.5, 6.0]) * (MM if self.metric else 1)
                known[-1] = f"{float(known[0]) + drops[0] - drops[-1] + off:g}"
            rows = [{**row, f"known [{unit}]": k} for row, k in zip(rows, known, strict=True)]
        return rows

    def _how_hung(self, name: str, start: str = "", end: str = "") -> None:
        chance = self.chance
        lines = ["[[run.string]]", *([f'id = "{name}"'] if name else [])]
        lines += [f'start = "{start}"'] if start else []
        lines += [f'end = "{end}"'] if end else []
        how = chance.choice(["", "sag", "pull", "pull", "level"])
        if how == "sag":
            lines.append(f'sag = "{self._said(chance.choice([0, 0.25, 1.0, 6.0]))}"')
        elif how:
            pull = chance.choice(["10 lbf", "45 N", "12 N", "45 kgf", "5 lbf"])
            lines += ['weight = "1.4 g/m"', f'pull = "{pull}"']
            lines += ['line_level = "15 g"'] if how == "level" else []
        if self._often(0.2):
            lines.append(f'fall = "{self._said(chance.choice([6.0, -3.0]))}"')
        if self._often(0.2):
            lines.append(f'height = "{self._said(chance.choice([0.0, 30.0]))}"')
        self.keys.append("\n".join(lines))

    def _two_strings(self, rows: list[Row], drop: str) -> list[Row]:
        chance, cut = self.chance, len(rows) // 2
        for row in rows:
            row["string"] = "A"
        shift = chance.choice([0.0, 3.0, -5.0]) * (MM if self.metric else 1)
        off = chance.choice([0.0, 0.0, 0.125, 0.5]) * (MM if self.metric else 1)
        for row in rows[cut:]:
            row["string"] = "B"
            row[drop] = f"{float(row[drop]) + shift:g}"
        shared = [
            {**row, "string": "A", drop: f"{float(row[drop]) - shift + off * k:g}", "side": ""}
            for k, row in enumerate(rows[cut : cut + chance.choice([0, 1, 1, 2, 2])], 1)
        ]
        middle, unit = self._along(self.stations[0]), "m" if self.metric else "ft"
        if self._often(0.7):
            last = rows[-1][self._station]
            stop = shared[-1][self._station] if shared else rows[cut][self._station]
            self._how_hung("A", f"{middle} {unit}", f"{stop} {unit}")
            self._how_hung("B", f"{rows[cut][self._station]} {unit}", f"{last} {unit}")
        return [*rows[:cut], *shared, *rows[cut:]]

    def _book(self) -> list[Row]:
        chance = self.chance
        unit, scale, places = ("m", MM / 1000, 3) if self.metric else ("ft", 1 / 12, 2)
        names = [f"{n} [{unit}]" for n in ("backsight", "intermediate", "foresight", "known")]
        back, between, fore, known = names
        datum, eye = 100.0 / scale, max(self.ground) + 40.0
        sights = self._slipped([eye - z for z in self.ground])
        self._run()
        blank = dict.fromkeys(names, "")
        bench = chance.choice([True, False])
        first = {self._station: "" if bench else self._along(self.stations[0]), **blank, "note": ""}
        first[back] = f"{sights[0] * scale:.{places}f}"
        first[known] = f"{datum * scale:.{places}f}" if self._often(0.8) else ""
        rows, turn = [first], chance.randrange(1, len(sights)) if self._often(0.7) else 0
        lift = chance.choice([5.0, -8.0])
        for k in range(0 if bench else 1, len(sights)):
            row = {self._station: self._along(self.stations[k]), **blank, "note": self.notes[k]}
            row[fore if k == turn and turn else between] = (
                f"{(sights[k] + lift * (0 < turn < k)) * scale:.{places}f}"
            )
            if k == turn and turn:
                row[back] = f"{(sights[k] + lift) * scale:.{places}f}"
            rows.append(row)
        if self._often(0.7):
            off = chance.choice([0.0, 0.05, 0.2, 1.0, 12.0])
            last = {self._station: "", **blank, "note": "bench"}
            last[fore] = f"{(sights[0] + lift * bool(turn) + off) * scale:.{places}f}"
            last[known] = first[known]
            rows.append(last)
        if self._often(0.15):
            self.keys.append(f'most_misclosure = "{self._said(chance.choice([0.1, 2.0]))}"')
        return rows

    def _points(self) -> list[Row]:
        chance = self.chance
        unit, scale = ("m", MM / 1000) if self.metric else ("ft", 1 / 12)
        turn = chance.choice([0.0, 0.6])
        figures = self._slipped([1000 + z for z in self.ground])
        self._run()
        rows = []
        for x, z, note in zip(self.stations, figures, self.notes, strict=True):
            off = chance.choice([0.0, 0.5, -1.0, 1.0] + [30.0] * self._often(0.1))
            at = (x * np.cos(turn) - off * np.sin(turn), x * np.sin(turn) + off * np.cos(turn))
            rows.append(
                {
                    f"x [{unit}]": f"{at[0] * scale:.3f}",
                    f"y [{unit}]": f"{at[1] * scale:.3f}",
                    f"z [{unit}]": f"{z * scale:.3f}",
                    "note": note,
                }
            )
        if self._often(0.2):
            rows.insert(1, {**rows[0], f"z [{unit}]": f"{float(rows[0][f'z [{unit}]']) + 0.05:.3f}"})
        if self._often(0.5):
            far = self.stations[-1] * chance.choice([1.0, 0.5])
            ends = [(0.0, 0.0), (far * np.cos(turn), far * np.sin(turn))]
            texts = [", ".join(f'"{c * scale:.4f} {unit}"' for c in end) for end in ends]
            self.keys += [f"from_xy = [{texts[0]}]", f"to_xy = [{texts[1]}]"]
        if self._often(0.1):
            self.keys.append(f'most_offset = "{self._said(0.75)}"')
        return rows


def survey(seed: int) -> tuple[str, str]:
    """The text of a job of one run, and that of its survey."""
    drawn = _Drawn(seed)
    rows = drawn.rows()
    columns = list(dict.fromkeys(c for row in rows for c in row))
    columns = [c for c in columns if "[" in c or any(row.get(c) for row in rows)]
    text = "\n".join([",".join(columns), *(",".join(row.get(c, "") for c in columns) for row in rows), ""])
    units = "metric" if drawn.metric else "imperial"
    stock = "1.8 m" if drawn.metric else "6 ft"
    tables = sorted(drawn.keys, key=lambda k: k.startswith("[["))
    job = ['[job]\ntitle = "x"', f'units = "{units}"', '[[run]]\nname = "side"\nsurvey = "s.csv"', *tables]
    return "\n".join([*job, f'[[pickets.stock]]\nlength = "{stock}"', ""]), text


def told(seed: int) -> Iterator[str]:
    """What is told of one survey: problems, readings as reduced, and the figures of its report."""
    yield f"= {seed}"
    job, text = survey(seed)
    try:
        made = job_from(job, {"s.csv": text})
    except JobMistakesError as error:
        yield from map(told_line, error.problems)
        return
    yield from _of_job(made)


def _of_job(job: Job) -> Iterator[str]:
    ground, problems = ground_from_survey(job.runs[0], job.surveys[0], job.units, job.tape, job.run_places[0])
    if ground is None:
        yield from map(told_line, problems)
        return
    report = ground_report(ground, job.units, job.tape)
    yield from map(told_line, report.problems)
    yield " ".join(f"{x:.1f}:{z:.2f}" for x, z in zip(ground.stations, ground.elevations, strict=True))
    closed = [figure for c in ground.reduction.closures for figure in (c.setups, c.misclosure, c.allowed)]
    hung = [figure for c in ground.strings for figure in (c.start, c.end, c.rise, c.sag, c.common_sag)]
    own = (ground.start, ground.end, ground.reading_error, len(ground.slips), *closed, *hung)
    relief = [getattr(report.relief, name) for name in report.relief.__struct_fields__]
    figures = (*own, *relief, report.within, report.worst, report.worst_at, report.advice.chance.sum())
    yield " ".join(f"{f + 0.0:.3g}" for f in figures)


def all_told() -> str:
    """What is told of all of them; what to do where it is told first."""
    return each_remedy_once(line for seed in SEEDS for line in told(seed))


if __name__ == "__main__":
    KEPT.write_text(all_told(), encoding="utf-8")
