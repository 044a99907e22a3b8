"""Jobs, surveys, records and cut lists with what builders get wrong, and what is told of them.

A case is the words of a command and the files it finds; mistakes of one file are told together, so that one
case holds many.
"""

from leaning import leaning

JOB = '[job]\ntitle = "Side"\nunits = "imperial"\n'
RUN = '[[run]]\nname = "side"\nsurvey = "s.csv"\n'
BOARDS = '[[pickets.stock]]\nlength = "6 ft"\n'
LEVEL = "station [ft],drop [in]\n0,20\n4,21\n8,22\n12,24\n16,23\n20,25\n24,24\n"
PLAN = ["plan", "."]

Case = tuple[list[str], dict[str, str]]


def job(text: str, survey: str = LEVEL, **files: str) -> dict[str, str]:
    """Files of a job: its text, the survey `s.csv`, and others by name without ending."""
    more = {("built.toml" if name == "built" else f"{name}.csv"): held for name, held in files.items()}
    return {"job.toml": text, "s.csv": survey, **more}


BETWEEN_KEYS = f"""{JOB}tape = "2 in"
{RUN}start = "20 ft"
end = "4 ft"
join = "side"
[[run.no_post]]
start = "6 ft"
end = "5 ft"
[[run.keep_open]]
start = "4 ft"
end = "9 ft"
height = "5 ft"
[[run.keep_open]]
start = "8 ft"
end = "12 ft"
height = "4 in"
[[run.gate]]
station = "3 ft"
width = "9 ft"
open_angle = "200 deg"
[[run.gate]]
station = "10 ft"
width = "4 ft"
swing_rise = ["1 in", "2 in", "3 in"]
[[run.string]]
weight = "1.4 g/m"
sag = "1 in"
[[run.string]]
id = "A"
pull = "10 lbf"
start = "9 ft"
end = "3 ft"
[[run.string]]
id = "A"
{RUN}join = "lane"
[top]
least_height = "4 ft"
most_height = "3 ft"
most_slope = "-5 %"
[pickets]
width = "60 in"
spacing = "5 ft"
clearance = "2 in"
most_gap = "1 in"
least_clearance = "3 in"
[[pickets.stock]]
length = "6 ft"
price = 4
[[pickets.stock]]
length = "6 ft"
price = 0
[[pickets.stock]]
length = "1/2 in"
[[pickets.stock]]
length = "200 ft"
price = 9
[posts]
hole_diameter = "3 in"
gate_width = "5-1/2 in"
spacing = "3 in"
fixed = ["8 ft", "4 ft"]
height = "-9 in"
[rails]
bearing = "3 in"
[site]
wind_speed = "90 mph"
wind_pressure = "20 psf"
[soil]
low_ground = "soil"
most_depth = "0 in"
crest = "0 in"
side_slope = 0
"""
OTHER_KEYS = f"""{JOB.replace("imperial", "metric")}
{RUN}start = "0 m"
end = "9000000 m"
join = "lane"
[[run.clearance]]
start = "1 m"
end = "3 m"
height = "4 m"
[[run.clearance]]
start = "2 m"
end = "4 m"
height = "50 mm"
[pickets]
width = "5 mm"
stock = []
[posts]
gate_hole_diameter = "50 mm"
stock = []
[[posts.gate_stock]]
length = "2.4 m"
price = 0
[rails]
joint = "lapped"
bearing = "200 mm"
[site]
sets_depth = true
[soil]
low_ground = "cheapest"
[[soil.kickboard]]
length = "2.4 m"
price = 9
[[soil.kickboard]]
length = "2.4 m"
price = 9
"""
NO_KICKBOARDS = f'{JOB}{RUN}{BOARDS}[soil]\nlow_ground = "kickboard"\n'
PRICED_PICKETS = f"""{JOB}{RUN}{BOARDS}price = 4
[soil]
low_ground = "cheapest"
[[soil.kickboard]]
length = "8 ft"
"""
KINDS_OF_VALUE = f"""[job]
title = ""
units = "nautical"
currency = "shillings"
kerf = 3
dig_checked = "yes"
confirmed = "all"
colour = "red"
{RUN}join = 3
style = "wavy"
string = "A"
from_xy = ["1 ft"]
to_xy = ["1 ft", "2 ft", "3 ft"]
reading_error = "-1 in"
[[run.gate]]
leaves = 3
width = "0 ft"
hinge = "left"
[[run.existing_post]]
height = "6 ft"
keep = 1
[top]
least_height = true
min_height = "4 ft"
style = 7
equal_steps = "no"
[pickets]
width = ["5 in"]
spacing = {{ wide = 1 }}
most_chance = 2
spare = "70 %"
widths = ["5 in", "5 5 in", "5", "5.10", "5 furlongs", "5-3/2 in", "1/0 in", "4 in 5 ft", "5.5 ft 3 in",
  "5 ft 14 in", "1 ft 2 mm", "1,234 in", "1,2,3 in", "inf in", "1e12 in", "", "--5 in", "5 ft 1/2", "1 m 5",
  "5 in,", "-1", "+ 5 in", "12 3 in", "1.234,5 in", "5.5.5 in"]
"""
MORE_KINDS = f"""{JOB.replace("Side", "S" * 201)}{RUN}[[pickets.stock]]
length = "6 ft"
price = "four"
on_hand = -1
[[pickets.stock]]
length = "8 ft"
price = -2
on_hand = 20000000
[[pickets.stock]]
length = "10 ft"
price = 1e12
[posts]
depth_share = "5/0"
concrete_extra = 4
bag = "heavy"
bag_price = true
fixed = [8]
wood = "oak"
[rails]
count = 1.5
wood = "treated"
[soil]
side_slope = "3"
end_slope = inf
loose_factor = "1.2"
price = nan
[site]
wind_speed = "fast"
wind_pressure = "20 lb"
[fasteners]
per_crossing = "two"
[crew]
posts_an_hour = 0
payload = "2 elephants"
"""
MORE_TEXTS = f"""{JOB}{RUN}
[[run.gate]]
station = "4 ft"
width = "3 ft"
slope_across = "1 in 8"
open_angle = "a quarter"
[[run.gate]]
station = "9 ft"
width = "3 ft"
slope_across = "1 in / 0 ft"
open_angle = "-20 deg"
[[run.gate]]
station = "14 ft"
width = "3 ft"
slope_across = "95 deg"
[[run.gate]]
station = "19 ft"
width = "3 ft"
slope_across = "steep"
[[run.string]]
weight = "0 g/m"
pull = "10"
line_level = "-1 g"
[top]
least_hight = "4 ft"
[picket]
width = "5 in"
[pickets]
moisture_now = "soggy"
moisture_service = "0.12"
{BOARDS}[posts]
hole_diamter = "10 in"
share_tolerance = 0.9
"""

