"""The page for the phone in a real browser: ticks, search, keyboard, widths, colours, no network."""

import json
import re
from collections.abc import Callable
from importlib import resources
from pathlib import Path
from typing import Any

import pytest

from fencegrade.job.read import read_job
from fencegrade.planning.plan import FencePlan, plan_fence
from fencegrade.sheets.page.page import phone_page

pytestmark = pytest.mark.browser

JOB = """
[job]
title = "{title}"
units = "imperial"
currency = "$"
[[run]]
name = "path side"
survey = "path.csv"
[[run.gate]]
station = "12 ft"
width = "4 ft"
[[run]]
name = "hedge <i>side & corner"
survey = "hedge.csv"
[top]
most_height = "6 ft 4 in"
[pickets]
bottom_cut = "{bottom}"
[[pickets.stock]]
length = "6 ft"
price = 4.10
[[pickets.stock]]
length = "8 ft"
price = 6.85
"""
PATH = "station [ft],drop [in]\n0,20\n6,20\n10,24\n14,30\n18,22\n24,20\n"
HEDGE = "station [ft],drop [in]\n0,20\n4,22\n9,27\n12,24\n"
SHORT_PATH = "station [ft],drop [in]\n0,20\n6,20\n9,30\n12,22\n17,24\n"
SHORT_HEDGE = "station [ft],drop [in]\n0,20\n2,27\n4,22\n"
LONG_WORD = "<script>alert(1)</script>&" + "Quincequincequince" * 4

Open = Callable[[], Any]
WIDTHS = {"desktop": (1280, 900, False), "phone": (360, 740, True)}


def planned(folder: Path, title: str, bottom: str, path: str = PATH, hedge: str = HEDGE) -> FencePlan:
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "job.toml").write_text(JOB.format(title=title, bottom=bottom), encoding="utf-8")
    (folder / "path.csv").write_text(path, encoding="utf-8")
    (folder / "hedge.csv").write_text(hedge, encoding="utf-8")
    return plan_fence(read_job(folder))


@pytest.fixture(scope="session")
def plan(tmp_path_factory: pytest.TempPathFactory) -> FencePlan:
    return planned(tmp_path_factory.mktemp("yard"), LONG_WORD, "scribed")


