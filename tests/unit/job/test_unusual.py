"""Values a job seldom means: each slip is doubted by its value and what follows; honest odd jobs are not."""

import tomllib
from pathlib import Path
from typing import Any

import pytest
from pydantic import TypeAdapter
from small_job import filled
from written import written

from fencegrade.job.read import read_job
from fencegrade.job.records import JobFile, Run
from fencegrade.job.unusual import far_string, unusual_values
from fencegrade.units import UnitSystem
from fencegrade.units.words import Words

SURVEY = "station [ft],drop [in]\n0,20\n8,22\n16,24\n24,20\n"
METRIC = "station [m],drop [mm]\n0,500\n2.4,560\n4.8,600\n7.2,520\n"
STOCK = [("6 ft", 4.1), ("8 ft", 6.85)]
Tables = dict[str, dict[str, Any]]


def told(
    folder: Path,
    tables: Tables,
    *,
    units: str = "imperial",
    stock: Any = STOCK,
    run: str = "",
    confirmed: Any = (),
) -> list[str]:
    lines = ["[job]", 'title = "Yard"', f'units = "{units}"', f"confirmed = {list(confirmed)}"]
    lines += [f"{k} = {v!r}" for k, v in tables.get("job", {}).items()]
    lines += ["[[run]]", 'name = "lane"', 'survey = "lane.csv"', run]
    for table, keys in tables.items():
        if table not in ("job",):
            lines += [f"[{table}]", *(f"{k} = {v!r}" for k, v in keys.items())]
    for length, price in stock:
        lines += ["[[pickets.stock]]", f'length = "{length}"', f"price = {price}"]
    (folder / "job.toml").write_text("\n".join(lines), encoding="utf-8")
    (folder / "lane.csv").write_text(METRIC if units == "metric" else SURVEY, encoding="utf-8")
    return [str(p) for p in read_job(folder).notes]


SLIPS: list[tuple[Tables, dict[str, Any], tuple[str, ...]]] = [
    (
        {},
        {"stock": [("5 m", 4.1), ("6 ft", 5)]},
        ("5 m is no usual length", "boards of it are bought"),
    ),
    ({}, {"stock": [("4 in", 4.1), ("6 ft", 5)]}, ("4 in is no usual length",)),
    (
        {},
        {"stock": [("4 ft", 0.97), ("5 ft", 0.99), ("6 ft", 1.08)]},
        ("4 ft at 0.97 is hardly cheaper than 6 ft at 1.08: a price is that of a whole board",),
    ),
    ({}, {"stock": [("6 ft", 9.0), ("8 ft", 6.85)]}, ("6 ft at 9.00 is dearer than 8 ft at 6.85",)),
    (
        {},
        {"stock": [("6 ft", 410), ("8 ft", 685), ("10 ft", 9.5)]},
        ("far from what the other lengths cost",),
    ),
    ({}, {"stock": [("6 ft", 4.1), ("8 ft", 0.0685)]}, ("far from what the other lengths cost",)),
    (
        {"posts": {"bag": "8 lb"}},
        {},
        ("8.0 lb is not the usual 18.0 lb to 130.0 lb: bags are counted by it",),
    ),
    ({"job": {"kerf": "1/8 ft"}}, {}, ("1-1/2 in", "waste that much wood")),
    ({"site": {"wind_speed": "9 mph"}}, {}, ("9.0 mph is not the usual", "posts are screened for it")),
    ({"site": {"wind_speed": "90 mph"}}, {}, ("90.0 mph is not the usual 95.0 mph", "older than ASCE 7-10")),
    ({"posts": {"frost_depth": "3 in"}}, {}, ("3 in is not the usual 5 in", "posts stand below it")),
    ({"soil": {"side_slope": 0.33}}, {}, ("0.33", "slides")),
    ({"rails": {"count": 9}}, {}, ("9 is not the usual 1 to 5",)),
    ({"posts": {"spacing": "1-3/4 ft"}}, {}, ("21 in is not the usual 30 in to 150 in",)),
    ({"pickets": {"clearance": "2 ft", "most_gap": "26 in"}}, {}, ("24 in", "every board ends that far up")),
    ({"pickets": {"most_gap": "3 ft"}}, {}, ("36 in", "gaps that wide are left open")),
    ({"job": {"tape": "1/3 in"}}, {}, ("0.3333 in is no mark of a tape",)),
    ({}, {"run": 'reading_error = "1 ft"'}, ("12 in is over the usual 1 in", "cut from the chart")),
    ({}, {"run": '[[run.string]]\nend = "240 ft"'}, ("240' 0\" is far past the last reading at 24' 0\"",)),
    (
        {},
        {"run": '[[run.string]]\nend = "24 ft"\nsag = "12 ft"'},
        ("144 in is more than a string hangs in so long a span (4-3/4 in at most)", "cut longer"),
    ),
    (
        {},
        {"run": '[[run.clearance]]\nstart = "0 ft"\nend = "8 ft"\nheight = "8 in"'},
        ("8 in is over the usual 6 in", "a child gets under"),
    ),
    (
        {},
        {"run": '[[run.keep_open]]\nstart = "0 ft"\nend = "3 ft"\nheight = "14 in"'},
        ("14 in is over the usual 12 in", "dogs and children get under"),
    ),
]