JOBS: dict[str, Case] = {
    "what contradicts": (PLAN, job(BETWEEN_KEYS)),
    "what contradicts, metric": (PLAN, job(OTHER_KEYS)),
    "kickboards without lengths": (PLAN, job(NO_KICKBOARDS)),
    "prices of one alone": (PLAN, job(PRICED_PICKETS)),
    "kinds of value": (PLAN, job(KINDS_OF_VALUE)),
    "more kinds of value": (PLAN, job(MORE_KINDS)),
    "texts": (PLAN, job(MORE_TEXTS)),
    "nothing": (PLAN, {}),
    "a survey alone": (PLAN, {"s.csv": LEVEL}),
    "no run": (PLAN, job("run = []\n" + JOB + BOARDS)),
    "no table": (PLAN, job("")),
    "a key twice": (PLAN, job(JOB + 'title = "Other"\n' + RUN + BOARDS)),
    "a table twice": (PLAN, job(JOB + RUN + BOARDS + "[top]\n[top]\n")),
    "a list as a table": (PLAN, job(JOB + '[run]\nname = "side"\nsurvey = "s.csv"\n' + BOARDS)),
    "surveys elsewhere": (
        PLAN,
        job(
            JOB
            + RUN.replace("s.csv", "../s.csv")
            + RUN.replace("s.csv", "t.csv").replace("side", "b")
            + BOARDS
        ),
    ),
    "options beside a job": (["plan", ".", "--spacing", "2 in"], job(JOB + RUN + BOARDS)),
    "options of a survey": (
        ["plan", "s.csv", "--spacing", "wide", "--boards", "6 ft:cheap"],
        {"s.csv": LEVEL},
    ),
    "no such file": (["check", "nowhere.csv"], {}),
    "moisture": (
        PLAN,
        job(
            JOB
            + RUN
            + '[pickets]\nmoisture_now = "5 %"\nmoisture_service = "300 %"\nwidths = ["5 in"]\n'
            + BOARDS
        ),
    ),
}

