"""Odd jobs that between them use what few fences have, and all that the commands tell of them.

What is told is kept in `tests/commands/told` and made again by `python -m tests.refresh_samples`: a word, a
figure or a line that changes is seen, and to be read, wherever it is told.
"""

import contextlib
import io
import os
import re
import sys
from collections.abc import Iterator, Sequence
from functools import lru_cache
from pathlib import Path
from typing import Any
from unittest import mock
from xml.etree import ElementTree

from dialogs import DIALOGS, TYPED
from fingerprints import fingerprint
from leaning import leaning
from seldom_jobs import FEW, SELDOM
from stories import stories
from wrong_jobs import WRONG, Case

KEPT = Path(__file__).parents[1] / "commands" / "told"

YARD = {
    "job.toml": """
[job]
title = "Yard by the pond"
units = "imperial"
currency = "$"
paper = "A4"
kerf = "1/8 ft"
[[run]]
name = "pond side"
survey = "pond.csv"
reading_error = "3/8 in"
[[run.string]]
weight = "1.4 g/m"
pull = "10 lbf"
line_level = "15 g"
[[run.gate]]
station = "9 ft"
width = "7 ft"
leaves = 2
slope_across = "3 %"
[[run.gate]]
station = "30 ft"
width = "42 in"
hinge = "end"
swing = "left"
swing_rise = ["1 in", "1-1/2 in", "2 in"]
[[run.existing_post]]
station = "24 ft"
height = "6 ft"
[[run.existing_post]]
station = "40 ft"
keep = false
[[run.root]]
start = "19 ft"
end = "21 ft"
[[run.keep_open]]
start = "44 ft"
end = "46 ft"
height = "4 in"
[[run.clearance]]
start = "0 ft"
end = "6 ft"
height = "8 in"
[top]
most_height = "6 ft 6 in"
measured = "lower side"
[pickets]
pattern = "board on board"
top_end = "pointed"
fit = "rip both ends"
moisture_now = "wet"
moisture_service = "12 %"
spare = 0.05
widths = ["5-9/16 in", "5-5/8 in", "5-1/2 in", "5-9/16 in", "5-9/16 in", "5-5/8 in", "5-5/8 in", "5-1/2 in",
  "5-9/16 in", "5-5/8 in"]
[[pickets.stock]]
length = "6 ft"
price = 4.10
on_hand = 12
[[pickets.stock]]
length = "8 ft"
price = 6.85
[posts]
gate_width = "5-1/2 in"
frost_depth = "30 in"
bag_price = 5.60
[[posts.stock]]
length = "8 ft"
price = 11.2
[[posts.stock]]
length = "10 ft"
price = 14.6
[[posts.gate_stock]]
length = "10 ft"
price = 31
[rails]
count = 3
[[rails.stock]]
length = "8 ft"
price = 5.2
[[rails.stock]]
length = "16 ft"
price = 10.9
[soil]
low_ground = "cheapest"
price = 38
most_depth = "9 in"
[[soil.kickboard]]
length = "8 ft"
price = 9.8
[site]
wind_speed = "115 mph"
soil = "sand"
[fasteners]
box_price = 22
framing_box_price = 31
hinge_price = 9
[crew]
posts_an_hour = 1.5
pickets_an_hour = 14
payload = "1200 lb"
""",
    "pond.csv": "station [ft],drop [in],note\n0,20,\n4,21,\n8,23,crest\n12,24.5,\n16,27,\n20,24,\n"
    "24,28,\n28,33,break\n32,36,\n36,35,\n40,31,\n44,41,ditch\n48,38,\n52,30,\n",
}
LANE = {
    "job.toml": """
[job]
title = "Lane with a wall"
units = "metric"
currency = "EUR"
[[run]]
name = "lane"
survey = "book.csv"
most_misclosure = "30 mm"
style = "stepped"
[[run]]
name = "return"
survey = "corner.csv"
join = "lane"
from_xy = ["0 m", "0 m"]
to_xy = ["9 m", "0 m"]
style = "racked"
[[run.gate]]
station = "3 m"
width = "1 m"
[top]
least_height = "1.2 m"
most_step = "300 mm"
most_slope = "12 %"
[pickets]
bottom_cut = "scribed"
top_end = "flat"
width = "90 mm"
spacing = "10 mm"
pattern = "shadowbox"
stop_settings = "every length"
most_gap = "60 mm"
clearance = "40 mm"
aim = "middle"
[[pickets.stock]]
length = "1.5 m"
[[pickets.stock]]
length = "1.8 m"
[rails]
joint = "lapped"
[soil]
low_ground = "kickboard"
[[soil.kickboard]]
length = "2.4 m"
[site]
wind_pressure = "0.6 kPa"
paved = true
""",
    "book.csv": "station [m],backsight [m],intermediate [m],foresight [m],known [m],side,note\n"
    ",1.204,,,100,,bench\n0,,1.310,,,,\n2,,1.372,,,,\n4,,1.455,,,before,\n4,,1.905,,,after,wall\n"
    "6,1.120,,1.960,,,\n8,,1.004,,,,\n10,,0.956,,,,\n,,,0.900,99.470,,bench\n",
    "corner.csv": "x [m],y [m],z [m]\n0,0,99.41\n1.5,0.02,99.52\n3,-0.01,99.50\n4.5,0,99.38\n6,0.03,99.31\n"
    "7.5,0,99.44\n9,0.01,99.60\n",
}
STANDS = {
    "job.toml": """
[job]
title = "Half a fence"
units = "imperial"
currency = "$"
[[run]]
name = "south"
survey = "south.csv"
[[run.string]]
id = "A"
start = "0 ft"
end = "24 ft"
height = "0 in"
[[run.string]]
id = "B"
start = "20 ft"
end = "48 ft"
sag = "3/8 in"
[top]
style = "contour"
least_height = "4 ft"
[pickets]
width = "3-1/2 in"
spacing = "1-3/4 in"
most_chance = 0.1
[[pickets.stock]]
length = "4 ft"
price = 2.1
[[pickets.stock]]
length = "5 ft"
price = 3.4
""",
    "south.csv": "station [ft],drop [in],string,note\n0,20,A,\n4,20.5,A,\n8,22,A,\n12,25,A,\n16,25.5,A,\n"
    "20,24,A,\n20,26.25,B,\n24,25,B,\n28,37,B,\n32,24.5,B,\n36,26,B,\n40,28.5,B,\n44,29,B,\n48,27,B,\n",
    "built.toml": """
[[run]]
name = "south"
[[run.picket]]
number = 20
far_edge = "8 ft 8 in"
kept = "48 in"
[[run.picket]]
number = 34
far_edge = "14 ft 10-1/2 in"
[[run.post]]
number = 2
station = "7 ft 11 in"
[[left]]
length = "4 ft"
count = 40
""",
}
SHORT = {
    "job.toml": """
[job]
title = "Short side"
units = "imperial"
[[run]]
name = "front"
survey = "front.csv"
[[run]]
name = "opening"
survey = "opening.csv"
join = "front"
[[run.string]]
height = "1 in"
[[run.gate]]
station = "1-3/4 in"
width = "36-1/2 in"
[top]
least_height = "3 ft"
most_height = "3 ft 9 in"
measured = "average"
[pickets]
spare = 0.1
top_end = "flat"
[[pickets.stock]]
length = "8 ft"
price = 7
[posts]
spacing = "6 ft 7 in"
[[posts.stock]]
length = "8 ft"
price = 14
[rails]
bottom_reveal = "4 in"
[[rails.stock]]
length = "8 ft"
price = 6.9
[[rails.stock]]
length = "10 ft"
price = 9.1
[[rails.stock]]
length = "12 ft"
price = 10
[soil]
low_ground = "cheapest"
price = 30
bag = "1 cu ft"
""",
    "front.csv": "station [ft],drop [in]\n0,20\n4,20.5\n6,21\n8,24\n10,21\n14,20\n18,23\n20,26\n",
    "opening.csv": "station [ft],drop [in]\n0,27\n1.5,27.5\n3.3333333333,28\n",
}
PIECES = """{"kerf": "1/8 in", "stock": [{"length": "96 in", "price": 7.2, "on_hand": 2},
 {"length": "120 in", "price": 9.4, "limit": 40}],
 "pieces": [{"length": "31-1/2 in", "count": 12, "name": "side"}, {"length": "15 3/4 in", "count": 7}]}"""
