"""The page while the fence goes up: ticks that outlive a new plan, two phones, measures, what stands."""

import json
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from fencegrade.job.read import read_job
from fencegrade.planning.plan import FencePlan, plan_fence
from fencegrade.problems import JobMistakesError
from fencegrade.sheets.page.page import phone_page
from fencegrade.units import parse_length
from fencegrade.units.words import Words

pytestmark = pytest.mark.browser

JOB = """
[job]
title = "Duck pond"
units = "{units}"
[[run]]
name = "east \\"side\\""
survey = "east.csv"
[top]
style = "{style}"
least_height = "{height}"
[pickets]
bottom_cut = "{bottom}"
[[pickets.stock]]
length = "6 ft"
price = {price}
[[pickets.stock]]
length = "8 ft"
price = 6.85
"""
EAST = "station [ft],drop [in]\n0,20\n6,20\n10,24\n14,30\n18,22\n24,20\n"

SET = (
    "(b => { b.value = %s; b.dispatchEvent(new Event('change', {bubbles: true})); })"
    '(document.querySelector("%s"))'
)
Open = Callable[[], Any]


def planned(
    folder: Path, *, height: str = "5 ft 8 in", price: float = 4.1, style: str = "level", **words: str
) -> tuple[FencePlan, Path]:
    """A plan and its page."""
    folder.mkdir(parents=True, exist_ok=True)
    words = {"units": "imperial", "bottom": "square", "survey": EAST, **words}
    survey = words.pop("survey")
    (folder / "job.toml").write_text(JOB.format(height=height, price=price, style=style, **words), "utf-8")
    (folder / "east.csv").write_text(survey, encoding="utf-8")
    plan = plan_fence(read_job(folder))
    (folder / "fence.html").write_bytes(phone_page(plan, []))
    return plan, folder / "fence.html"


@pytest.fixture
def phone(new_tab: Open) -> Any:
    tab = new_tab()
    tab.size(390, 740, phone=True)
    return tab


def words_of(tab: Any, query: str) -> str:
    found: str = tab.run(f"(e => e.hidden ? '' : e.textContent)(document.querySelector({json.dumps(query)}))")
    return found


def tick(tab: Any, number: int, kind: str = "cut") -> None:
    tab.click(f"#p1-{number} [data-tick={kind}]")


def put(tab: Any, number: int, **texts: str) -> None:
    """Type into the panel of a board."""
    if not tab.run(f"Boolean(document.querySelector('#p1-{number} .panel'))"):
        tab.click(f"#p1-{number} [data-measure]")
    for name, text in texts.items():
        tab.run(SET % (json.dumps(text), f"#p1-{number} .panel input[data-text^='{name}|']"))


def progress(tab: Any) -> str:
    return words_of(tab, "[data-progress-words]")


def test_a_new_plan_keeps_what_is_still_true_and_tells_what_changed(phone: Any, tmp_path: Path) -> None:
    plan, page = planned(tmp_path)
    count = len(plan.runs[0].slots)
    phone.open(page)
    for number in (3, 4, 5):
        tick(phone, number)
    tick(phone, 3, "hung")
    assert progress(phone) == f"3 of {count} cut, 1 hung"
    planned(tmp_path, price=4.6)
    phone.open(page)
    assert progress(phone) == f"3 of {count} cut, 1 hung"
    assert words_of(phone, "[data-changed]") == ""
    planned(tmp_path, height="5 ft 9 in")
    phone.open(page)
    assert progress(phone) == f"0 of {count} cut, 1 hung"
    assert "boards 3-5" in words_of(phone, "[data-changed]")
    phone.click("[data-changed-clear]")
    assert words_of(phone, "[data-changed]") == ""
    planned(tmp_path)
    phone.open(page)
    assert progress(phone) == f"0 of {count} cut, 1 hung"


