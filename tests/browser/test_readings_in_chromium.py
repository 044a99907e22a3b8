"""The page that takes readings, in a real browser: its doubts are Python's, and nothing is lost."""

import json
import random
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from fencegrade.ground.taking import Taken, disagrees, every_doubt, rules
from fencegrade.job.read import read_job
from fencegrade.job.survey import Side, StringSurvey
from fencegrade.sheets.page.readings import readings_page
from fencegrade.units import UnitSystem

pytestmark = pytest.mark.browser

PHONE = (360, 740)
SIDES = {"before": Side.BEFORE, "after": Side.AFTER, "": None}
Row = tuple[float, float, str]


@pytest.fixture(scope="session")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[UnitSystem, Path]:
    folder = tmp_path_factory.mktemp("readings")
    made = {}
    for system in UnitSystem:
        path = folder / f"{system}.html"
        path.write_bytes(readings_page("Goat <b>paddock", system, [("north", "north.csv")]))
        made[system] = path
    return made


@pytest.fixture
def phone(new_tab: Callable[[], Any]) -> Any:
    tab = new_tab()
    tab.size(*PHONE, phone=True)
    return tab


def rows_of(chance: random.Random, system: UnitSystem) -> list[Row]:
    """Readings as people take them: a wandering ground, and now and then a slip, a repeat or a kerb."""
    unit = 0.125 if system is UnitSystem.IMPERIAL else 1 / 25.4
    rows: list[Row] = []
    station, drop = 0.0, chance.uniform(10, 40)
    for _ in range(chance.randrange(2, 16)):
        drop = max(1.0, drop + chance.gauss(0, 2.5))
        odd = chance.choice((0, 0, 0, 0, 0, 12, -12, 100 / 25.4, drop * 1.54, 150))
        read = round(max(0.0, drop + odd) / unit) * unit
        kind = chance.random()
        if kind < 0.1:
            rows += [(station, read, "before"), (station, read + 6, "after")]
        else:
            rows.append((station, read, ""))
        if kind > 0.9:
            rows.append((station, read + chance.choice((0.0, 0.25, 0.75)), ""))
        station += chance.choice((24.0, 48.0, 48.0, 48.0, 72.0))
    if chance.random() < 0.3:
        chance.shuffle(rows)
    return rows


def test_the_page_doubts_what_python_doubts(pages: dict[UnitSystem, Path], phone: Any) -> None:
    """300 lists of readings, each judged as it grows; words, readings meant and figures that would fit."""
    chance = random.Random(7)
    for system in UnitSystem:
        phone.open(pages[system])
        lists = [rows_of(chance, system) for _ in range(150)]
        metric = system is UnitSystem.METRIC
        asked: list[list[dict[str, Any]]] = [
            [{"station": s, "drop": d, "side": side} for s, d, side in rows[: n + 1]]
            for rows in lists
            for n in range(len(rows))
        ]
        told = phone.run(
            f"(() => {{ const rules = {json.dumps(rules(system))}; return {json.dumps(asked)}.map((rows) => "
            f"[everyDoubt(rows, rules, {json.dumps(metric)}), "
            "disagreesWith(rows.slice(0, -1), rows[rows.length - 1], rules)]); })()"
        )
        doubted = 0
        for rows, (doubts, other) in zip(asked, told, strict=True):
            taken = [Taken(station=r["station"], drop=r["drop"], side=SIDES[r["side"]]) for r in rows]
            wanted = every_doubt(taken, system)
            assert [d["found"] for d in doubts] == [w.found for w in wanted]
            for doubt, one in zip(doubts, wanted, strict=True):
                assert (doubt["index"], tuple(doubt["stations"])) == (one.index, one.stations)
                assert doubt["wouldFit"] == pytest.approx(one.would_fit)
            doubted += len(doubts)
            earlier = disagrees(taken[:-1], taken[-1], system)
            assert (taken[other] if other >= 0 else None) == earlier
        assert doubted > 60


def enter(tab: Any, **boxes: str) -> None:
    """Fill the form and take the reading."""
    for name, text in boxes.items():
        quoted = json.dumps(text)
        if name == "mark":
            tab.run(
                f"document.querySelector('input[name=mark][value=' + JSON.stringify({quoted}) + ']').click()"
            )
        else:
            tab.run(f"document.querySelector('input[name={name}]').value = {quoted}")
    tab.click("[data-take]")


def text_of(tab: Any) -> str:
    found = tab.run("document.querySelector('[data-text]').value")
    assert isinstance(found, str)
    return found