SURVEYS = {
    "empty": "",
    "only remarks": "# nothing yet\n\n",
    "no readings": "station [ft],drop [in]\n",
    "no header": "0,20\n4,21\n",
    "words alone": "station drop\n0 20\n",
    "other columns": "a,b,c\n1,2,3\n",
    "nearly": "station (ft),dorp [in],heigth mm,remark\n0,20,1,x\n",
    "unit beside": "dist [ft],reading in\n0,20\n",
    "two kinds": "station [ft],drop [in],elevation [in],x\n0,20,1,2\n",
    "no reading column": "station [ft],note\n0,a\n",
    "a column missing": "drop [in]\n20\n",
    "no station": "elevation [ft]\n20\n",
    "half a book": "station [m],backsight [m]\n0,1\n",
    "points and side": "x [m],y [m],z [m],side\n0,0,0,before\n",
    "twice": "station [ft],drop [in],drop [in]\n0,20,20\n",
    "units": "station [furlong],drop [in],side [in]\n0,20,before\n",
    "no units": "station,drop\n0,20\n4,21\n8,22\n",
    "one has none": "station [ft],drop\n0,20 in\n4,21\n",
    "cells": "station [ft],drop [in]\n0,20,3\n4\n8;22\n12,\n,20\n16,twenty\n1+20,20\n#N/A,20\n",
    "semicolons": "station [ft],drop [in],note\n0;20;a\n",
    "commas": "station [m];drop [mm]\n0;510,5\n1;511.5\n2;1.234,5\n",
    "thousands": "station [m]\tdrop [mm]\n0\t1,510\n1\t1,511\n",
    "comma in a number": 'station [ft],drop [in]\n0,20\n"4,5",21\n',
    "quotes": 'station [ft],drop [in],note\n0,20,"open\n4,21,b\n8,22,c\n',
    "header again": "station [ft],drop [in]\n0,20\nstation [ft],drop [in]\n4,21\n",
    "unnamed": "station [ft],drop [in],\n0,20,\n4,21,wet\n",
    "sides": "station [ft],drop [in],side\n0,20,\n4,21,left\n8,22,before\n12,23,\n16,24,\n",
    "a side and none": "station [ft],drop [in],side\n0,20,\n4,21,before\n4,22,\n8,22,\n",
    "a face at the end": "station [ft],drop [in],side\n0,20,before\n0,30,after\n8,22,\n",
    "repeats": "station [ft],drop [in]\n0,20\n4,21\n4,25\n12,22\n16,23\n20,24\n",
    "repeats by a wall": "station [ft],drop [in],side\n0,20,\n4,21,\n4,25,\n8,22,\n",
    "one station": "station [ft],drop [in]\n4,20\n4,20\n",
    "to and fro": "station [ft],drop [in]\n0,20\n8,21\n4,22\n12,23\n6,22\n",
    "exchanged": "station [in],drop [ft]\n20,0\n21,4\n19,8\n22,12\n20,16\n",
    "drops": "station [ft],drop [in]\n0,20\n4,-2\n8,0\n12,20\n",
    "far": "station [ft],drop [in]\n0,20\n4,2000000 ft\n",
    "a cliff": "station [ft],elevation [ft]\n0,20\n4,90000\n8,20\n",
    "book: sights": (
        "station [m],backsight [m],intermediate [m],foresight [m],known [m]\n0,1.2,,,10\n2,,1.3,1.4,\n4,,,,\n"
    ),
    "book: begins": "station [m],backsight [m],intermediate [m],foresight [m]\n0,,1.2,\n2,,1.3,\n",
    "book: open": (
        "station [m],backsight [m],intermediate [m],foresight [m]\n0,1.2,,\n2,1.3,,\n4,,,1.1\n6,,1.2,\n"
    ),
    "book: moved": (
        "station [m],backsight [m],intermediate [m],foresight [m]\n0,1.2,,\n2,,,1.3\n4,1.1,,\n6,,1.2,\n"
    ),
    "book: ends": "station [m],backsight [m],intermediate [m],foresight [m]\n0,1.2,,\n2,,,1.3\n2,1.1,,\n",
    "book: closes": (
        "station [m],backsight [m],intermediate [m],foresight [m],known [m]\n"
        "0,1.2,,,10\n2,1.1,,1.3,\n4,,,1.1,12\n"
    ),
    "off the run": "x [m],y [m],z [m]\n0,0,1\n1,3,1\n2,-3,1\n3,5,1\n9,0,1\n",
    "another line": "x [m],y [m],z [m]\n0,0,1\n3,2,1\n3,4,1\n3,6,1\n3,8,1\n9,0,1\n",
    "one point": "x [m],y [m],z [m]\n0,0,1\n2,0,1\n0,0,1\n",
    "book: no set-up": (
        "station [m],backsight [m],intermediate [m],foresight [m]\n0,1.2,,\n2,,,1.3\n4,1.1,,1.4\n"
    ),
    "separators in a name": "station [ft],drop [in],note;a;b;c\n0,20,x\n4,21,y\n8;22;z\n",
    "two words": "station [m],back sigth m,intermediate [m],foresight [m]\n0,1.2,,\n2,,1.3,\n",
}