def test_two_phones_merge_without_loss(new_tab: Open, browser: Any, tmp_path: Path) -> None:
    _, page = planned(tmp_path)
    first = new_tab()
    first.open(page)
    tick(first, 1)
    tick(first, 2)
    put(first, 2, edge="11 1/2")
    first.click("[data-copy-kept]")
    given = first.run("document.querySelector('[data-other]').value")
    first.run("localStorage.clear()")
    first.reload()
    tick(first, 2)
    tick(first, 2)
    tick(first, 3)
    first.run(f"document.querySelector('[data-other]').value = {json.dumps(given)}")
    first.click("[data-take-kept]")
    cut = (
        "Array.from(document.querySelectorAll('[data-tick=cut]:checked'), "
        "b => b.closest('.picket').dataset.number)"
    )
    assert first.run(cut) == ["1", "3"], "2 was changed last here, taken off"
    assert words_of(first, "[data-told]").startswith("Taken in; 2 things are new here")
    assert 'far_edge = "11 1/2 in"' in first.run("document.querySelector('[data-built]').value")
    first.click("[data-take-kept]")
    assert words_of(first, "[data-told]").startswith("Taken in; 0 things")
    for rubbish in (
        "",
        "7",
        "{",
        '{"ticks": 3}',
        '{"fencegrade": "kept/1", "ticks": [1], "texts": {"a": 3}}',
    ):
        first.run(f"document.querySelector('[data-other]').value = {json.dumps(rubbish)}")
        first.click("[data-take-kept]")
        assert first.run(cut) == ["1", "3"]
    assert first.complaints() == []


@pytest.mark.parametrize("units", ["imperial", "metric"])
def test_what_stands_is_written_as_the_record(phone: Any, tmp_path: Path, units: str) -> None:
    plan, page = planned(tmp_path, units=units)
    phone.open(page)
    tick(phone, 4, "hung")
    far, width, drop = (
        ("22' 1-1/2\"", "5-9/16", "50 1/4") if units == "imperial" else ("0.6735", "141", "1276.5")
    )
    kept = "49-7/8" if units == "imperial" else "1266"
    put(phone, 4, edge=far, width=width, kept=kept)
    put(phone, 9, drop0=drop, drop1=drop + " in" if units == "imperial" else drop + " mm")
    phone.click("#posts [data-post='2'] [data-measure]")
    phone.run(SET % ("'8 ft 1/2 in'", "#posts [data-post='2'] .panel input"))
    phone.run(SET % ("'14'", "[data-left]"))
    phone.reload()
    record = tomllib.loads(phone.run("document.querySelector('[data-built]').value"))
    (run,) = record["run"]
    unit = "in" if units == "imperial" else "mm"
    far = far if units == "imperial" else "0.6735 m"
    assert run["name"] == 'east "side"'
    hung = {"number": 4, "far_edge": far, "width": f"{width} {unit}", "kept": f"{kept} {unit}"}
    assert run["picket"] == [hung]
    assert run["post"] == [{"number": 2, "station": "8 ft 1/2 in"}]
    (measured,) = run["measured"]
    assert (measured["number"], measured["drop"]) == (9, [f"{drop} {unit}", f"{drop} {unit}"])
    assert parse_length(measured["left_edge"]) == pytest.approx(plan.runs[0].slots.left[8], abs=1 / 50)
    assert record["left"][0]["count"] == 14
    assert parse_length(record["left"][0]["length"]) == 72
    assert phone.complaints() == []


def test_what_is_typed_and_of_no_use_yet_is_told(phone: Any, tmp_path: Path) -> None:
    """A width without its edge, a top without its post's place, a length and a count that cannot be read."""
    _, page = planned(tmp_path)
    phone.open(page)
    put(phone, 4, width="5-3/8")
    put(phone, 6, edge="two feet", drop0="31 1/2")
    phone.click("#posts [data-post='2'] [data-measure]")
    phone.run(SET % ("'6 ft'", "#posts [data-post='2'] .panel label:nth-child(2) input"))
    phone.run(SET % ("'few'", "[data-left]"))
    built = phone.run("document.querySelector('[data-built]').value")
    assert [row["number"] for row in tomllib.loads(built)["run"][0]["measured"]] == [6]
    assert [line for line in built.splitlines() if line.startswith("# Not taken")] == [
        "# Not taken: picket 4, its width 5-3/8: write where its far edge stands as well.",
        "# Not taken: picket 6, far edge stands at two feet: cannot be read, write it as 21' 6-1/2\".",
        "# Not taken: post 2, top over the ground 6 ft: write where it stands as well.",
        "# Not taken: boards left of 6 ft, few: write a whole number.",
    ]
    assert phone.run("document.querySelector('[data-untaken]').textContent").count("Not taken: ") == 4
    at_card = phone.run("document.querySelector('.picket[data-number=\"4\"] [data-measured]').textContent")
    assert at_card == "its width 5-3/8: write where its far edge stands as well"
    put(phone, 4, edge="22' 1-1/2\"")
    assert "picket 4" not in phone.run("document.querySelector('[data-untaken]').textContent")
    assert phone.complaints() == []