def test_readings_by_the_keys_are_kept_and_become_a_survey(
    pages: dict[UnitSystem, Path], phone: Any, tmp_path: Path
) -> None:
    phone.open(pages[UnitSystem.IMPERIAL])
    for query in (
        "input[name=along_ft]",
        "[data-key-text='1']",
        "[data-key-text='2']",
        "input[name=along_in]",
    ):
        phone.click(query)
    for query in (
        "[data-key-text='6']",
        "[data-fraction='1/2']",
        "input[name=down_in]",
        "[data-key-text='3']",
    ):
        phone.click(query)
    for query in ("[data-key-text='1']", "[data-fraction='3/8']", "[data-sixteenth]", "[data-take]"):
        phone.click(query)
    enter(phone, along_ft="0", down_in="30")
    enter(phone, along_ft="4", down_in="30 1/2", mark="wall, before")
    enter(phone, along_ft="4", down_in="36", mark="wall, after")
    enter(phone, along_ft="8", down_in="33", mark="gate post", note='oak, "old"')
    before = text_of(phone)
    phone.reload()
    assert text_of(phone) == before
    assert before.splitlines() == [
        "station,drop,side,note",
        "0 ft,30 in,,",
        "4 ft,30 1/2 in,before,",
        "4 ft,36 in,after,",
        '8 ft,33 in,,"gate post, oak, ""old"""',
        "12 ft 6 1/2 in,31 7/16 in,,",
    ]
    (tmp_path / "north.csv").write_text(before, encoding="utf-8")
    survey = read_job(tmp_path / "north.csv").surveys[0]
    assert isinstance(survey, StringSurvey)
    assert [(r.station, r.drop) for r in survey.rows] == [
        (0.0, 30.0),
        (48.0, 30.5),
        (48.0, 36.0),
        (96.0, 33.0),
        (150.5, 31.4375),
    ]
    assert not phone.complaints()
    assert all(address.startswith("file:") for address in phone.requests())


def test_a_slipped_foot_is_asked_about_and_corrected(pages: dict[UnitSystem, Path], phone: Any) -> None:
    phone.open(pages[UnitSystem.METRIC])
    for k, down in enumerate(("800", "810", "815", "930", "820", "825")):
        enter(phone, along_m=f"{1.2 * k:.1f}", down_mm=down)
    words = phone.run("document.querySelector('[data-doubt-words]').textContent")
    assert "930 mm at 3.600 m puts the ground" in words
    assert "a slip of 100 mm" in words
    phone.click("[data-doubt-correct]")
    assert phone.run("document.querySelector('input[name=down_mm]').value") == "930"
    enter(phone, down_mm="830")
    assert phone.run("document.querySelector('[data-doubt]').hidden")
    assert "3.6 m,830 mm," in text_of(phone)
    enter(phone, along_m="7.2", down_mm="700")
    enter(phone, along_m="8.4", down_mm="825")
    assert "a slip of 100 mm" in phone.run("document.querySelector('[data-doubt-words]').textContent")
    phone.click("[data-doubt-keep]")
    assert phone.run("document.querySelector('[data-doubt]').hidden")
    assert "7.2 m,700 mm,confirmed" in text_of(phone)
    enter(phone, along_m="abc", down_mm="1")
    assert "type a number" in phone.run("document.querySelector('[data-wrong]').textContent")


def test_a_foot_in_the_inches_and_a_drop_below_nothing_are_not_taken(
    pages: dict[UnitSystem, Path], phone: Any
) -> None:
    phone.open(pages[UnitSystem.IMPERIAL])
    wrong = "document.querySelector('[data-wrong]').textContent"
    enter(phone, along_ft="16", along_in="13", down_in="30")
    assert phone.run(wrong).startswith("How far along: type a number")
    enter(phone, along_in="11-1/2", down_in="-3")
    assert phone.run(wrong).startswith("How far down: type a number")
    enter(phone, down_in="30-1/2")
    assert phone.run(wrong) == ""
    assert "16 ft 11 1/2 in,30 1/2 in," in text_of(phone)


@pytest.mark.parametrize("scale", [1.0, 1.5, 2.0])
@pytest.mark.parametrize("width", [360, 390])
def test_nothing_is_cut_off_on_a_phone(
    pages: dict[UnitSystem, Path], new_tab: Callable[[], Any], width: int, scale: float
) -> None:
    tab = new_tab()
    tab.size(width, 740, phone=True)
    tab.open(pages[UnitSystem.IMPERIAL])
    enter(tab, along_ft="104", along_in="11 15/16", down_in="131 15/16", note="Quince" * 12)
    tab.run(f"document.documentElement.style.fontSize = '{16 * scale}px'")
    assert tab.run("document.documentElement.scrollWidth") <= width