@pytest.mark.parametrize(("tables", "more", "words"), SLIPS, ids=[w[0] for _, _, w in SLIPS])
def test_a_slip_is_doubted_until_it_is_confirmed(
    tmp_path: Path, tables: Tables, more: dict[str, Any], words: tuple[str, ...]
) -> None:
    found = [line for line in told(tmp_path, tables, **more) if words[0] in line]
    assert len(found) == 1
    assert all(word in found[0] for word in words)
    key = tomllib.loads("key = " + found[0].split(" add ")[1].split(" to confirmed")[0])["key"]
    assert not [line for line in told(tmp_path, tables, confirmed=[key], **more) if words[0] in line]


HEIGHTS = ["22 in", "30 in", "3 ft", "42 in", "4 ft", "5 ft", "6 ft", "7 ft 6 in", "8 ft", "10 ft"]
HONEST: list[tuple[str, Tables, Any]] = [
    *[("imperial", {"top": {"least_height": h}}, STOCK) for h in HEIGHTS],
    *[
        ("metric", {"top": {"least_height": h}}, [("1.2 m", 2.5), ("2.4 m", 4.9)])
        for h in ("0.5 m", "90 cm", "2.2 m")
    ],
    *[("imperial", {"job": {"tape": t}}, STOCK) for t in ("1/32 in", "1/16 in", "1/4 in", "1/2 in", "1 in")],
    *[("metric", {"job": {"tape": t}}, [("1.8 m", 4)]) for t in ("1 mm", "0.5 mm", "5 mm", "1 cm")],
    *[("imperial", {"job": {"kerf": k}}, STOCK) for k in ("0 in", "1/16 in", "3/32 in", "1/4 in")],
    *[
        ("imperial", {"pickets": {"width": w}}, STOCK)
        for w in ("1 in", "1-1/2 in", "2-1/2 in", "9-1/4 in", "11-1/4 in")
    ],
    *[
        ("imperial", {"pickets": {"clearance": c, "most_gap": g}}, STOCK)
        for c, g in (("0 in", "1/2 in"), ("6 in", "8 in"))
    ],
    *[("imperial", {"pickets": {"most_gap": g}}, STOCK) for g in ("5 in", "8 in", "12 in")],
    *[("imperial", {"posts": {"spacing": s}}, STOCK) for s in ("4 ft", "5 ft", "6 ft", "10 ft", "12 ft")],
    *[("imperial", {"posts": {"bag": b}}, STOCK) for b in ("20 kg", "50 lb", "60 lb", "94 lb", "40 kg")],
    *[("imperial", {"rails": {"count": n}}, STOCK) for n in (1, 2, 3, 4, 5)],
    *[("imperial", {"soil": {"side_slope": s}}, STOCK) for s in (1.0, 1.5, 2.0, 5.0)],
    *[("imperial", {"site": {"wind_speed": w}}, STOCK) for w in ("96 mph", "115 mph", "180 mph", "45 m/s")],
    ("imperial", {}, [("3 ft", 1.0), ("6 ft", 2.0), ("16 ft", 30.0)]),
    ("imperial", {}, [("6 ft", 4.0), ("8 ft", 4.0)]),
    ("imperial", {}, [("12 in", 0.4), ("4 ft", 3.0)]),
    ("metric", {}, [("600 mm", 0.9), ("4.8 m", 14.0)]),
    ("imperial", {}, [("6 ft", 12.0), ("8 ft", 15.0), ("10 ft", 48.0)]),
]