def _all_surveys() -> dict[str, str]:
    runs = [f'[[run]]\nname = "{name}"\nsurvey = "{k:02}.csv"\n' for k, name in enumerate(SURVEYS)]
    files = {f"{k:02}.csv": text for k, text in enumerate(SURVEYS.values())}
    return {"job.toml": JOB + "".join(runs) + BOARDS, **files}


LINE = "station [ft],drop [in],string\n0,20,A\n8,21,A\n8,21,B\n16,22,B\n"


def _strings(**tables: str) -> dict[str, str]:
    """A job of runs that differ in their strings alone, as many as there are texts of them."""
    runs, files = [], {}
    for name, text in tables.items():
        keys, _, survey = text.partition("---\n")
        runs.append(f'[[run]]\nname = "{name}"\nsurvey = "{name}.csv"\n{keys}')
        files[f"{name}.csv"] = survey or LINE
    return {"job.toml": JOB + "".join(runs) + BOARDS, **files}


A, B = '[[run.string]]\nid = "A"\n', '[[run.string]]\nid = "B"\n'
STRINGS = _strings(
    undeclared=A,
    unused=A + B + '[[run.string]]\nid = "C"\n',
    silent=A + B + "---\nstation [ft],drop [in],string\n0,20,A\n8,21,\n8,21,B\n16,22,B\n",
    level=A + 'line_level = "15 g"\n' + B,
    beyond=A + 'end = "7 ft"\n' + B,
    loose=A + B + "---\nstation [ft],drop [in],string\n0,20,A\n8,21,A\n10,21,B\n16,22,B\n",
    apart=A + 'height = "0 in"\n' + B + 'height = "3 in"\n',
    known=A
    + 'height = "0 in"\n'
    + B
    + "---\nstation [ft],drop [in],string,known [in]\n0,20,A,\n8,21,A,\n8,21,B,\n16,22,B,-10\n",
    backwards="---\nstation [ft],drop [in]\n16,20\n8,21\n4,22\n0,23\n",
    longer='start = "-4 ft"\nend = "40 ft"\n---\n' + LEVEL,
    nowhere='start = "30 ft"\nend = "31 ft"\n---\n' + LEVEL,
    steep='stations_taped = "along the slope"\n---\nstation [ft],elevation [ft]\n0,0\n2,3\n4,3\n',
    ends='from_xy = ["0 m", "0 m"]\n---\nx [m],y [m],z [m]\n0,0,1\n5,0,1\n',
    alike='from_xy = ["0 m", "0 m"]\nto_xy = ["0 m", "0 m"]\n---\nx [m],y [m],z [m]\n0,0,1\n5,0,1\n',
)

POSTS = f"""{JOB}{RUN}
[[run.gate]]
station = "1 in"
width = "3 ft"
[[run.gate]]
station = "10 ft"
width = "3 ft"
[[run.gate]]
station = "13 ft 1 in"
width = "3 ft"
[[run.existing_post]]
station = "60 ft"
[[run.existing_post]]
station = "11 ft"
[[run.existing_post]]
station = "18 ft"
[[run.existing_post]]
station = "18 ft 2 in"
[[run.no_post]]
start = "23 ft"
end = "24 ft"
{BOARDS}[posts]
fixed = ["-9 ft"]
"""
NO_ROOM = f"""{JOB}{RUN}
[[run.no_post]]
start = "2 ft"
end = "20 ft"
{BOARDS}[posts]
spacing = "6 ft"
"""
HIGH = f'{JOB}{RUN}[top]\nleast_height = "7 ft"\n{BOARDS}[[posts.stock]]\nlength = "4 ft"\n'

STANDS_BADLY = """
left = [{ length = "5 ft", count = 2 }, { length = "6 ft", count = 2 }, { length = "6 ft", count = -1 }]
[[run]]
name = "side"
limit = "0 in"
colour = "red"
[[run.post]]
number = 0
station = "4 ft"
[[run.picket]]
far_edge = "4 ft"
[[run.picket]]
number = 3
far_edge = "1 ft"
[[run.picket]]
number = 3
far_edge = "1 ft"
[[run.later]]
first = 9
last = 7
[[run.cut]]
kept = "4 ft"
pickets = "7-3"
[[run.measured]]
number = 4
drop = ["4 ft", "4 ft", "4 ft"]
[[run]]
name = "side"
[[run]]
name = "lane"
"""