def points_of(tab: Any, line: int) -> list[tuple[float, ...]]:
    """The points of one ground line of the drawing."""
    text = tab.run(f"document.querySelectorAll('[data-ground] polyline')[{line}].getAttribute('points')")
    return [tuple(map(float, pair.split(","))) for pair in text.split()]


def words_of(tab: Any) -> list[str]:
    """The words on the drawing of the ground."""
    found = tab.run("[...document.querySelectorAll('[data-ground] text')].map((t) => t.textContent)")
    assert isinstance(found, list)
    return found


def test_a_string_that_shares_no_stake_is_drawn_by_itself(pages: dict[UnitSystem, Path], phone: Any) -> None:
    phone.open(pages[UnitSystem.IMPERIAL])
    for far, down in (("0", "7"), ("4", "9"), ("8", "13")):
        enter(phone, along_ft=far, down_in=down)
    assert words_of(phone)[0] == "string"
    phone.click("[data-next-string]")
    enter(phone, along_ft="12", down_in="6")
    assert words_of(phone)[:2] == ["string A", "string B, no stake shared"]


def test_strings_and_runs_are_told_apart(phone: Any, tmp_path: Path) -> None:
    """A string that is moved begins a set-up of its own, judged by itself; each run keeps its own."""
    page = tmp_path / "yard.html"
    runs = [("back", "back.csv"), ("side", "side.csv")]
    page.write_bytes(readings_page("Goat yard", UnitSystem.IMPERIAL, runs))
    phone.open(page)
    for far, down in (("0", "7"), ("4", "9"), ("8", "13"), ("12", "17"), ("16", "21"), ("20", "30")):
        enter(phone, along_ft=far, down_in=down)
    assert text_of(phone).startswith("station,drop,note\n")
    phone.click("[data-next-string]")
    phone.click("input[name=string][value=A]")
    assert phone.run("document.querySelector('[data-strings]').hidden"), "pressed by mistake and taken back"
    phone.click("[data-next-string]")
    for far, down in (("20", "6"), ("24", "7"), ("28", "11 1/2"), ("32", "13"), ("36", "15"), ("40", "18")):
        enter(phone, along_ft=far, down_in=down)
    assert phone.run("document.querySelector('[data-doubt]').hidden")
    # the stake at 20 ft was read under both: B hangs 24 in below A, and the ground is drawn as one
    ends, starts = (points_of(phone, k) for k in (0, 1))
    assert ends[-1] == starts[0]
    assert all(b[1] > a[1] for a, b in pairwise([*ends, *starts[1:]])), "it falls all the way"
    assert words_of(phone)[:2] == ["string A", "string B"]
    phone.click("input[name=string][value=A]")
    enter(phone, along_ft="2", down_in="8")
    text = text_of(phone)
    phone.reload()
    assert text_of(phone) == text
    lines = text.splitlines()
    assert lines[:3] == ["station,drop,string,note", "0 ft,7 in,A,", "2 ft,8 in,A,"]
    assert [line for line in lines if line.startswith("20 ft")] == ["20 ft,30 in,A,", "20 ft,6 in,B,"]
    (tmp_path / "back.csv").write_text(text)
    (tmp_path / "job.toml").write_text(
        '[job]\ntitle = "Yard"\nunits = "imperial"\n[[run]]\nname = "back"\nsurvey = "back.csv"\n'
        '[[run.string]]\nid = "A"\nend = "20 ft"\nheight = "0 in"\n'
        '[[run.string]]\nid = "B"\nstart = "20 ft"\n[[pickets.stock]]\nlength = "6 ft"\n'
    )
    survey = read_job(tmp_path).surveys[0]
    assert isinstance(survey, StringSurvey)
    assert [r.string for r in survey.rows] == ["A"] * 7 + ["B"] * 6
    phone.click("input[name=run][value='side.csv']")
    assert text_of(phone) == "station,drop,note\n"
    enter(phone, along_ft="0", down_in="14")
    assert phone.run("document.querySelector('[data-survey-name]').textContent") == "side.csv"
    phone.click("input[name=run][value='back.csv']")
    assert text_of(phone) == text
    assert not phone.complaints()
