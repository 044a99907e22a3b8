"""Job files, surveys, records and cut lists gone wrong by chance, and the mistakes told of each.

What is told is kept in `tests/unit/job/wrong.txt` and made again by `python -m tests.refresh_samples`, or
alone by `python tests/support/many_wrongs.py`.
"""

import re
import tempfile
import zlib
from collections.abc import Iterator
from pathlib import Path
from random import Random

from msgspec.structs import replace
from odd_jobs import LANE, LISTS, SHORT, STANDS, YARD
from telling import each_remedy_once, told_line

from fencegrade.job.as_built import built_text
from fencegrade.job.cut_list import read_cut_list
from fencegrade.job.in_memory import job_from
from fencegrade.job.records import JobFile
from fencegrade.job.write import job_text
from fencegrade.problems import JobMistakesError, Problem

TABLES = ("top", "pickets", "posts", "rails", "soil", "site", "fasteners", "crew")
KEPT = Path(__file__).parents[1] / "unit" / "job" / "wrong.txt"
SEEDS = (
    6,
    11,
    12,
    15,
    17,
    18,
    20,
    23,
    25,
    26,
    34,
    38,
    39,
    40,
    43,
    45,
    48,
    49,
    54,
    62,
    68,
    73,
    81,
    83,
    89,
    91,
    95,
    98,
    105,
    106,
    107,
    109,
    115,
    118,
    119,
    124,
    125,
    126,
    127,
    130,
    136,
    145,
    149,
    150,
    153,
    155,
    160,
    165,
    167,
    170,
    171,
    175,
    179,
    191,
    194,
    198,
    203,
    204,
    213,
    221,
    225,
    226,
    247,
    251,
    254,
    255,
    262,
    272,
    281,
    285,
    294,
    347,
    357,
    358,
    372,
    399,
    425,
    427,
    428,
    455,
    481,
    523,
    524,
    529,
    541,
    547,
    610,
    621,
    627,
    654,
    676,
    705,
    732,
    751,
    757,
    765,
    797,
    798,
    810,
    832,
    871,
    888,
    929,
    945,
    966,
    985,
    996,
    1038,
    1040,
    1070,
    1076,
    1077,
    1080,
    1098,
    1103,
    1136,
    1144,
    1173,
    1176,
    1190,
    1208,
    1307,
    1347,
    1358,
    1366,
    1375,
    1475,
    1484,
    1503,
    1558,
    1567,
    1579,
    1597,
    1606,
    1626,
    1629,
    1679,
    1681,
    1702,
    1710,
    1727,
    1738,
    1765,
    1768,
    1807,
    1811,
    1856,
    1863,
    1872,
    1895,
    1903,
    1937,
    1954,
    2018,
    2021,
    2048,
    2061,
    2149,
    2153,
    2172,
    2194,
    2196,
    2250,
    2253,
    2262,
    2341,
    2402,
    2422,
    2441,
    2457,
)
"""Of 2500 texts those that between them are told nearly all that all of them are."""

JUNK = (
    "12",
    "-3",
    "0",
    "true",
    '""',
    '"3"',
    '"-2 in"',
    '"0 in"',
    '"5 furlongs"',
    '"1/0 in"',
    "[]",
    '["1 ft"]',
    "[[1]]",
    '"200 mi"',
    "1e99",
    "nan",
    '"6\' 2"',
    '"12 mm"',
    '"900 ft"',
    '"1 m 3"',
    '"50 %"',
    '"2:1"',
    '"level"',
    "1979-05-27",
    '"a\\nb"',
    '"9 lb"',
    '"3,5 in"',
    '"1-1/2"',
    '"level "',
    '"30 deg"',
    '"1 kg"',
    '"0.0001 in"',
    '"80 psf"',
    "0.35",
)
CELLS = (
    "",
    "x",
    "-4",
    "1e9",
    "4 ft",
    "4'",
    "12,5",
    "#REF!",
    '"4',
    "0",
    "before",
    "after",
    "1 1/2",
    "12 mm",
    "=A1",
    "4..5",
    "999999",
)
HEADS = (
    "statoin [ft]",
    "station",
    "drop [furlong]",
    "drop",
    "note",
    "z [m]",
    "elevation [in]",
    "side",
    "[in]",
    "station [ft]",
    "x [m]",
    "12",
)