def test_there_are_sixty_honest_odd_jobs() -> None:
    assert len(HONEST) >= 60


@pytest.mark.parametrize(("units", "tables", "stock"), HONEST)
def test_an_honest_odd_job_is_not_doubted(tmp_path: Path, units: str, tables: Tables, stock: Any) -> None:
    assert told(tmp_path, tables, units=units, stock=stock) == []


FILE = TypeAdapter(JobFile)
USUAL: dict[str, dict[str, tuple[float, float, str]]] = {
    "job": {"kerf": (0, 5 / 16, "in")},
    "top": {"least_height": (9, 132, "in"), "most_height": (18, 168, "in")},
    "pickets": {
        "width": (0.75, 12.5, "in"),
        "thickness": (0.25, 2.5, "in"),
        "spacing": (0, 8, "in"),
        "clearance": (0, 10, "in"),
        "most_gap": (0.25, 14, "in"),
    },
    "posts": {
        "width": (1.5, 14, "in"),
        "spacing": (30, 150, "in"),
        "hole_diameter": (3, 36, "in"),
        "least_depth": (0, 84, "in"),
        "frost_depth": (5, 100, "in"),
        "gravel": (0, 24, "in"),
        "bag": (18, 130, "lb"),
        "gravel_bag": (10, 2500, "lb"),
        "concrete_extra": (1, 1.6, ""),
    },
    "rails": {"height": (1, 10, "in"), "thickness": (0.5, 4, "in"), "count": (1, 5, "")},
    "soil": {
        "crest": (3, 72, "in"),
        "most_depth": (0, 30, "in"),
        "side_slope": (1, 12, ""),
        "loose_factor": (1, 1.9, ""),
    },
    "site": {"wind_speed": (95, 230, "mph")},
    "fasteners": {"per_crossing": (1, 6, "")},
}
"""What the keys of single tables usually hold, least and most (common practice, no source; own choice)."""
NEVER_LESS = (
    ("job", "kerf"),
    ("pickets", "spacing"),
    ("pickets", "clearance"),
    ("posts", "gravel"),
    ("posts", "least_depth"),
    ("posts", "concrete_extra"),
    ("soil", "most_depth"),
    ("soil", "loose_factor"),
)
"""Keys whose least is the least that may be at all."""
BOARDS = {"[[pickets.stock]]": (8, 194)} | {
    f"[[{key}]]": (18, 290) for key in ("posts.stock", "posts.gate_stock", "rails.stock", "soil.kickboard")
}
"""Lengths (in) that boards are sold in."""
Doubts = dict[str, str]


def doubts(tables: dict[str, dict[str, Any]], run: dict[str, Any] | None = None, tape: str = "") -> Doubts:
    """What is doubted of a job of one run by its key."""
    given = {table: dict(keys) for table, keys in tables.items()}
    given["job"] = {"title": "x", "units": "imperial", **given.get("job", {})}
    if tape:
        given["job"]["tape"] = tape
    given["pickets"] = {"stock": [{"length": "6 ft"}], **given.get("pickets", {})}
    tree = filled(given | {"run": [{"name": "a", "survey": "a.csv", **(run or {})}]})
    file = FILE.validate_python(tree)
    return dict(unusual_values(file, file.run))