def _stands(text: str) -> dict[str, str]:
    return job(JOB + RUN + BOARDS, built=f'[[run]]\nname = "side"\n{text}')


RECORDS: dict[str, Case] = {
    "an older form": (PLAN, job(JOB + RUN + BOARDS, built='run = "side"\n')),
    "all of it": (PLAN, job(JOB + RUN + BOARDS, built=STANDS_BADLY)),
    "boards not on offer": (PLAN, job(JOB + RUN + BOARDS, built='[[left]]\nlength = "5 ft"\ncount = 3\n')),
    "posts that are not": (
        PLAN,
        _stands(
            '[[run.post]]\nnumber = 40\nstation = "4 ft"\n[[run.post]]\nnumber = 2\nstation = "20 ft"\n'
            '[[run.post]]\nnumber = 1\nstation = "-20 ft"\n[[run.post]]\nnumber = 4\nstation = "17 ft"\n'
        ),
    ),
    "posts moved": (
        ["check", "."],
        _stands(
            '[[run.post]]\nnumber = 2\nstation = "8 ft 4 in"\n'
            '[[run.post]]\nnumber = 4\nstation = "24 ft 3 in"\n'
        ),
    ),
    "pickets that are not": (
        PLAN,
        _stands(
            '[[run.picket]]\nnumber = 400\nfar_edge = "4 ft"\n'
            '[[run.picket]]\nnumber = 3\nfar_edge = "60 ft"\n'
        ),
    ),
    "pickets too near": (PLAN, _stands('[[run.picket]]\nnumber = 20\nfar_edge = "5 ft"\n')),
    "pickets miscounted": (PLAN, _stands('[[run.picket]]\nnumber = 20\nfar_edge = "10 ft 9 in"\n')),
    "pickets drifting": (PLAN, _stands('[[run.picket]]\nnumber = 20\nfar_edge = "10 ft 5 in"\n')),
    "measured and later": (
        PLAN,
        _stands(
            '[[run.measured]]\nnumber = 400\ndrop = "5 ft"\n[[run.later]]\nfirst = 7\nlast = 9\n'
            '[[run.picket]]\nnumber = 5\nfar_edge = "2 ft 7 in"\n'
        ),
    ),
    "another top": (
        PLAN,
        _stands(
            'style = "stepped"\n[[run.top]]\nstation = "9 ft"\nelevation = "9 in"\n'
            '[[run.top]]\nstation = "4 ft"\nelevation = "9 in"\n'
        ),
    ),
    "no line of tops": (
        PLAN,
        _stands('style = "level"\n[[run.top]]\nstation = "9 ft"\nelevation = "9 in"\n'),
    ),
}

TWO = {
    "job.toml": JOB + RUN + RUN.replace("side", "lane") + BOARDS + '[pickets]\npattern = "shadowbox"\n',
    "s.csv": LEVEL,
}
ASKED: dict[str, Case] = {
    " ".join(words): (words, TWO)
    for words in (
        ["resume", "."],
        ["resume", ".", "--run", "sied", "--after", "3"],
        ["resume", ".", "--run", "lane"],
        ["resume", ".", "--run", "lane", "--at", "4 ft"],
        ["resume", ".", "--run", "lane", "--after", "-3"],
        ["resume", ".", "--run", "lane", "--after", "0", "--at", "4 ft"],
        ["resume", ".", "--run", "lane", "--after", "5"],
        ["resume", ".", "--run", "lane", "--after", "4", "--at", "2 ft"],
        ["resume", ".", "--run", "lane", "--after", "400", "--at", "2 ft"],
        ["resume", ".", "--run", "lane", "--after", "5", "--at", "far", "--limit", "0 in", "--gap", "-1 in"],
        ["resume", ".", "--run", "lane", "--after", "5", "--at", "2 ft", "--width", "0 in", "--left", "6 ft"],
        [
            "resume",
            ".",
            "--run",
            "lane",
            "--after",
            "5",
            "--at",
            "2 ft",
            "--left",
            "6 ft:1",
            "--left",
            "6 ft:2",
        ],
        ["plumb", "--job", ".", "--run", "side", "--height", "4 ft", "--width", "3 in"],
        ["plumb", "--job", ".", "--run", "side", "--after", "0", *leaning("1 in")],
        ["plumb", "--job", ".", "--run", "side", "--after", "400", *leaning("1 in")],
        ["plumb", "--job", ".", "--run", "side", "--after", "4", *leaning("1 in")],
        ["plumb", "--job", ".", "--run", "side", "--after", "3"],
        ["plumb", *leaning("much", "4")],
        [
            "plumb",
            "--lean",
            "-1 in",
            "--toward",
            "end",
            "--over",
            "0 in",
            "--height",
            "-4 ft",
            "--limit",
            "0 in",
            "--width",
            "0 in",
        ],
        ["plumb", *leaning("1 in", "4 in"), "--boards", "0", "--spacing", "-1 in"],
        ["plumb", *leaning("9 in")],
        ["plumb", *leaning("1 in", "2 ft"), "--height", "7 ft", "--limit", "1/1000 in"],
        ["plumb", *leaning("1 in", "1 ft"), "--height", "6 ft"],
        [
            "plumb",
            "--lean",
            "1/2 in",
            "--over",
            "8 ft",
            "--height",
            "6 ft",
            "--toward",
            "end",
            "--spacing",
            "0 in",
        ],
    )
}