class _Drawn:
    """A text of one kind with some slips in it."""

    def __init__(self, seed: int) -> None:
        self.chance = Random(f"wrong {seed}")
        self.kind = self.chance.choice(["job", "job", "job", "survey", "survey", "built", "list", "list"])

    def job(self) -> tuple[str, dict[str, str], str | None]:
        """A job, its surveys and its record."""
        files = self.chance.choice([YARD, LANE, SHORT, STANDS])
        surveys = {name: text for name, text in files.items() if name.endswith(".csv")}
        text, built = files["job.toml"], files.get("built.toml")
        if self.kind == "job":
            text = self._toml(text)
        elif self.kind == "built":
            text, built = STANDS["job.toml"], self._toml(STANDS["built.toml"])
            surveys = {"south.csv": STANDS["south.csv"]}
        else:
            name = self.chance.choice(sorted(surveys))
            surveys[name] = self._csv(surveys[name])
        return text, surveys, built

    def _toml(self, text: str) -> str:
        lines = text.strip().split("\n")
        for _ in range(self.chance.randint(1, 4)):
            at = self.chance.randrange(len(lines))
            key, _, value = lines[at].partition(" = ")
            match self.chance.choice(
                ["junk", "junk", "junk", "junk", "key", "swap", "gone", "twice", "number"]
            ):
                case "junk" if value:
                    lines[at] = f"{key} = {self.chance.choice(JUNK)}"
                case "number" if value:
                    lines[at] = f"{key} = " + re.sub(r"\d+", lambda m: f"{int(m[0]) * 40}", value, count=1)
                case "key":
                    k = self.chance.randrange(1, max(2, len(key)))
                    lines[at] = (
                        lines[at][: k - 1] + lines[at][k : k + 1] + lines[at][k - 1 : k] + lines[at][k + 1 :]
                    )
                case "swap":
                    other = self.chance.randrange(len(lines))
                    lines[at], lines[other] = lines[other], lines[at]
                case "gone":
                    del lines[at]
                case "twice":
                    lines.insert(at, lines[at])
        return "\n".join(lines)

    def _csv(self, text: str) -> str:
        rows = [line.split(",") for line in text.strip().split("\n")]
        for _ in range(self.chance.randint(1, 4)):
            row = self.chance.choice(rows)
            match self.chance.choice(
                ["cell", "cell", "cell", "head", "short", "long", "swap", "empty", "blank", "again"]
            ):
                case "cell":
                    row[self.chance.randrange(len(row))] = self.chance.choice(CELLS)
                case "head":
                    rows[0][self.chance.randrange(len(rows[0]))] = self.chance.choice(HEADS)
                case "short":
                    del row[-1:]
                case "long":
                    row.append(self.chance.choice(CELLS))
                case "swap":
                    self.chance.shuffle(rows[0])
                case "empty":
                    row[:] = [""] * len(row)
                case "blank":
                    rows.insert(1, ["# by hand"])
                case "again":
                    rows.append(list(rows[0]))
        between = self.chance.choice([",", ",", ",", ";", "\t"])
        return "\n".join(between.join(row) for row in rows) + "\n"

    def cut_list(self) -> tuple[str, str]:
        """Name and text of a cut list."""
        if self.chance.random() < 0.5:
            text = LISTS["planter.json"]
            for _ in range(self.chance.randint(1, 3)):
                values = list(re.finditer(r'(?<=: )("[^"]*"|[\d.]+)|"\w+"(?=:)', text))
                one = self.chance.choice(values)
                new = self.chance.choice(JUNK).replace("nan", "null").replace("1979-05-27", "{}")
                text = text[: one.start()] + new + text[one.end() :]
            return "list.json", text
        rows = ["what,length [in],count,name,price,on_hand,limit", "stock,96,,,7.2,2,", "stock,120,,,9.4,,40"]
        rows += ["piece,31.5,12,side,,,", "piece,15 3/4,7,,,,", "kerf,1/8,,,,,"]
        return "list.csv", self._csv("\n".join(rows))


def told(seed: int) -> Iterator[str]:
    """The mistakes of one, or what is read of it where there are none."""
    drawn = _Drawn(seed)
    yield f"= {seed} {drawn.kind}"
    try:
        if drawn.kind == "list":
            yield from _of_list(*drawn.cut_list())
        else:
            yield from _of_job(*drawn.job())
    except JobMistakesError as error:
        yield from map(_line, error.problems)


def _of_job(text: str, surveys: dict[str, str], built: str | None) -> Iterator[str]:
    job = job_from(text, surveys, built)
    yield from map(_line, job.notes)
    tables = {name: getattr(job, name) for name in TABLES}
    written = job_text(JobFile(job=job.job, run=job.runs, **tables), [d.key for d in job.assumed])
    yield from written.strip().split("\n")
    texts = (repr((job.runs, job.surveys, tables)), built_text(job.built, job.units))
    yield " ".join(f"{zlib.crc32(part.encode()):08x}" for part in texts)


def _of_list(name: str, text: str) -> Iterator[str]:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / name
        path.write_text(text, encoding="utf-8")
        try:
            listed = read_cut_list(path)
        except JobMistakesError as error:
            for problem in error.problems:
                yield _line(problem).replace(folder, "")
            return
    yield repr([getattr(listed, name) for name in listed.__slots__ if name != "place"])


def _line(problem: Problem) -> str:
    """A problem in one line, without what libraries say, which is their own."""
    return told_line(replace(problem, found=re.sub(r"(is not valid \w+): .*", r"\1", problem.found)))


def all_told() -> str:
    """The mistakes of all of them; what to do where it is told first."""
    return each_remedy_once(line for seed in SEEDS for line in told(seed))


if __name__ == "__main__":
    KEPT.write_text(all_told(), encoding="utf-8")