def in_every_table(end: int, beyond: float) -> dict[str, dict[str, Any]]:
    """Every key at one end of what is usual, or by so much of it beyond."""

    def value(least: float, most: float, unit: str) -> Any:
        if not unit and isinstance(least + most, int):
            return (least, most)[end] + (2 * end - 1) * (beyond > 0)
        at = (least, most)[end] + (2 * end - 1) * beyond
        return f"{at:.6f} {unit}" if unit else at

    return {t: {key: value(*usual) for key, usual in keys.items()} for t, keys in USUAL.items()}


@pytest.mark.parametrize("end", [0, 1], ids=["least", "most"])
def test_what_is_just_usual_is_not_doubted_and_what_is_just_beyond_is(end: int) -> None:
    assert doubts(in_every_table(end, 0)) == {}
    keys = {f"[{table}] {key}": usual for table, keys in USUAL.items() for key, usual in keys.items()}
    beyond = in_every_table(end, 1 / 64)
    for table, key in NEVER_LESS if end == 0 else ():
        del beyond[table][key]
    asked = {f"[{table}] {key}" for table, held in beyond.items() for key in held}
    assert doubts(beyond).keys() == asked & keys.keys()


@pytest.mark.parametrize("end", [0, 1])
def test_boards_of_lengths_just_sold_are_not_doubted(end: int) -> None:
    def lists(by: float) -> dict[str, dict[str, Any]]:
        found: dict[str, dict[str, Any]] = {}
        for name, ends in BOARDS.items():
            table, key = name.strip("[]").split(".")
            length = f"{ends[end] + (2 * end - 1) * by} in"
            found.setdefault(table, {})[key] = [{"length": length}]
        return found

    assert doubts(lists(0)) == {}
    told = doubts(lists(1 / 64))
    assert [(key.split()[0], key.split()[-1]) for key in told] == [(name, "length") for name in BOARDS]


def test_a_price_that_is_confirmed_confirms_no_other() -> None:
    """And none is judged by it: of two lengths one confirmed price settles both."""

    def left(prices: tuple[float, ...], *confirmed: str) -> list[str]:
        stock = [{"length": f"{6 + 2 * k} ft", "price": p} for k, p in enumerate(prices)]
        keys = [f"[[posts.stock]] {length} price" for length in confirmed]
        return list(doubts({"posts": {"stock": stock}, "job": {"confirmed": keys}}))

    assert left((9, 1300, 15, 0.2)) == ["[[posts.stock]] 8 ft price"]
    assert left((9, 1300, 15, 0.2), "8 ft") == ["[[posts.stock]] 12 ft price"]
    assert left((9, 1300, 15, 0.2), "8 ft", "12 ft") == []
    assert left((9, 12, 1500)) == ["[[posts.stock]] 10 ft price"]
    assert left((9, 1300)) == ["[[posts.stock]] 6 ft price"]
    assert left((9, 1300), "8 ft") == []


@pytest.mark.parametrize(
    ("table", "key", "usual"),
    [
        ("posts", "bag_price", 5.35),
        ("posts", "gravel_bag_price", 4.85),
        ("fasteners", "box_price", 11.99),
        ("fasteners", "framing_box_price", 21.0),
        ("fasteners", "hinge_price", 14.0),
        ("fasteners", "latch_price", 12.5),
        ("fasteners", "drop_rod_price", 16.0),
        ("soil", "price", 40.0),
    ],
)
def test_a_price_beside_the_boards_is_doubted_a_hundred_times_over_and_under(
    table: str, key: str, usual: float
) -> None:
    """In whatever money, by what a board costs; nothing is said where no board has a price."""

    def told(times: float, money: float = 1.0, board: float | None = 4.1) -> list[str]:
        price = {} if board is None else {"price": board * money}
        stock = {"stock": [{"length": "6 ft", **price}]}
        return list(doubts({"pickets": stock, table: {key: usual * times * money}}))

    for money in (1.0, 150.0):
        assert told(1.0, money) == []
        assert told(100.0, money) == told(0.01, money) == [f"[{table}] {key}"]
    assert told(100.0, board=None) == []