LISTS: dict[str, Case] = {
    name: (["boards", "list"], {"list": text})
    for name, text in {
        "nothing": "",
        "no table": "[1, 2]",
        "no lists": '{"kerf": "1/8 in"}',
        "not lists": '{"stock": 3, "pieces": {}, "saw": 1}',
        "values": (
            '{"kerf": -1, "one_piece": "yes", "stock": [{"length": 0, "price": 0},'
            ' {"length": "8 ft", "price": "x"},'
            ' {"price": 3}, {"length": true}, {"length": 1e9, "on_hand": -1, "limit": 1.5, "colour": 3}],'
            ' "pieces": [{"length": 2.5, "count": "x"}, 7, {"length": "9 foo"}]}'
        ),
        "some prices": '{"stock": [{"length": 96, "price": 4}, {"length": 120}], "pieces": [{"length": 40}]}',
        "no board": '{"stock": [{"length": 96, "limit": 0}], "pieces": [{"length": 40}]}',
        "units of some": '{"stock": [{"length": "96 in"}], "pieces": [{"length": 40, "count": 2}]}',
        "too few": (
            '{"stock": [{"length": 96, "on_hand": 1, "limit": 0}], "pieces": [{"length": 40, "count": 5}]}'
        ),
        "too long": (
            '{"stock": [{"length": "8 ft"}], "pieces": [{"length": "9 ft",'
            ' "name": "top"}, {"length": "8.5 ft"}]}'
        ),
        "columns": "what,long,count\npiece,40,3\n",
        "columns missing": "count,price,count\n1,2,3\n",
        "units of a column": "what,length [stone]\npiece,40\n",
        "rows": "what,length [in],count\npiece,40,3,9\nplank,9,\nkerf,1/8\nkerf,1/8\nstock,x,\npiece,,\n",
        "as a table": "kind,size (in),qty,cost\nstock,96,2,7.5\nboard,120,,9\ncut,31.5,6,\nsaw cut,1/8,,\n",
        "a quote open": 'what,length\npiece,"40\nstock,96\n',
        "between marks": (
            '{"stock": [{"length": "95.99 in"}], "pieces": [{"length": "10.01 in",'
            ' "count": 9, "name": "leg"}]}'
        ),
    }.items()
}