def test_a_bare_number_has_the_unit_that_its_place_is_told_in(phone: Any, tmp_path: Path) -> None:
    _, page = planned(tmp_path, units="metric")
    phone.open(page)
    put(phone, 4, edge="0,62", width="139,5")
    phone.click("#posts [data-post='2'] [data-measure]")
    for label, text in ((1, "2.4"), (2, "1650")):
        phone.run(SET % (f"'{text}'", f"#posts [data-post='2'] .panel label:nth-child({label}) input"))
    run = tomllib.loads(phone.run("document.querySelector('[data-built]').value"))["run"][0]
    assert run["picket"] == [{"number": 4, "far_edge": "0,62 m", "width": "139,5 mm"}]
    assert run["post"] == [{"number": 2, "station": "2.4 m", "top": "1650 mm"}]


LENGTHS = (
    *("31", "31.5", "31 1/2", "31-1/2", "1/2", "31 in", "31-1/2 in", "2 ft", "2 ft 7 1/2 in", "2' 7-1/2\""),
    *("2'", '7"', "1.2 m", "45 cm", "815 mm", "815.5mm", "", "x", "3/0 in", "2 in 3 ft", "2 ft 3 ft"),
    *("3 1/2 1/4 in", "1.5 1/2 in", "5 furlongs", "31,5", "8,25 m", "1,613 mm", "1,2345", "2,5 1/2 in"),
    *(
        "27' 10 1/2",
        "21 ft 0 1/2",
        "27 ft 10",
        "2 ft 13 in",
        "2 ft 12",
        "2 ft 11.5",
        "2 ft x",
        "2 m 3",
        "3' -1/2",
    ),
)


def test_lengths_are_read_as_python_reads_them(phone: Any, tmp_path: Path) -> None:
    _, page = planned(tmp_path)
    phone.open(page)
    read = phone.run(
        f"{json.dumps(LENGTHS)}.map(t => inchesOf(t, 'in')).map(n => Number.isFinite(n) ? n : null)"
    )
    for text, found in zip(LENGTHS, read, strict=True):
        try:
            wanted = parse_length(text, "in")
        except ValueError:
            wanted = None
        assert (found is None) == (wanted is None), text
        if wanted is not None:
            assert found == pytest.approx(wanted), text


def test_links_land_on_their_section_and_a_reload_comes_back(phone: Any, tmp_path: Path) -> None:
    _, page = planned(tmp_path)
    phone.open(page)
    for section in ("buy", "rails", "stands", "posts", "cut"):
        phone.run(f"document.querySelector('nav a[href=\"#{section}\"]').click()")
        phone.browser.listen(0.2)
        top = phone.run(f"document.querySelector('#{section} h2').getBoundingClientRect().top")
        bar = phone.run("document.querySelector('.bar').getBoundingClientRect().bottom")
        assert bar - 2 <= top <= bar + 80 or phone.run(
            "innerHeight + scrollY >= document.body.scrollHeight - 2"
        )
    phone.open(page)
    phone.run("document.querySelector('#p1-30').scrollIntoView({block: 'start'})")
    phone.browser.listen(0.1)
    phone.reload()
    phone.browser.listen(0.2)
    place = phone.run("document.querySelector('#p1-30').getBoundingClientRect().top")
    assert -200 < place < 500