def test_a_price_is_doubted_from_twelve_times_the_others_and_a_longer_board_from_a_lower_price() -> None:
    def priced(*prices: float) -> Doubts:
        stock = [{"length": f"{6 + k} ft", "price": (6 + k) * p} for k, p in enumerate(prices)]
        return doubts({"pickets": {"stock": stock}})

    assert priced(1, 1, 12) == {}
    assert priced(1, 1, 12.01).keys() == {"[[pickets.stock]] 8 ft price"}
    assert priced(12, 12, 12) == {}
    assert "far from what" in priced(0.99, 12, 12)["[[pickets.stock]] 6 ft price"]
    assert "less than half" in priced(1, 12, 12)["[[pickets.stock]] 6 ft price"]
    assert priced(6, 12, 12) == {}
    same = [{"length": "6 ft", "price": 4.0}, {"length": "8 ft", "price": 4.0}]
    assert doubts({"rails": {"stock": same}}) == {}
    same[1]["price"] = 3.99
    assert doubts({"rails": {"stock": same}}) == {
        "[[rails.stock]] 6 ft price": "6 ft at 4.00 is dearer than 8 ft at 3.99: "
        "the longer is bought and cut in its place"
    }
    # by their others 8 ft is off by 1.29 and 6 ft by 1.21, too alike to doubt the longer; or by 1.63 and 1.27
    for prices, doubted in (((6.6, 6.5, 10), 6), ((6.2, 5, 10), 8)):
        stock = [{"length": f"{n} ft", "price": p} for n, p in zip((6, 8, 10), prices, strict=True)]
        assert doubts({"pickets": {"stock": stock}}).keys() == {f"[[pickets.stock]] {doubted} ft price"}


def test_the_price_that_is_off_from_the_others_is_the_one_doubted() -> None:
    """One typed by the metre or the foot, be it the shortest or not; a dear long board is none."""

    def priced(**prices: float) -> Doubts:
        stock = [{"length": f"{name[1:]} mm", "price": price} for name, price in prices.items()]
        return doubts({"pickets": {"stock": stock}, "job": {"units": "metric", "tape": "1 mm"}})

    usual = {"_1200": 2.1, "_1400": 2.55, "_1500": 2.8, "_1800": 3.6}
    assert priced(**usual) == priced(_900=1, _1800=2, _4800=30) == {}
    assert priced(**usual | {"_1200": 0.64}) == {
        "[[pickets.stock]] 1.2 m price": "1.2 m at 0.64 is less than half of what it costs by the other "
        "lengths (2.24): a price is that of a whole board, not of a foot or a metre of it"
    }
    for key in usual:
        told = priced(**usual | {key: usual[key] * 0.3048})
        assert [place.split()[1:] for place in told] == [[f"{int(key[1:]) / 1000:g}", "m", "price"]]
    assert priced(_1200=0.64, _1800=3.6).keys() == {"[[pickets.stock]] 1.2 m price"}
    (cheaper,) = priced(_1200=1.9, _1400=2.55, _1500=2.8, _1800=1.85).items()
    assert cheaper == (
        "[[pickets.stock]] 1.8 m price",
        "1.8 m at 1.85 is cheaper than 1.2 m at 1.90: the longer is bought and cut in its place",
    )


def test_a_board_half_as_long_again_costs_a_seventh_more_at_least() -> None:
    """As boards do that are priced whole; lengths that lie nearer may be sold alike."""

    def priced(*stock: tuple[float, float]) -> Doubts:
        return doubts({"rails": {"stock": [{"length": f"{n} in", "price": p} for n, p in stock]}})

    assert priced((96, 1.0), (144, 1.16)) == priced((96, 1.0), (143, 1.0), (144, 1.5)) == {}
    assert priced((96, 1.0), (120, 1.1), (144, 1.15)) == {
        "[[rails.stock]] 8 ft price": "8 ft at 1.00 is hardly cheaper than 12 ft at 1.15: a price is that of "
        "a whole board, not of a foot or a metre of it"
    }