ODD_VALUES = f"""{JOB}tape = "1/3 in"
kerf = "1/8 ft"
{RUN}reading_error = "1 ft"
[[run.gate]]
station = "9 ft"
width = "6 in"
[[run.clearance]]
start = "4 ft"
end = "8 ft"
height = "7 in"
[[run.string]]
end = "240 ft"
[top]
least_height = "8-3/4 in"
most_height = "17 in"
[pickets]
width = "1/2 in"
thickness = "3 in"
spacing = "9 in"
clearance = "0 in"
most_gap = "3 ft"
[[pickets.stock]]
length = "7 in"
price = 4
[[pickets.stock]]
length = "6 ft"
price = 90
[[pickets.stock]]
length = "8 ft"
price = 85
[posts]
width = "1-1/4 in"
spacing = "1-3/4 ft"
hole_diameter = "37 in"
least_depth = "8 ft"
gravel = "3 ft"
bag = "8 lb"
gravel_bag = "5 lb"
concrete_extra = 2.5
[[posts.stock]]
length = "25 ft"
[rails]
height = "11 in"
thickness = "5 in"
count = 9
[[rails.stock]]
length = "15 in"
price = 4
[[rails.stock]]
length = "16 ft"
price = 900
[soil]
crest = "2 in"
most_depth = "31 in"
side_slope = 0.33
loose_factor = 2.5
[site]
wind_speed = "9 mph"
[fasteners]
per_crossing = 8
"""
OTHER_VALUES = f"""{JOB.replace("imperial", "metric")}tape = "3 mm"
{RUN}
[[run.gate]]
station = "2 m"
width = "7.5 m"
[top]
least_height = "3.4 m"
most_height = "4.4 m"
[pickets]
width = "320 mm"
thickness = "6 mm"
spacing = "210 mm"
most_gap = "360 mm"
clearance = "260 mm"
[[pickets.stock]]
length = "5 m"
[posts]
width = "36 mm"
spacing = "3.9 m"
hole_diameter = "70 mm"
[rails]
height = "24 mm"
thickness = "10 mm"
[[rails.stock]]
length = "4 m"
[site]
wind_speed = "104 m/s"
"""
ROWS = "station [ft],drop [in],note\n"
STEP = ROWS + "0,20,\n4,21,\n8,22,\n12,23,\n16,36,\n20,37,\n24,38,\n28,39,\n32,40,\n36,41,\n"
PAIR = ROWS + "0,20,\n4,21,\n8,22,\n12,11,\n16,12,\n20,25,\n24,26,\n28,27,\n32,28,\n36,29,\n"
ONE = ROWS + "0,20,\n4,21,\n8,22,\n12,32,\n16,24,\n20,25,\n24,26,\n28,27,\n32,28,\n36,29,\n"
FEET = ROWS + "0,1.62,\n4,1.71,\n8,1.83,\n12,1.94,\n16,2.03,\n20,2.13,\n"
PULL = '[[run.string]]\nweight = "1.4 g/m"\npull = "10 N"\nend = "36 ft"\n'
STEEP = "station [ft],elevation [ft]\n0,0\n8,2\n16,4\n24,6\n"
CHECK = ["check", "."]
DOUBTS: dict[str, Case] = {
    "odd values": (CHECK, job(ODD_VALUES)),
    "odd values, metric": (CHECK, job(OTHER_VALUES, "station [m],drop [mm]\n0,500\n4,510\n8,520\n12,515\n")),
    "half the survey": (CHECK, job(JOB + RUN + BOARDS, STEP)),
    "two neighbours": (CHECK, job(JOB + RUN + BOARDS, PAIR)),
    "one reading": (CHECK, job(JOB + RUN + BOARDS, ONE)),
    "decimal feet": (CHECK, job(JOB + RUN + BOARDS, FEET)),
    "newtons": (CHECK, job(JOB + RUN + PULL + BOARDS, STEP.replace("36,\n20", "24,\n20"))),
    "steep": (CHECK, job(JOB + RUN + BOARDS, STEEP)),
}