@pytest.fixture(scope="session")
def page(plan: FencePlan, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("page") / "fence.html"
    path.write_bytes(phone_page(plan))
    return path


@pytest.fixture(scope="session")
def bare_page(plan: FencePlan, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The page without drawings, which a browser opens sooner."""
    path = tmp_path_factory.mktemp("bare") / "fence.html"
    path.write_bytes(phone_page(plan, []))
    return path


@pytest.fixture(scope="session")
def short_page(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Every part of a page, drawings too, of a fence as short as can be."""
    folder = tmp_path_factory.mktemp("short")
    path = folder / "fence.html"
    path.write_bytes(phone_page(planned(folder, LONG_WORD, "scribed", SHORT_PATH, SHORT_HEDGE)))
    return path


@pytest.fixture(scope="session")
def other_page(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("other")
    path = folder / "fence.html"
    path.write_bytes(phone_page(planned(folder, "Other yard", "square"), []))
    return path


def box(place: str, tick: str = "cut") -> str:
    """The tick of a picket or of a row."""
    return f"#{place} input" + (f"[data-tick={tick}]" if place.startswith("p") else "")


def ticked(tab: Any) -> list[str]:
    found: list[str] = tab.run(
        "Array.from(document.querySelectorAll('.picket[data-number] [data-tick=cut]:checked'), "
        "b => b.closest('.picket').id)"
    )
    return found


def progress(tab: Any) -> str:
    words: str = tab.run("document.querySelector('[data-progress-words]').textContent")
    return words


def pickets(plan: FencePlan) -> int:
    return sum(len(run.slots) for run in plan.runs)


@pytest.mark.parametrize("size", WIDTHS)
def test_ticks_survive_a_reload(tab: Any, bare_page: Path, plan: FencePlan, size: str) -> None:
    tab.size(*WIDTHS[size][:2], phone=WIDTHS[size][2])
    tab.open(bare_page)
    assert progress(tab) == f"0 of {pickets(plan)} cut, 0 hung"
    for key in ("p1-3", "p2-5", "d-1"):
        tab.click(box(key))
    assert progress(tab) == f"2 of {pickets(plan)} cut, 0 hung"
    tab.reload()
    assert ticked(tab) == ["p1-3", "p2-5"]
    assert tab.run(f"document.querySelector('{box('d-1')}').checked")
    assert progress(tab) == f"2 of {pickets(plan)} cut, 0 hung"
    tab.click(box("p1-3"))
    tab.reload()
    assert ticked(tab) == ["p2-5"]
    assert tab.complaints() == []


def test_two_plans_keep_their_ticks_apart(tab: Any, bare_page: Path, other_page: Path) -> None:
    tab.open(bare_page)
    tab.click(box("p1-3"))
    tab.open(other_page)
    assert ticked(tab) == []
    tab.click(box("p1-4"))
    tab.open(bare_page)
    assert ticked(tab) == ["p1-3"]


def test_two_open_copies_follow_each_other(new_tab: Open, bare_page: Path) -> None:
    first, second = new_tab(), new_tab()
    for each in (first, second):
        each.size(1280, 900)
        each.open(bare_page)
    first.click(box("p1-7"))
    for _ in range(50):
        if ticked(second):
            break
        second.browser.listen(0.1)
    assert ticked(second) == ["p1-7"]


BLOCKED = (
    "Object.defineProperty(window, 'localStorage', "
    "{get() { throw new DOMException('blocked', 'SecurityError'); }});"
)
FULL = "Storage.prototype.setItem = () => { throw new DOMException('full', 'QuotaExceededError'); };"


@pytest.mark.parametrize("fault", [BLOCKED, FULL], ids=["blocked", "full"])
def test_a_browser_that_keeps_nothing_still_ticks(tab: Any, bare_page: Path, fault: str) -> None:
    tab.ask("Page.addScriptToEvaluateOnNewDocument", source=fault)
    tab.open(bare_page)
    tab.click(box("p1-3"))
    assert ticked(tab) == ["p1-3"]
    words = tab.run("(e => e.hidden ? '' : e.textContent)(document.querySelector('[data-storage]'))")
    assert "keeps nothing" in words
    assert tab.complaints() == []


def test_rubbish_in_the_store_does_no_harm(tab: Any, bare_page: Path) -> None:
    tab.open(bare_page)
    for left in ("{", "7", "null", '{"a":1}', '["p9-9","nothing"]', '[["p1-1"]]'):
        kept = "'fencegrade ' + document.documentElement.dataset.job"
        tab.run(f"localStorage.setItem({kept}, {json.dumps(left)})")
        tab.reload()
        assert ticked(tab) == [], left
        tab.click(box("p1-2"))
        assert ticked(tab) == ["p1-2"], left
    tab.reload()
    assert ticked(tab) == ["p1-2"]
    assert tab.complaints() == []


def test_a_row_of_the_saw_list_ticks_its_pickets(tab: Any, bare_page: Path) -> None:
    tab.open(bare_page)
    row = tab.run(
        "Array.from(document.querySelectorAll('#saw tr[data-count]')).find(r => r.dataset.count >= 2).id"
    )
    members = tab.run(
        f"Array.from(document.querySelectorAll('input[data-row=\"{row}\"]'), b => b.closest('.picket').id)"
    )
    state = f"(b => [b.checked, b.indeterminate])(document.querySelector('{box(row)}'))"
    tab.click(box(members[0]))
    assert tab.run(state) == [False, True]
    tab.click(box(row))
    assert ticked(tab) == members
    assert tab.run(state) == [True, False]
    tab.reload()
    assert ticked(tab) == members
    assert tab.run(state) == [True, False]
    tab.click(box(row))
    assert ticked(tab) == []


def test_clearing_asks_first(tab: Any, bare_page: Path) -> None:
    tab.open(bare_page)
    tab.click(box("p1-1"))
    tab.click("[data-clear-ticks]")
    assert ticked(tab) == ["p1-1"]
    assert "1 tick" in tab.run("document.querySelector('[data-clear-words]').textContent")
    tab.click("[data-clear-ticks]")
    assert ticked(tab) == []
    tab.reload()
    assert ticked(tab) == []


@pytest.mark.parametrize("size", WIDTHS)
def test_search_finds_board_37_by_the_keyboard_alone(
    tab: Any, bare_page: Path, plan: FencePlan, size: str
) -> None:
    tab.size(*WIDTHS[size][:2], phone=WIDTHS[size][2])
    tab.open(bare_page)
    for _ in range(60):
        tab.press("Tab")
        if tab.run("document.activeElement.id") == "find":
            break
    assert tab.run("document.activeElement.id") == "find"
    for digit in "37":
        tab.press(digit)
    told = tab.run("document.querySelector('[data-found][aria-live=polite]').textContent")
    kept = tab.run("document.querySelector('#p1-37 .kept').textContent")
    keep = "" if tab.run("'long' in document.querySelector('#p1-37').dataset") else "keep "
    assert told.startswith(f"Picket 37, path side: {keep}{kept}")
    tab.press("Enter")
    assert tab.run("document.activeElement.closest('.picket').id") == "p1-37"
    assert in_sight(tab, "#p1-37")
    assert tab.run("document.querySelector('.here').id") == "p1-37"
    tab.press(" ")
    assert ticked(tab) == ["p1-37"]
    assert tab.run("document.querySelector('[data-found]').textContent").endswith(". Cut.")
    assert progress(tab) == f"1 of {pickets(plan)} cut, 0 hung"


def in_sight(tab: Any, query: str) -> bool:
    """Whether an element is wholly inside the window and not under the bar."""
    seen: bool = tab.run(
        f"(() => {{ const r = document.querySelector('{query}').getBoundingClientRect(); "
        "const bar = document.querySelector('.bar').getBoundingClientRect(); "
        "return r.top >= bar.bottom && r.bottom <= innerHeight && r.left >= 0 && r.right <= innerWidth; })()"
    )
    return seen


def test_search_goes_through_the_runs_and_says_what_it_does_not_find(tab: Any, bare_page: Path) -> None:
    tab.open(bare_page)

    def search(text: str) -> str:
        tab.run(
            f"(f => {{ f.value = {json.dumps(text)}; f.dispatchEvent(new Event('input')); }})"
            "(document.querySelector('#find'))"
        )
        told: str = tab.run("document.querySelector('[data-found]').textContent")
        return told

    assert search("5").count("Picket 5, ") == 2
    for wanted in ("p1-5", "p2-5", "p1-5"):
        tab.run("document.querySelector('[data-find]').requestSubmit()")
        assert tab.run("document.activeElement.closest('.picket').id") == wanted
    for text in ("0", "999", "x", "3.5", "-1", "<b>"):
        assert search(text).startswith(f"No picket {text} here.")
    assert search(" ") == ""
    assert tab.run("document.querySelectorAll('[data-found] *').length") == 0


def test_only_the_pickets_asked_for_are_shown(tab: Any, bare_page: Path, plan: FencePlan) -> None:
    tab.open(bare_page)
    tab.click(box("p1-1"))
    shown = "Array.from(document.querySelectorAll('.picket[data-number]')).filter(c => c.offsetParent).length"
    remarks = tab.run("document.querySelectorAll('.picket[data-remarks]').length")
    assert 0 < remarks < pickets(plan)
    for value, count in (("left", pickets(plan) - 1), ("look", remarks), ("all", pickets(plan))):
        tab.click(f"input[value={value}]")
        assert tab.run(shown) == count


@pytest.mark.parametrize("size", WIDTHS)
def test_nothing_stands_out_of_the_window(tab: Any, page: Path, size: str) -> None:
    width = WIDTHS[size][0]
    tab.size(*WIDTHS[size][:2], phone=WIDTHS[size][2])
    tab.open(page)
    assert tab.run("document.documentElement.scrollWidth") == width
    outside = tab.run(
        "Array.from(document.querySelectorAll('body *')).filter(e => !e.closest('.scroll, .vh, thead, "
        f".skip') && e.getClientRects().length && (r => r.right > {width} + 0.5 || r.left < "
        "-0.5)(e.getBoundingClientRect())).map(e => e.outerHTML.slice(0, 120))"
    )
    assert outside == []


def test_no_figure_of_a_table_is_broken_on_a_phone(new_tab: Open, tmp_path: Path) -> None:
    """Tops over a survey's zero: six digits and their unit; drawings say that they go on past the edge."""
    (tmp_path / "hill.csv").write_text(
        "station [m],elevation [m]\n0,100.1\n2,100.2\n4,100.3\n", encoding="utf-8"
    )
    keys = '[top]\nstyle = "contour"\n[[pickets.stock]]\nlength = "2.1 m"\n'
    (tmp_path / "job.toml").write_text(
        f'[job]\ntitle = "Hill"\nunits = "metric"\n[[run]]\nname = "hill"\nsurvey = "hill.csv"\n{keys}',
        encoding="utf-8",
    )
    (tmp_path / "fence.html").write_bytes(phone_page(plan_fence(read_job(tmp_path)), []))
    lines = (
        "Array.from(document.querySelectorAll('#posts td.right')).filter(e => e.textContent.length > 8)"
        ".map(e => { const r = document.createRange(); r.selectNodeContents(e); "
        "return [e.textContent, new Set(Array.from(r.getClientRects(), b => b.top)).size]; })"
    )
    for width in (390, 360, 320):
        tab = new_tab()
        tab.size(width, 740, phone=True)
        tab.open(tmp_path / "fence.html")
        told = tab.run(lines)
        assert any("10" in text and text.endswith("mm") for text, _ in told)
        assert [text for text, count in told if count > 1] == []


def test_nothing_is_asked_for_and_nothing_complains(tab: Any, page: Path) -> None:
    tab.open(page)
    assert tab.requests() == [page.as_uri()]
    assert tab.complaints() == []


def test_the_policy_stops_what_is_not_the_pages_own(tab: Any, bare_page: Path) -> None:
    tab.open(bare_page)
    stopped = tab.run(
        "new Promise(done => { const found = []; "
        "document.addEventListener('securitypolicyviolation', e => found.push(e.effectiveDirective)); "
        "document.body.insertAdjacentHTML('beforeend', '<p style=\"top:0\">x<img src=\"file:///x.png\">'); "
        "const s = document.createElement('script'); s.textContent = 'window.bad = 1'; "
        "document.body.append(s); "
        "fetch('https://localhost:9/').catch(() => 0); setTimeout(() => done(found), 300); })"
    )
    assert {"style-src-attr", "img-src", "script-src-elem", "connect-src"} <= set(stopped)
    assert tab.run("window.bad === undefined")


AXE = """
axe.run(document, {resultTypes: ['violations']}).then(
  found => found.violations.map(v => v.id + ': ' + v.nodes.slice(0, 3).map(n => n.html.slice(0, 160) + ' '
    + n.failureSummary).join(' | ')))
"""


@pytest.mark.parametrize(("size", "scheme"), [("phone", "dark")])
def test_the_accessibility_rules_are_clean(tab: Any, short_page: Path, size: str, scheme: str) -> None:
    pytest.importorskip("axe_core_python", reason="axe-core is not installed (the `tests` extra has it)")
    rules = resources.files("axe_core_python").joinpath("axe.min.js").read_text(encoding="utf-8")
    tab.size(*WIDTHS[size][:2], phone=WIDTHS[size][2])
    tab.scheme(scheme)
    tab.open(short_page)
    for key in ("p1-1", "s1-1", "d-1"):
        tab.click(box(key))
    tab.run("document.querySelector('#find').value = '7'")
    tab.run("document.querySelector('[data-find]').requestSubmit()")
    tab.run(rules + "; 0")
    assert tab.run(AXE) == []


CONTRAST = r"""
(() => {
  const rgb = text => text.match(/[\d.]+/g).map(Number);
  const part = v => (v /= 255) <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4;
  const light = ([r, g, b]) => 0.2126 * part(r) + 0.7152 * part(g) + 0.0722 * part(b);
  const behind = e => { for (; e; e = e.parentElement) { const c = rgb(getComputedStyle(e).backgroundColor);
    if (c.length < 4 || c[3] > 0) return c; }
    return rgb(getComputedStyle(document.documentElement).backgroundColor); };
  const worst = new Map();
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const e = walker.currentNode.parentElement;
    if (!walker.currentNode.textContent.trim()) continue;
    if (e.closest('svg, script, style, [hidden], noscript')) continue;
    const [a, b] = [light(rgb(getComputedStyle(e).color)), light(behind(e))].sort((x, y) => y - x);
    const ratio = (a + 0.05) / (b + 0.05);
    if (ratio < 4.5) worst.set(e.className + ' ' + e.tagName, ratio);
  }
  for (const e of document.querySelectorAll('input')) {
    const s = getComputedStyle(e);
    const [a, b] = [light(rgb(s.borderTopColor)), light(behind(e.parentElement))].sort((x, y) => y - x);
    if ((a + 0.05) / (b + 0.05) < 3) worst.set('edge of ' + e.type, (a + 0.05) / (b + 0.05));
  }
  return Array.from(worst);
})()
"""


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_text_stands_out_from_its_ground(tab: Any, bare_page: Path, scheme: str) -> None:
    """WCAG 2.2, 1.4.3 (4.5 to 1 for text) and 1.4.11 (3 to 1 for what is pressed)."""
    tab.scheme(scheme)
    tab.open(bare_page)
    for key in ("p1-1", "s1-1"):
        tab.click(box(key))
    tab.run("document.querySelector('#find').value = '7'")
    tab.run("document.querySelector('[data-find]').requestSubmit()")
    assert tab.run(CONTRAST) == []
    ground = tab.run("getComputedStyle(document.body).backgroundColor")
    assert (sum(map(int, re.findall(r"\d+", ground))) > 3 * 128) == (scheme == "light")


@pytest.mark.parametrize("size", WIDTHS)
def test_what_is_pressed_is_large_enough(tab: Any, bare_page: Path, size: str) -> None:
    """WCAG 2.2, 2.5.5: 44 by 44 CSS pixels, the label of a box counted with it."""
    tab.size(*WIDTHS[size][:2], phone=WIDTHS[size][2])
    tab.open(bare_page)
    small = tab.run(
        "Array.from(document.querySelectorAll('button, nav a, .contents, input, .scroll')).map(e => "
        "e.closest('label') || e).filter(e => e.offsetParent && (r => r.width < 44 || r.height < 44)"
        "(e.getBoundingClientRect())).map(e => e.outerHTML.slice(0, 120))"
    )
    assert small == []


def test_the_keyboard_reaches_everything_in_the_order_of_the_page(tab: Any, short_page: Path) -> None:
    tab.open(short_page)
    tab.press("Tab")
    assert tab.run("document.activeElement.className") == "skip"
    assert in_window(tab)
    wanted = tab.run(
        "Array.from(document.querySelectorAll('a[href], button, input, textarea, "
        "[tabindex=\"0\"]')).filter(e => e.offsetParent !== null && (e.type !== 'radio' || e.checked)).length"
    )
    seen = 0
    while seen < wanted + 5 and tab.run("document.activeElement !== document.body"):
        seen += 1
        assert in_window(tab), tab.run("document.activeElement.outerHTML.slice(0, 200)")
        tab.press("Tab")
    assert seen == wanted


def in_window(tab: Any) -> bool:
    """Whether the focused element shows in the window, not under the bar, with an outline."""
    seen: bool = tab.run(
        "(() => { const e = document.activeElement, r = e.getBoundingClientRect(); "
        "const bar = document.querySelector('.bar'), b = bar.getBoundingClientRect(); "
        "const clear = bar.contains(e) || r.bottom > b.bottom || b.bottom > innerHeight || r.bottom < b.top; "
        "const ring = getComputedStyle(e).outlineStyle !== 'none'; "
        "return ring && clear && r.bottom > 0 && r.top < innerHeight; })()"
    )
    return seen


def test_skipping_leads_to_the_cut_chart(tab: Any, bare_page: Path) -> None:
    tab.open(bare_page)
    tab.press("Tab")
    tab.press("Enter")
    assert tab.run("document.activeElement.id") == "cut"


def test_print_shows_every_picket_and_nothing_to_press(tab: Any, page: Path, plan: FencePlan) -> None:
    tab.scheme("dark", media="print")
    tab.open(page)
    seen = "Array.from(document.querySelectorAll('{}')).filter(e => e.getClientRects().length).length"
    assert tab.run(seen.format(".picket[data-number] .kept")) == pickets(plan)
    assert tab.run(seen.format("nav, .bar, button, fieldset")) == 0
    assert tab.run("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
    assert tab.run("getComputedStyle(document.body).color") == "rgb(0, 0, 0)"


def test_without_scripts_the_numbers_still_stand(tab: Any, bare_page: Path, plan: FencePlan) -> None:
    tab.ask("Emulation.setScriptExecutionDisabled", value=True)
    tab.open(bare_page)
    tree = json.dumps(tab.ask("DOM.getDocument", depth=-1))
    assert tree.count('"kept"') >= pickets(plan)
    assert "runs no scripts here" in tree
    assert tab.complaints() == []
