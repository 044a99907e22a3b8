"""Three days of a job, played by commands alone: what stands, what comes, what is left to buy."""

import csv
import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

Run = Callable[..., Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Units:
    """A job in one system; sizes in its own unit (in or mm) but for the stations' (ft or m)."""

    system: str
    unit: str
    survey: str
    gate: str
    gate_at: float
    stock: tuple[str, str]
    width: str
    narrow: float
    spacing: float
    off: float
    height: str


IMPERIAL = Units(
    system="imperial",
    unit="in",
    survey="station [ft],drop [in]\n" + "".join(f"{x},{20 + (x % 7) * 0.75}\n" for x in range(0, 45, 4)),
    gate='station = "36 ft"\nwidth = "4 ft"',
    gate_at=432.0,
    stock=("6 ft", "8 ft"),
    width="5-1/2 in",
    narrow=5.375,
    spacing=0.25,
    off=1.625,
    height="6 ft",
)
METRIC = Units(
    system="metric",
    unit="mm",
    survey="station [m],drop [mm]\n" + "".join(f"{x},{500 + (x % 5) * 18}\n" for x in range(15)),
    gate='station = "12 m"\nwidth = "1.2 m"',
    gate_at=12000.0,
    stock=("1.8 m", "2.4 m"),
    width="140 mm",
    narrow=137.0,
    spacing=8.0,
    off=40.0,
    height="1.8 m",
)


@pytest.mark.usefixtures("no_paper")
@pytest.mark.parametrize("units", [IMPERIAL, METRIC], ids=["imperial", "metric"])
def test_three_days_end_at_the_gate(run: Run, tmp_path: Path, units: Units) -> None:
    u, job, record = units.unit, tmp_path / "side", tmp_path / "side" / "built.toml"
    job.mkdir()
    (job / "job.toml").write_text(
        f'[job]\ntitle = "Back lane"\nunits = "{units.system}"\n[[run]]\nname = "lane"\nsurvey = "lane.csv"\n'
        f'[[run.gate]]\n{units.gate}\n[top]\nleast_height = "{units.height}"\n'
        f'[pickets]\nwidth = "{units.width}"\nspacing = "{units.spacing} {u}"\n'
        + "".join(
            f'[[pickets.stock]]\nlength = "{s}"\nprice = {4 + 2 * k}\n' for k, s in enumerate(units.stock)
        )
    )
    (job / "lane.csv").write_text(units.survey)

    def plan() -> dict[str, Any]:
        done = run("plan", job, "--json")
        assert (done.status, done.err) == (0, "")
        return dict(json.loads(done.out))

    def pickets(found: dict[str, Any]) -> list[dict[str, Any]]:
        return list(found["runs"][0]["pickets"])

    def bought(found: dict[str, Any]) -> int:
        return sum(int(s["to_buy"]) for s in found["stock"]["pickets"])

    first = plan()
    assert not any("stands" in p["flags"] for p in pickets(first))

    # the first day: 35 boards are up, each narrower than planned, set to the planned spacer
    gap = round(pickets(first)[1]["left"] - pickets(first)[0]["right"], 4)
    edge = round(35 * units.narrow + 34 * gap, 1)
    doubted = run("resume", job, "--after", "35", "--at", f"{edge} {u}", "--keep")
    assert doubted.status == 1
    assert not record.exists()
    words = ("--after", "35", "--at", f"{edge} {u}", "--width", f"{units.narrow} {u}")
    answer = json.loads(run("resume", job, *words, "--json").out)
    assert run("resume", job, *words, "--keep").status == 0
    day1 = plan()
    up = [p["number"] for p in pickets(day1) if "stands" in p["flags"]]
    assert up == list(range(1, 36))
    assert pickets(day1)[34]["right"] == pytest.approx(edge, abs=1e-3)
    told = {p["picket"]: p for p in answer["pickets"]}
    for p in pickets(day1)[35:]:
        assert (told[p["number"]]["right_edge"], told[p["number"]]["kept"]) == (p["right"], p["length"])
    at_gate = [p for p in pickets(day1) if p["right"] <= units.gate_at + 0.01]
    assert at_gate[-1]["right"] == pytest.approx(units.gate_at, abs=1e-3)
    assert len(at_gate) > len([p for p in pickets(first) if p["right"] <= units.gate_at + 0.01])
    assert bought(day1) == len(pickets(day1)) - 35

    # the second day, written by hand: a post off its mark, a board cut short for a split one, ten boards
    # whose ground was measured, and what is left in the pile
    posts = day1["runs"][0]["posts"]
    station = next(p["station"] for p in posts if p["kind"] == "line" and p["station"] > edge)
    number = next(p["number"] for p in posts if p["station"] == station)
    kept = pickets(day1)[19]["length"]
    mark = 1.0 if u == "mm" else 0.125
    measured = {
        n: pickets(day1)[n - 1]["top_left"] - pickets(day1)[n - 1]["bottom_left"] for n in range(40, 50)
    }
    lower = 60.0 if u == "mm" else 3.0
    more = f'[[run.post]]\nnumber = {number}\nstation = "{station + units.off} {u}"\n'
    more += f'[[run.picket]]\nnumber = 20\nfar_edge = "{pickets(day1)[19]["right"]} {u}"\n'
    more += f'kept = "{kept - 8 * mark} {u}"\n'
    for n, length in measured.items():
        more += f'[[run.measured]]\nnumber = {n}\ndrop = ["{length + lower} {u}", '
        more += f'"{length + lower + 4 * mark} {u}"]\n'
    for s, count in zip(units.stock, (30, 12), strict=True):
        more += f'[[left]]\nlength = "{s}"\ncount = {count}\n'
    record.write_text(record.read_text() + more)
    day2 = plan()
    assert day2["runs"][0]["posts"][number - 1]["station"] == pytest.approx(station + units.off)
    assert day2["runs"][0]["posts"][number - 1]["standing"]
    assert pickets(day2)[19]["length"] == pytest.approx(kept - 8 * mark)
    for n in measured:
        assert "mark in place" not in pickets(day2)[n - 1]["flags"]
    lengths = {n: pickets(day2)[n - 1]["length"] for n in measured}
    wanted = 50.8 if u == "mm" else 2.0
    for n, length in measured.items():
        assert lengths[n] <= length + lower - (50.0 if u == "mm" else wanted) + 1e-6
        assert lengths[n] > length + lower - 1.5 * wanted - 2 * mark  # a few settings of the stop
    before = [p["right"] for p in pickets(day1)[:35]]
    assert [p["right"] for p in pickets(day2)[:35]] == pytest.approx(before, abs=1e-3)
    # what is left lessens the buying; the short ones serve no tall picket
    piles = list(zip(day2["stock"]["pickets"], (30, 12), strict=True))
    assert sum(s["count"] for s, _ in piles) == len(pickets(day2)) - 35
    for s, left in piles:
        assert (s["on_hand"], s["to_buy"]) == (min(s["count"], left), max(0, s["count"] - left))
    gone = {(r["bay"], r["row"]): r["length"] for r in day1["runs"][0]["rails"]}
    now = {(r["bay"], r["row"]): r["length"] for r in day2["runs"][0]["rails"]}
    assert {bay for (bay, row), length in now.items() if gone[bay, row] != length} == {number - 1, number}

    # the same day goes on: 60 are up, and the sheets are made again
    last = pickets(day2)[59]["right"] + (0.5 if u == "in" else 12.0)
    done = run("resume", job, "--after", "60", "--at", f"{last} {u}", "--keep")
    assert (done.status, done.err) == (0, "")
    sheets = tmp_path / "sheets"
    assert run("plan", job, "--out", sheets).status == 0
    day3 = plan()
    assert json.loads((sheets / "plan.json").read_text()) == day3
    with (sheets / "cut_chart.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    assert [r["cut"] == "stands" for r in rows] == ["stands" in p["flags"] for p in pickets(day3)]
    page = (sheets / "fence.html").read_text()
    assert page.count(' data-number="') == len(pickets(day3))
    assert pickets(day3)[59]["right"] == pytest.approx(last, abs=1e-3)
    assert pickets(day3)[19]["length"] == pytest.approx(kept - 8 * mark)

    # the third day: up to the gate, exactly, and on to the end
    at_gate = [p for p in pickets(day3) if p["right"] <= units.gate_at + 0.01]
    assert at_gate[-1]["right"] == pytest.approx(units.gate_at, abs=1e-3)
    done = run("resume", job, "--after", f"{at_gate[-1]['number']}", "--at", f"{units.gate_at} {u}", "--keep")
    assert "as planned" in done.out
    end = plan()
    assert [p["right"] for p in pickets(end)] == [p["right"] for p in pickets(day3)]
    assert [p["length"] for p in pickets(end)] == [p["length"] for p in pickets(day3)]
    total = pickets(end)[-1]["number"]
    assert (
        run("resume", job, "--after", f"{total}", "--at", f"{pickets(end)[-1]['right']} {u}", "--keep").status
        == 0
    )
    over = plan()
    assert bought(over) == 0
    assert all(r["standing"] and r["stock"] is None for r in over["runs"][0]["rails"])
    assert all(p["standing"] for p in over["runs"][0]["posts"][:-1])