RARE_WIND = f"""{JOB}currency = "$"
{RUN}style = "contour"
[[run.gate]]
station = "20 ft"
width = "12 ft"
[[run.gate]]
station = "32 ft 9 in"
width = "3 ft"
[pickets]
clearance = "0 in"
moisture_now = "10 %"
moisture_service = "wet"
spacing = "0 in"
{BOARDS}price = 4
[[pickets.stock]]
length = "8 ft"
price = 6
[posts]
hole_diameter = "6 in"
[soil]
low_ground = "cheapest"
[site]
wind_speed = "150 mph"
soil = "clay"
exposure = "D"
"""
SHARP = ROWS + "0,20,\n4,21,\n5,34,\n6,21,\n10,22,\n11,37,\n12,23,\n20,26,\n28,24,\n36,22,\n40,22,\n"
RARE_FACE = f"""{JOB}{RUN}style = "stepped"
[[run.no_post]]
start = "10 ft"
end = "14 ft"
[top]
equal_steps = true
most_step = "8 in"
[pickets]
pattern = "shadowbox"
moisture_now = "20 %"
moisture_service = "dry"
spacing = "4 in"
{BOARDS}[[pickets.stock]]
length = "8 ft"
[rails]
count = 5
top_reveal = "12 in"
bottom_reveal = "12 in"
[soil]
low_ground = "cheapest"
"""
FACE = "station [ft],elevation [in],side\n0,0,\n6,2,\n12,4,before\n12,16,after\n18,30,\n24,31,\n30,33,\n"
RARE_BIG = f"""{JOB.replace("imperial", "metric")}{RUN}{RUN.replace("side", "back")}join = "side"
[[run.string]]
height = "0 mm"
{BOARDS.replace("6 ft", "1.8 m")}price = 4
[[pickets.stock]]
length = "2.4 m"
price = 6
[posts]
hole_diameter = "450 mm"
bag = "25 kg"
spacing = "1.8 m"
[rails]
joint = "lapped"
[soil]
low_ground = "soil"
bag = "40 l"
"""
LONG = "station [m],drop [mm]\n" + "".join(f"{4 * k},{500 + 20 * abs(k - 8)}\n" for k in range(16))
UP = """[[run]]
name = "side"
[[run.picket]]
number = 10
far_edge = "{at}"
"""
HALF = JOB + RUN + BOARDS + '[[pickets.stock]]\nlength = "8 ft"\n'
FIVE_BAYS = "station [ft],elevation [in]\n0,0\n12,0\n24,0\n39.6666666667,0\n"
CLOSER = f"""{JOB}{RUN}{BOARDS}[[posts.stock]]
length = "8 ft"
price = 14.6
[[rails.stock]]
length = "8 ft"
price = 6.9
[[rails.stock]]
length = "10 ft"
price = 9.1
"""
SET_APART = '[[run.post]]\nnumber = 2\nstation = "8 ft 2 in"\n[[run.post]]\nnumber = 1\nstation = "-1 in"\n'
ONE_RAIL = f'{HALF}[rails]\n[[rails.stock]]\nlength = "8 ft"\n'
OLD_HOLE = f"""{JOB}{RUN}style = "contour"
[[run.existing_post]]
station = "4 in"
keep = false
[[run.existing_post]]
station = "11 ft 9 in"
keep = false
{BOARDS}[[pickets.stock]]
length = "8 ft"
"""
RARE: dict[str, Case] = {
    "an old hole and a contour over a face": ([*PLAN, "--details"], job(OLD_HOLE, FACE)),
    "closer posts": ([*PLAN, "--details"], job(CLOSER, FIVE_BAYS)),
    "posts set apart": (PLAN, job(ONE_RAIL, built=f'[[run]]\nname = "side"\n{SET_APART}')),
    "wind and gates": ([*PLAN, "--details"], job(RARE_WIND, SHARP)),
    "a face and a comb": ([*PLAN, "--details"], job(RARE_FACE, FACE)),
    "much concrete": ([*PLAN, "--details"], job(RARE_BIG, LONG)),
    "as planned": (["resume", "."], job(HALF, built=UP.format(at="4 ft 9-1/4 in"))),
    "too far": (["resume", "."], job(HALF, built=UP.format(at="5 ft 1 in"))),
    "a little far": (["resume", "."], job(HALF, built=UP.format(at="4 ft 10 in"))),
    "by count": (["resume", ".", "--after", "40", "--at", "19 ft 3 in", "--left", "8 ft:12"], job(HALF)),
    "nothing fits": (
        ["resume", ".", "--after", "47", "--at", "22 ft 9-1/2 in", "--limit", "1/32 in"],
        job(HALF),
    ),
    "three edges": (
        ["resume", "."],
        job(
            HALF,
            built='[[run]]\nname = "side"\n'
            + "".join(
                f'[[run.picket]]\nnumber = {n}\nfar_edge = "{at}"\n'
                for n, at in ((12, "5 ft 9-1/4 in"), (24, "11 ft 7-1/8 in"), (36, "17 ft 4-7/8 in"))
            ),
        ),
    ),
    "gaps set wider": (
        ["resume", "."],
        job(HALF, built=UP.format(at="4 ft 10 in") + 'gap = "5/16 in"\n'),
    ),
    "a sliver": (["resume", ".", "--after", "49", "--at", "23 ft 11 in"], job(HALF)),
    "at the end": (["resume", ".", "--after", "50", "--at", "24 ft"], job(HALF)),
    "moist and leaning": (
        ["plumb", "--job", ".", "--after", "9", *leaning("1/4 in")],
        job(HALF.replace("[[pickets", '[pickets]\nmoisture_now = "wet"\nspacing = "3/8 in"\n[[pickets', 1)),
    ),
}

WRONG: dict[str, dict[str, Case]] = {
    "wrong_jobs": JOBS,
    "wrong_surveys": {"each": (PLAN, _all_surveys()), "strings": (PLAN, STRINGS)},
    "wrong_posts": {
        "posts": (PLAN, job(POSTS)),
        "no room": (PLAN, job(NO_ROOM)),
        "too high": (PLAN, job(HIGH)),
    },
    "wrong_records": RECORDS,
    "doubts": DOUBTS,
    "rare": RARE,
    "wrong_asked": ASKED,
    "wrong_lists": LISTS,
}