LISTS = {"planter.json": PIECES, "too_long.json": PIECES.replace("31-1/2 in", "130 in")}
JOBS = {"yard": YARD, "lane": LANE, "stands": STANDS, "short": SHORT, "lists": LISTS}
TOLD = {
    "yard": [
        ["plan", ".", "--details"],
        ["check", "."],
        ["compare", "."],
        ["heights", "."],
        ["resume", ".", "--after", "7", "--at", "3 ft 8-1/2 in", "--width", "5-5/8 in"],
        ["plumb", "--job", ".", "--after", "5", *leaning("3/8 in", toward="end")],
    ],
    "lane": [["plan", ".", "--details"], ["check", "."], ["compare", "."]],
    "short": [["plan", ".", "--details"], ["compare", "."], ["heights", ".", "--details"]],
    "stands": [["plan", ".", "--details"], ["check", "."], ["resume", "."]],
    "lists": [
        ["boards", "planter.json"],
        ["boards", "too_long.json"],
        ["plumb", *leaning("5/8 in"), "--height", "6 ft", "--boards", "3"],
        ["plumb", *leaning("9 mm", "1.2 m"), "--height", "1.5 m", "--limit", "2 mm", "--json"],
    ],
}
SHEETS = {
    "yard_sheets": ["plan", "yard", "--layout-strips"],
    "lane_sheets": ["plan", "lane", "--layout-strips"],
    "short_sheets": ["plan", "short"],
    "stands_ground": ["check", "stands"],
    "lane_ground": ["check", "lane"],
}
CASES = {**WRONG, "seldom": SELDOM, "few": FEW}
NAMES = ("help", "dialogs", *CASES, *TOLD, *SHEETS)
"""What is told, each in a file of that name."""
TOLD_AS = (".csv", ".html", ".pdf", ".svg", ".txt")
DRAWN = "drawn.txt"
"""Where things are drawn on the sheets: a pin, for the libraries that drew it alone."""


