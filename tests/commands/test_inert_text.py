"""Words from outside stay words: on the terminal, in HTML, SVG, CSV and PDF, and in the names of files."""

import csv
import json
import re
import zlib
from collections.abc import Callable
from html.parser import HTMLParser
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

Run = Callable[..., Any]
PIXELS = True

EVIL = {
    "terminal": "\x1b[2J\x1b]0;owned\x07\x9b31m",
    "html": "</title></script><script>alert(1)</script><img src=x onerror=alert(1)>",
    "attribute": "\" onload='alert(1)' x=\"",
    "svg": "]]></style></svg><script xlink:href='//evil'/>",
    "formula": '=HYPERLINK("http://evil")',
    "plus": "+1+cmd|' /C calc'!A0",
    "wide formula": "＝1+1",
    "path": "../../evil",
    "mathtext": "$\\frac{1}{0}$ $x^{$",  # in pairs, or no library would read formulas in it
    "format": "%s%n{0}{title!r}{{ 7*7 }}{% raw %}",
    "pdf": ") /JavaScript (app.alert(1)) /OpenAction \\",
    "direction": "\u202egnirts\u2066",
    "template": "${7*7} #{7*7} `id` $(id)",
}
SURVEY = "station [ft],drop [in],note\n0,20,{0}\n6,20,\n10,24,{0}\n14,30,\n18,22,\n24,20,{0}\n"
FILE_NAME = re.compile(r"[a-z0-9_]+\.(json|csv|txt|svg|png|pdf|html)")
FORMULA = re.compile(r"\s*[=+\-@＝＋－＠\t\r]")
NUMBER = re.compile(r"-?\d+(\.\d+)?(e-?\d+)?")
SVG = "{http://www.w3.org/2000/svg}"
ACTIVE = {"script", "foreignObject", "iframe", "object", "embed", "animate", "set"}


@pytest.fixture(params=EVIL)
def evil(request: pytest.FixtureRequest) -> str:
    return EVIL[request.param]


LEADING = ["terminal", "attribute", "formula", "plus", "wide formula", "path"]
"""What does its harm at the start of a text; the others follow after."""

_REST = [text for name, text in EVIL.items() if name not in LEADING]
_PAIRS = [EVIL[name] + rest for name, rest in zip(LEADING, _REST, strict=False)]
GROUPS = [_PAIRS[0::2], [*_PAIRS[1::2], *_REST[len(LEADING) :]]]


@pytest.fixture(params=range(len(GROUPS)))
def evils(request: pytest.FixtureRequest) -> list[str]:
    return GROUPS[request.param]


@pytest.fixture
def evil_job(tmp_path: Path, evils: list[str]) -> Path:
    """A job whose every text is hostile."""
    folder = tmp_path / "job"
    folder.mkdir()
    title, name, other, *_ = (json.dumps(e) for e in evils)
    evil = "".join(evils)
    (folder / "job.toml").write_text(
        f'[job]\ntitle = {title}\nunits = "imperial"\ncurrency = {json.dumps(evils[0][:8])}\n'
        f'[[run]]\nname = {name}\nsurvey = "lane.csv"\n[[run.gate]]\nstation = "8 ft"\nwidth = "4 ft"\n'
        f'[[run]]\nname = {other}\nsurvey = "lane.csv"\n'
        '[pickets]\ntop_end = "flat"\n[[pickets.stock]]\nlength = "6 ft"\nprice = 4.10\n'
        '[[pickets.stock]]\nlength = "8 ft"\nprice = 6.85\n',
        encoding="utf-8",
    )
    quoted = '"' + evil.replace('"', '""') + '"'
    (folder / "lane.csv").write_text(SURVEY.replace("{0}", quoted), encoding="utf-8")
    return folder


NO_BREAK = "\u00a0"
"""Between a figure and its unit on a page."""


def plain(text: str) -> bool:
    """Whether a terminal shows the text and obeys nothing in it."""
    return all(c.isprintable() or c == "\n" for c in text)