def test_posts_and_rails_are_doubted_where_their_wood_costs_a_twelfth_of_the_pickets() -> None:
    """A picket of 1 x 4 in and 50 in for 6 costs 0.03 a cubic inch: a twelfth of it is 0.0025, thirty times
    as much 0.9."""

    def priced(post: float, rail: float, *old: dict[str, Any]) -> Doubts:
        boards = {"width": "4 in", "thickness": "1 in", "stock": [{"length": "50 in", "price": 6.0}]}
        posts = {"width": "4 in", "stock": [*old, {"length": "100 in", "price": post}]}
        rails = {"height": "4 in", "thickness": "2 in", "stock": [{"length": "100 in", "price": rail}]}
        return doubts({"pickets": boards, "posts": posts, "rails": rails})

    assert priced(4.0001, 2.0001) == priced(400.0, 0.0) == priced(1439.9, 719.9) == {}
    assert priced(1440.1, 720.1) == {
        f"[[{name}.stock]] 100 in price": f"{told} for 100 in is far more for its wood than pickets cost "
        "(6.00 for 50 in): a decimal point may have slipped in either"
        for name, told in (("posts", "1,440.10"), ("rails", "720.10"))
    }
    found = priced(3.99, 1.99)
    assert found.keys() == {"[[posts.stock]] 100 in price", "[[rails.stock]] 100 in price"}
    assert found["[[posts.stock]] 100 in price"].startswith(
        "3.99 for 100 in is far less for its wood than pickets cost (6.00 for 50 in)"
    )
    gone = {"length": "90 in", "price": 3.5, "on_hand": 1, "limit": 0}
    assert priced(3.99, 1.99, gone) == found, "what is no longer sold is not what is doubted"


def test_a_string_is_measured_from_where_its_run_begins() -> None:
    """Of 20 ft read from 30 ft on, a string from there to 80 ft spans two and a half times as much."""
    words = Words.of_readings(UnitSystem.IMPERIAL)

    def told(end: str) -> list[str]:
        run = written(Run, name="lane", survey="a.csv", start="30 ft", string=[{"end": end}])
        return [p.found for p in far_string(run, "job.toml", 600.0, (), words)]

    assert told("80 ft") == []
    assert [found.partition(" 0")[0] for found in told("80 ft 1 in")] == [
        "80' 1\" is far past the last reading at 50'"
    ]


def test_keys_of_a_run_at_and_past_what_is_usual() -> None:
    def gate(width: str) -> dict[str, Any]:
        return {"gate": [{"station": "1 ft", "width": width}]}

    def stretch(key: str, height: str) -> dict[str, Any]:
        return {key: [{"start": "0 ft", "end": "4 ft", "height": height}]}

    def sag(inches: str, **ends: str) -> dict[str, Any]:
        return {"string": [{"sag": f"{inches} in", **ends}]}

    whole = {"start": "10 ft", "end": "60 ft"}
    for just, past in (
        (gate("12 in"), gate("11-15/16 in")),
        (gate("24 ft"), gate("24 ft 1/16 in")),
        ({"reading_error": "1 in"}, {"reading_error": "1-1/16 in"}),
        (stretch("clearance", "6 in"), stretch("clearance", "6-1/16 in")),
        (stretch("keep_open", "12 in"), stretch("keep_open", "12-1/16 in")),
        (sag("20"), sag("20.1")),
        (sag("10", **whole), sag("10.1", **whole)),
        (sag("10") | whole, sag("10.1") | whole),
        (sag("4", start="40 ft") | whole, sag("4.1", start="40 ft") | whole),
        (sag("12", end="1 ft") | {"start": "1 ft"}, sag("20.1", end="1 ft") | {"start": "1 ft"}),
    ):
        assert doubts({}, just) == {}
        assert len(doubts({}, past)) == 1


@pytest.mark.parametrize("marks", ["1/32 1/16 1/8 1/4 1/2 1 in", "0.5 1 2 5 10 mm"])
def test_the_marks_of_tapes_that_are_sold(marks: str) -> None:
    *sizes, unit = marks.split()
    assert [doubts({}, tape=f"{size} {unit}") for size in sizes] == [{}] * len(sizes)
    for other in ("3/32 in", "3/4 in", "0.6 mm", "1.1 mm", "4 mm", "10.1 mm"):
        assert doubts({}, tape=other).keys() == {"[job] tape"}