def told(name: str, folder: Path) -> dict[str, str]:
    """What the commands, or the sheets, tell of an odd job, by the names of the kept files.

    The job is written under `folder`.
    """
    if name == "help":
        return {"help.txt": "\n".join(_help())}
    if name == "dialogs":
        return {"dialogs.txt": "\n".join(_cases(DIALOGS, folder / name))}
    if name in CASES:
        return {f"{name}.txt": "\n".join(_cases(CASES[name], folder / name))}
    if name in TOLD:
        with contextlib.chdir(_written(name, folder)):
            parts = [f"$ fencegrade {' '.join(words)}\n{answer(words)}" for words in TOLD[name]]
        return {f"{name}.txt": "\n".join(parts)}
    command, job, *options = SHEETS[name]
    out = folder / name
    with stories() as story:
        answer([command, str(_written(job, folder)), "--out", str(out), *options])
    written = [(p.name, p.read_bytes()) for p in sorted(out.iterdir()) if not p.name.startswith(".")]
    told = [f"= {file}\n{_shown(file, data)}" for file, data in written if file.endswith(TOLD_AS)]
    drawn = ["\n".join([f"= {file}", *kinds]) for file, data in written if (kinds := fingerprint(file, data))]
    return {f"{name}.txt": "\n".join(told), f"{name}_{DRAWN}": "\n".join([*drawn, *story, ""])}


def _written(name: str, folder: Path) -> Path:
    """The folder of an odd job, written."""
    job = folder / name
    job.mkdir(parents=True, exist_ok=True)
    for file, text in JOBS[name].items():
        (job / file).write_text(text, encoding="utf-8")
    return job