def all_files(folder: Path) -> set[str]:
    return {str(p.relative_to(folder)) for p in folder.rglob("*")}


COMMANDS = [
    ("plan", []),
    ("check", []),
    ("compare", []),
    ("heights", []),
    ("resume", ["--after", "2", "--at", "11-3/8 in", "--run="]),
]
DRAWN_ALIKE = {"compare", "heights"}
"""Draw as `plan` draws; half of the texts is enough for them, and SVG, which can be looked into.

Nothing can be looked for in a PNG: one is drawn of the texts that might stop it from being drawn.
"""

CASES = [
    pytest.param(command, more, group, id=f"{command}-{group}")
    for command, more in COMMANDS
    for group in range(1 if command in DRAWN_ALIKE else len(GROUPS))
]


@pytest.mark.parametrize(("command", "more", "evils"), CASES, indirect=["evils"])
def test_every_answer_is_inert(
    run: Run,
    evil_job: Path,
    tmp_path: Path,
    evils: list[str],
    command: str,
    more: list[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The screen, and every file that a command writes."""
    if command in DRAWN_ALIKE or EVIL["mathtext"] not in "".join(evils):
        monkeypatch.setattr("fencegrade.sheets.folder.png_bytes", lambda figure: b"")
    out, before = tmp_path / "out", all_files(tmp_path)
    name = "".join(c if c.isprintable() else " " for c in evils[1]).strip()
    done = run(
        command, evil_job, *(f"{word}{name}" if word == "--run=" else word for word in more), "--out", out
    )
    assert (done.status, done.err) == (0, "")
    assert plain(done.out)
    written = [p for p in out.iterdir() if not p.name.startswith(".fencegrade-written")]
    assert all(FILE_NAME.fullmatch(p.name) for p in written)
    assert all_files(tmp_path) - before == {"out"} | {f"out/{p.name}" for p in out.iterdir()}
    assert ".json" in {p.suffix for p in written}
    assert command != "plan" or {".svg", ".csv", ".txt", ".html", ".pdf"} <= {p.suffix for p in written}
    for path in written:
        inert_file(path)


def inert_file(path: Path) -> None:
    """Fails where a file would do more than show its words."""
    data = path.read_bytes()
    match path.suffix:
        case ".txt":
            assert plain(data.decode())
        case ".json":
            assert plain(data.decode())
            json.loads(data)
        case ".csv":
            assert plain(data.decode())
            for row in csv.reader(data.decode().splitlines()):
                assert all(NUMBER.fullmatch(c) or not FORMULA.match(c) for c in row), row
        case ".svg":
            inert_svg(data)
        case ".html":
            inert_page(data.decode())
        case ".pdf":
            inert_pdf(data)


def inert_svg(data: bytes) -> None:
    for element in ElementTree.fromstring(data).iter():
        assert isinstance(element.tag, str)
        assert element.tag.removeprefix(SVG) not in ACTIVE
        for key, value in element.attrib.items():
            assert not key.lower().startswith("on")
            assert not key.endswith("href") or value.startswith("#")


class _Tags(HTMLParser):
    """Counts what a browser would run."""

    def __init__(self) -> None:
        super().__init__()
        self.scripts = self.forms = 0
        self.tags: set[str] = set()
        self.odd: list[tuple[str, str]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.scripts += tag == "script"
        self.forms += tag == "form"
        self.odd += [(tag, k) for k, _ in attrs if k.startswith("on")]


def inert_page(text: str) -> None:
    seen = _Tags()
    seen.feed(text)
    assert seen.scripts <= 1  # the page's own
    assert seen.forms <= 1
    assert not seen.odd
    assert not {"img", "iframe", "object", "embed", "base"} & seen.tags
    assert "49" not in re.findall(r"\{\{ ?7\*7 ?\}\}|\$\{7\*7\}", text)
    assert plain(text.replace("\t", "").replace(NO_BREAK, " "))


def inert_pdf(data: bytes) -> None:
    """No action among a PDF's objects; its streams are drawings, and its texts are escaped strings."""
    objects = re.sub(rb"stream\r?\n.*?endstream", b"", data, flags=re.DOTALL)
    strings = re.sub(rb"\((?:\\.|[^\\()])*\)", b"()", objects, flags=re.DOTALL)
    for word in (b"/JavaScript", b"/JS", b"/OpenAction", b"/Launch", b"/AA", b"/SubmitForm", b"/URI"):
        assert not re.search(re.escape(word) + rb"\b", strings), word
    for stream in re.findall(rb"stream\r?\n(.*?)endstream", data, flags=re.DOTALL):
        try:
            zlib.decompressobj().decompress(stream)
        except zlib.error:
            continue


def test_a_cut_list_is_inert(run: Run, tmp_path: Path, evils: list[str]) -> None:
    pieces = [{"length": f"{30 + k} 1/2 in", "count": 3, "name": e} for k, e in enumerate(evils)]
    listed = {"stock": [{"length": "96 in", "price": 7.2}], "pieces": pieces}
    (tmp_path / "list.json").write_text(json.dumps(listed))
    done = run("boards", tmp_path / "list.json", "--out", tmp_path / "out")
    assert (done.status, done.err) == (0, "")
    assert plain(done.out)
    for path in (tmp_path / "out").iterdir():
        inert_file(path)


def test_survey_cells_in_mistakes_are_inert(run: Run, tmp_path: Path, evil: str) -> None:
    quoted = '"' + evil.replace('"', '""') + '"'
    (tmp_path / "a.csv").write_text(f"station [ft],drop [in],{quoted}\n0,{quoted},\n{quoted},3,x\n", "utf-8")
    done = run("plan", tmp_path / "a.csv")
    assert (done.status, done.out) == (1, "")
    assert plain(done.err)
    (tmp_path / "a.csv").write_text(f"station [ft],drop [in]\n0,{quoted}\n{quoted},3\n", "utf-8")
    done = run("plan", tmp_path / "a.csv")
    assert (done.status, done.out) == (1, "")
    assert plain(done.err)


@pytest.mark.parametrize("command", ["plan", "boards", "new"])
def test_words_of_the_command_line_are_inert(run: Run, tmp_path: Path, evil: str, command: str) -> None:
    """A file name made by somebody else may come in by a shell's star."""
    nowhere = tmp_path / "no"
    for words in (
        [command, nowhere / evil.replace("/", "_"), *(["x"] if command == "new" else [])],
        [command, nowhere, evil],
        [command, nowhere, "--top", evil],
        [command, f"--{evil}"],
    ):
        done = run(*words)
        assert done.status in {1, 2}
        assert plain(done.out)
        assert plain(done.err)
        assert "Traceback" not in done.err


OUTSIDE = [
    "../lane.csv",
    "/etc/passwd",
    "sub/../../lane.csv",
    "..\\lane.csv",
    "C:\\lane.csv",
    "\\\\host\\lane.csv",
]


@pytest.mark.parametrize("survey", OUTSIDE)
def test_a_survey_lies_beside_the_job_or_below_it(run: Run, job: Path, survey: str) -> None:
    """A job from somebody else cannot have a file read that lies elsewhere, nor its lines shown."""
    (job.parent / "lane.csv").write_text((job / "lane.csv").read_text())
    text = (job / "job.toml").read_text()
    (job / "job.toml").write_text(text.replace('"lane.csv"', json.dumps(survey)))
    done = run("plan", job)
    assert (done.status, done.out) == (1, "")
    (line,) = done.errors
    assert line == (
        f'job.toml run 1, survey: "{survey}" lies outside the folder of the job; '
        "put the survey beside the job file, or in a folder below it, and write its name"
    )


def test_a_survey_in_a_folder_below_is_read(run: Run, job: Path) -> None:
    (job / "surveys").mkdir()
    (job / "lane.csv").rename(job / "surveys" / "lane.csv")
    text = (job / "job.toml").read_text()
    (job / "job.toml").write_text(text.replace('"lane.csv"', '"./surveys/lane.csv"'))
    assert run("plan", job).status == 0