@pytest.mark.parametrize("scale", [1.0, 1.5, 2.0])
@pytest.mark.parametrize("width", [360, 390])
def test_numbers_stay_whole_and_largest_at_any_size_of_text(
    new_tab: Open, tmp_path: Path, width: int, scale: float
) -> None:
    _, page = planned(tmp_path, units="imperial")
    tab = new_tab()
    tab.size(width, 740, phone=True)
    tab.open(page)
    tab.run(f"document.documentElement.style.fontSize = '{16 * scale}px'")
    assert tab.run("document.documentElement.scrollWidth") <= width
    lines = (
        "Array.from(document.querySelectorAll('.picket .kept')).map(e => { const r = document.createRange(); "
        "r.selectNodeContents(e); return r.getClientRects().length; })"
    )
    assert set(tab.run(lines)) == {1}
    sizes = tab.run(
        "Array.from(document.querySelectorAll('#p1-1 :not(input):not([hidden])'), e => "
        "[parseFloat(getComputedStyle(e).fontSize), e.className]).sort((a, b) => b[0] - a[0])"
    )
    assert sizes[0][1] == "kept"


def test_a_far_edge_that_no_board_ends_at_is_doubted_by_the_page_as_by_the_plan(
    phone: Any, tmp_path: Path
) -> None:
    """Picket 12 a quarter inch on, 20 a board short of it, 30 in inches that are meant for another place."""
    before, page = planned(tmp_path)
    right = before.runs[0].slots.right
    phone.open(page)
    for number, edge in ((12, right[11] + 0.25), (20, right[18] + 0.25), (21, right[20] + 0.5), (30, 51.375)):
        put(phone, number, edge=f"{edge:.4f} in")
    said = [words_of(phone, f"#p1-{number} [data-measured]") for number in (12, 20, 21, 30)]
    words = Words.of(before.job.job)
    starts = [
        f"COUNT AGAIN: it is planned to end at {words.station(float(right[n - 1]))}, this is "
        for n in (20, 30)
    ]
    assert [said[0], said[2]] == ["", ""]
    assert said[1].startswith(starts[0])
    assert said[1].endswith(" in less")
    assert said[3].startswith(starts[1])
    assert "Picket 30, east" in words_of(phone, "[data-untaken]")
    (tmp_path / "built.toml").write_text(phone.run("document.querySelector('[data-built]').value"), "utf-8")
    with pytest.raises(JobMistakesError, match=r"far_edge: 4. 3-3"):
        plan_fence(read_job(tmp_path))


@pytest.mark.parametrize("style", ["level", "racked"])
@pytest.mark.parametrize("bottom", ["square", "scribed"])
def test_a_board_measured_on_the_page_is_cut_as_the_plan_then_has_it(
    phone: Any, tmp_path: Path, style: str, bottom: str
) -> None:
    """The drop typed at a board gives the length there and then; the record copied gives the same plan."""
    before, page = planned(tmp_path, style=style, bottom=bottom)
    words = Words.of(before.job.job)
    phone.open(page)
    run = before.runs[0]
    typed: dict[int, tuple[float, ...]] = {}
    for number, more in ((9, (0.5, 1.25)), (20, (-0.75, 0.0)), (31, (1.125, -0.5)), (40, (0.375,))):
        top = float(run.cuts.top[number - 1])
        ground = run.ground.profile.line.elevation(run.slots.centre[number - 1 : number])
        deep = [round((top - float(ground[0]) + m) * 16) / 16 for m in more]
        typed[number] = tuple(deep)
        put(phone, number, **{f"drop{k}": f"{d} in" for k, d in enumerate(deep)})
    typed[14] = (4.4375,)  # 113 of another unit: far from what the readings say
    put(phone, 14, drop0="4-7/16 in")
    told = {n: words_of(phone, f"#p1-{n} [data-measured]") for n in typed}
    (tmp_path / "built.toml").write_text(phone.run("document.querySelector('[data-built]').value"), "utf-8")
    plan = plan_fence(read_job(tmp_path))
    after, rows = plan.runs[0].cuts, plan.job.built.of(run.run.name).measured
    doubted = {r.number for r in rows if any(p.place == f"{r.place}, drop" for p in plan.problems)}
    assert 14 in doubted
    assert {n for n, text in told.items() if text.startswith("MEASURE AGAIN: the ground")} == doubted
    for number, text in told.items():
        k = number - 1
        text = text.split("what the readings say; ")[-1]
        if "longer than its board" in text:  # the plan then takes it whole, where the gap may stay
            assert after.kept[k] * before.mark in {72.0, 96.0}
            continue
        assert text.startswith(f"measured here: keep {words.length(after.kept[k] * before.mark)}")
        left, right = (float(side[k] * before.mark) for side in (after.kept_left, after.kept_right))
        if left != right:
            assert text.endswith(f"left side {words.length(left)}, right side {words.length(right)}")