def _cases(cases: dict[str, Case], folder: Path) -> Iterator[str]:
    seen: set[str] = set()
    for k, (case, (words, files)) in enumerate(cases.items()):
        job = folder / f"{k}" / "side"
        job.mkdir(parents=True)
        for file, text in files.items():
            if file != TYPED:
                (job / file).parent.mkdir(exist_ok=True)
                (job / file).write_text(text, encoding="utf-8")
                os.utime(job / file, (1_800_000_000, 1_800_000_000))
        with contextlib.chdir(job):
            yield f"= {case}\n$ fencegrade {' '.join(words)}\n{answer(words, files.get(TYPED))}"
        if cases is DIALOGS:
            for path in [p for p in sorted(job.rglob("*")) if p.suffix in {".csv", ".html", ".pdf", ".toml"}]:
                text = _said(path.name, path.read_bytes())
                yield f"- {path.relative_to(job).as_posix()}\n{'as above' if text in seen else text}"
                seen.add(text)


def _help() -> Iterator[str]:
    """What the commands say of themselves, whatever library lays it out."""
    from typer.main import get_command

    from fencegrade.cli.main import app

    root: Any = get_command(app)
    for name, command in [("fencegrade", root), *root.commands.items()]:
        yield f"{name}: {command.short_help or ''}\n{command.help}"
        for option in (o for o in command.params if "completion" not in o.opts[0]):
            often = "may be repeated, " * bool(option.multiple) + "needed, " * bool(option.required)
            usual = f"else {option.default}, " if option.default else ""
            yield f"  {' '.join(option.opts)} {option.metavar or '-'}: {often}{usual}{option.help}"


class _Keyboard(io.StringIO):
    """Lines that are typed at a terminal, shown there as they are."""

    def readline(self, *size: int) -> str:  # type: ignore[override]
        line = super().readline(*size)
        sys.stdout.write(line)
        return line

    def isatty(self) -> bool:
        return True


class _Screen(io.StringIO):
    def isatty(self) -> bool:
        return True


def answer(words: list[str], typed: str | None = None) -> str:
    """What a command says on both streams, and its status where that is not 0; `typed`: at a terminal."""
    from fencegrade.cli.main import main

    said, status, before = io.StringIO() if typed is None else _Screen(), None, (sys.argv, sys.stdin)
    sys.argv = ["fencegrade", *words]
    sys.stdin = io.StringIO() if typed is None else _Keyboard(typed)
    width = mock.patch.dict(os.environ, COLUMNS="100")
    try:
        with width, contextlib.redirect_stdout(said), contextlib.redirect_stderr(said):
            main()
    except SystemExit as ended:
        status = ended.code
    finally:
        sys.argv, sys.stdin = before
    return said.getvalue() + (f"status {status}\n" if status else "")


@lru_cache(maxsize=4)
def words_of(name: str, data: bytes) -> tuple[str, ...]:
    """The words a file says, in order."""
    match Path(name).suffix:
        case ".svg":
            texts = (e.text for e in ElementTree.fromstring(data).iter("{http://www.w3.org/2000/svg}text"))
            return tuple(word for text in texts if text for word in text.split())
        case ".html":
            return tuple(re.sub(r"(?s)<(svg|style|script)\b.*?</\1>|<[^>]*>", " ", data.decode()).split())
        case ".pdf":
            from pypdf import PdfReader

            return tuple(
                word for page in PdfReader(io.BytesIO(data)).pages for word in page.extract_text().split()
            )
        case _:
            return tuple(re.split(r"[\s,;]+", data.decode()))


def _shown(name: str, data: bytes) -> str:
    """What a file says: a table as it is, of others the words."""
    if name.endswith(".csv"):
        return data.decode().replace("\r", "")
    return _lines(words_of(name, data))


def _said(name: str, data: bytes) -> str:
    """What a file of a job says, where it is drawn as well."""
    if name.endswith((".html", ".pdf")):
        return _shown(name, data) + "\n".join([*fingerprint(name, data), ""])
    return data.decode()


def _lines(words: Sequence[str], most: int = 16) -> str:
    """So many words a line at most, a new one after each full stop, that a change is seen in its place."""
    text, count = "", 0
    for word in words:
        count += 1
        ends = count == most or word[-1:] in (".", ";", ":")
        text, count = text + word + ("\n" if ends else " "), 0 if ends else count
    return text.rstrip() + "\n"