RECORD = """
[[run]]
name = 'east "side"'
[[run.later]]
first = 2
last = 3
[[run.post]]
number = 2
station = "96-1/2 in"
[[run.picket]]
number = 4
far_edge = "22-1/8 in"
kept = "5 ft"
gap = "1/4 in"
[[run.measured]]
number = 30
drop = "50 in"
[[left]]
length = "6 ft"
count = 40
"""


def test_what_is_left_on_the_page_is_the_cut_list_of_the_plan(phone: Any, tmp_path: Path) -> None:
    """What is up is no part of any count and has nothing to tick; a tick it had is no length that changed."""
    _, page = planned(tmp_path)
    phone.open(page)
    tick(phone, 1)
    (tmp_path / "built.toml").write_text(RECORD)
    plan = plan_fence(read_job(tmp_path))
    to_cut = len(plan.families.pickets.asked)
    assert to_cut == len(plan.runs[0].slots) - 2
    page.write_bytes(phone_page(plan, []))
    phone.open(page)
    assert progress(phone) == f"0 of {to_cut} cut, 0 hung"
    assert words_of(phone, "[data-changed]") == ""
    bays = phone.run("Array.from(document.querySelectorAll('[data-bay-count]')).map(b => b.textContent)")
    assert sum(int(words.split()[2]) for words in bays) == to_cut
    shown = "Array.from(document.querySelectorAll('.picket[data-number]')).filter(c => c.offsetParent).length"
    for value, count in (("all", to_cut), ("left", to_cut), ("up", 2), ("all", to_cut)):
        phone.click(f"input[value={value}]")
        assert phone.run(shown) == count
    posts, post = plan.runs[0].posts.standing, "#posts tr[data-post] input[data-key]"
    assert phone.run(f"document.querySelectorAll('{post}').length") == int((~posts).sum()) > 0
    phone.run("document.querySelector('#find').value = '4'")
    phone.run("document.querySelector('[data-find]').requestSubmit()")
    assert words_of(phone, "[data-found]").endswith("Up.")
    assert phone.run(shown) == 2


def test_what_stood_before_stays_in_the_record(phone: Any, tmp_path: Path) -> None:
    """The page's text takes the place of `built.toml`, so it carries on all that this has, adds what was
    typed, and keeps the line of the tops and the lengths of boards once one hangs."""
    planned(tmp_path)
    (tmp_path / "built.toml").write_text(RECORD)
    before = plan_fence(read_job(tmp_path))
    page = tmp_path / "again.html"
    page.write_bytes(phone_page(before, []))
    phone.open(page)
    shown = "document.querySelector('[data-built]').value"
    known, same = tomllib.loads(RECORD), tomllib.loads(phone.run(shown))
    for key in ("later", "post", "picket", "measured"):
        assert same["run"][0][key] == known["run"][0][key]
    assert [row["count"] for row in same["left"]] == [40]
    edge = float(before.runs[0].slots.right[11])
    tick(phone, 12, "hung")
    put(phone, 12, edge=f"{edge} in")
    phone.click("input[value=up]")
    put(phone, 4, edge="22-1/8 in", width="5-7/16 in")
    text = phone.run(shown)
    now = tomllib.loads(text)
    (run,) = now["run"]
    assert run["picket"][0] == {**known["run"][0]["picket"][0], "width": "5-7/16 in"}
    assert [p["number"] for p in run["picket"]] == [4, 12]
    assert "left" not in now
    assert "count what is left" in text
    assert run["style"] == "level"
    assert run["top"]
    (tmp_path / "built.toml").write_text(text)
    after = plan_fence(read_job(tmp_path)).runs[0].boards.cuts.kept[:12]
    assert after.tolist() == before.runs[0].boards.cuts.kept[:12].tolist()
    phone.run(SET % ("'7'", "[data-left]"))
    assert tomllib.loads(phone.run(shown))["left"] == [{"length": "6 ft", "count": 7}]
