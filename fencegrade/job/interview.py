"""The questions behind a plan in a builder's order, their usual answers, and the job file the answers make.

Nothing is asked or printed here: a question is a record out of `questions.toml`, an answer a text, and
`faults` says what is wrong with the job so far in the words of the job file's own checks. What was asked
already stands in a remark of the job file, so that the questions go on where they stopped.
"""

import copy
import math
import re
import tomllib
from collections.abc import Mapping, Sequence
from enum import StrEnum
from functools import cache
from importlib import resources
from typing import Any

from msgspec import Struct
from msgspec.structs import replace
from pydantic import TypeAdapter, ValidationError

from fencegrade.fence.tops.table import TopStyle, names_of_styles
from fencegrade.job.checks import check_job
from fencegrade.job.defaults import FROM_BOARDS, bare_survey_stock, default_tables, height_of_whole_boards
from fencegrade.job.explain import explain_errors
from fencegrade.job.fields import FROM_FILE
from fencegrade.job.prices import CURRENCY, holds_price
from fencegrade.job.records import JobFile
from fencegrade.job.survey import StringReading
from fencegrade.job.toml_text import toml_tree
from fencegrade.job.unusual import unusual_values
from fencegrade.job.write import job_text
from fencegrade.problems import Problem, raise_mistakes
from fencegrade.units import UnitError, UnitSystem, length_in, parse_length
from fencegrade.units.exact_text import exact_length
from fencegrade.units.typed import LARGEST
from fencegrade.units.words import Words

RUN = "side 1"
SURVEY = "side_1.csv"
"""Names of the run that is asked about first and of its survey."""

NONE = "none"
"""What is answered where there is nothing of it."""

NOTHING = (NONE, "no", "nothing")
"""Words that say it too."""

NEXT_RUN = ("run", "next")
"""Place of the answer that tells of the second run."""

_HEAD = """\
# Written from the answers to `fencegrade new`. What is not here is taken from common practice and printed
# with every plan; the README lists every key.
"""
_ASKED = "# Asked so far: "

_FILE = TypeAdapter(JobFile)

Answers = Mapping[tuple[str, str], Any]
"""Table and key of what was answered, and the value as it stands in a job file."""


class Kind(StrEnum):
    """How a question is asked: for one value, or by a few questions of its own."""

    VALUE = "value"
    STRING = "string"
    SAG = "sag"
    STOCK = "stock"
    PRICES = "prices"
    MONEY = "money"
    GATES = "gates"
    POSTS = "posts"
    RUN = "run"


class Question(Struct, frozen=True, kw_only=True):
    """One question: the table and key it fills, its words, the answer that silence takes, and what helps.

    `silent`: whether the usual answer leaves the key out of the job.
    """

    table: str
    key: str
    words: str
    default: str
    help: str
    kind: Kind = Kind.VALUE
    silent: bool = False

    @property
    def place(self) -> tuple[str, str]:
        """Table and key, as in the answers."""
        return self.table, self.key

    @property
    def name(self) -> str:
        """Table and key as one word."""
        return f"{self.table}.{self.key}"


def questions(system: UnitSystem, title: str = "My fence") -> tuple[Question, ...]:
    """The questions in order, in a system's units; `title`: what the job is called unless told."""
    low, high = ("6 ft", "7 ft") if system is UnitSystem.IMPERIAL else ("1.8 m", "2 m")
    own = {
        "title": title,
        "stock": ", ".join(s["length"] for s in bare_survey_stock(system)),
        "low": low,
        "high": high,
        "styles": names_of_styles(),
        "told": "; ".join(f"{style}: {style.words}" for style in TopStyle),
    }
    defaults = default_tables(system)
    return tuple(
        Question(
            table=table,
            key=key,
            kind=Kind(row.get("kind", Kind.VALUE)),
            words=row["words"].format(**own),
            default=row["usual"].format(**own) if "usual" in row else defaults[table][key],
            help=row["help"].format(**own),
            silent=row.get("silent", "kind" in row),
        )
        for row in _rows()
        for table, key in [row["key"].split(".")]
    )


@cache
def _rows() -> list[dict[str, Any]]:
    """The questions as they stand in their file."""
    text = resources.files("fencegrade.job").joinpath("questions.toml").read_text(encoding="utf-8")
    rows: list[dict[str, Any]] = tomllib.loads(text)["question"]
    return rows


class Draft(Struct, frozen=True, kw_only=True):
    """A job that is being asked for: the file there was, the answers since, and what was asked."""

    system: UnitSystem
    base: Mapping[str, Any]
    answers: Answers
    asked: frozenset[str] = frozenset()

    def having(self, question: Question, more: Answers) -> "Draft":
        """The draft with one question asked and answered; `more`: nothing where silence is the answer, which
        takes away what the file holds."""
        kept = {k: v for k, v in self.answers.items() if k != question.place}
        gone = {} if more or self._in_file(question.place) is None else {question.place: None}
        return replace(self, answers={**kept, **gone, **more}, asked=self.asked | {question.name})

    def begun(self, question: Question) -> "Draft":
        """The draft with its question still open, a list of which some lines are answered."""
        return replace(self, asked=self.asked - {question.name})

    def confirming(self, keys: Sequence[str]) -> "Draft":
        """The draft with unusual values that are meant."""
        place = ("job", "confirmed")
        return replace(self, answers={**self.answers, place: [*(self.value(place) or ()), *keys]})

    def value(self, place: tuple[str, str]) -> Any:
        """What stands for a key so far; None where nothing does."""
        return self.answers[place] if place in self.answers else self._in_file(place)

    @property
    def sign(self) -> str:
        """The sign of the prices that stand so far, empty while none has one."""
        return (self.value(CURRENCY) or "") if holds_price(_tree(self)) else ""

    def _in_file(self, place: tuple[str, str]) -> Any:
        table = self.base.get(place[0], {})
        if place == NEXT_RUN:
            return table[1] if len(table) > 1 else None
        table = (table or [{}])[0] if isinstance(table, list) else table
        return table.get(place[1]) if isinstance(table, dict) else None

    def open_questions(self, title: str) -> tuple[Question, ...]:
        """What was not asked; of a file that was not written from answers, what it does not say."""
        return tuple(
            q
            for q in questions(self.system, title)
            if q.name not in self.asked and (self.asked or self.value(q.place) is None)
        )


def fresh_draft(system: UnitSystem) -> Draft:
    """Nothing asked yet."""
    return Draft(system=system, base={}, answers={})


def draft_of(text: str) -> Draft:
    """What a job file says, to be gone on with. Errors: JobMistakesError for mistakes in it, or no TOML."""
    tree = toml_tree(text, "job.toml")
    job = tree.get("job")
    metric = isinstance(job, dict) and job.get("units") == str(UnitSystem.METRIC)
    found = re.search(rf"^{_ASKED}(.*)$", text, re.MULTILINE)
    asked = frozenset(found.group(1).split(", ")) if found else frozenset()
    system = UnitSystem.METRIC if metric else UnitSystem.IMPERIAL
    raise_mistakes(_problems(_over_defaults(tree, system)))
    return Draft(system=system, base=tree, answers={}, asked=asked)


def priced(question: Question, value: Any, sign: str) -> Answers:
    """The answers that a price or a list with prices makes; none where there is nothing of it. `sign`: of the
    prices, empty where they have none."""
    money = {CURRENCY: sign} if sign else {}
    return {} if value == [] else {question.place: value, **money}


def usual_answer(draft: Draft, question: Question) -> str:
    """What silence answers, by the answers so far: the least height leaves the shortest board whole."""
    if question.place != FROM_BOARDS:
        return question.default
    tree = _tree(draft)
    return height_of_whole_boards(tree["pickets"], _said(tree["top"], "most_height"), draft.system)


def skipped(draft: Draft, questions: Sequence[Question]) -> Draft:
    """The draft with the usual answers to questions: all but the job's name are the reader's defaults."""
    named = (draft.having(q, {q.place: q.default}) for q in questions if q.place == ("job", "title"))
    return next(named, draft)


def _said(table: Mapping[str, Any], key: str) -> dict[str, Any]:
    return {key: table[key]} if key in table else {}


def faults(draft: Draft) -> tuple[str, ...]:
    """What is wrong with the answers so far, each as what was found and what to do; empty if nothing is."""
    return tuple(p.message for p in _problems(_tree(draft)))


def doubts(draft: Draft) -> tuple[tuple[str, str], ...]:
    """Unusual values among the answers so far: the key that confirms each, and what is told."""
    try:
        file = _FILE.validate_python(_tree(draft), context=FROM_FILE)
    except ValidationError:
        return ()
    return tuple(unusual_values(file, file.run))


def without_doubted(
    draft: Draft, rows: Sequence[dict[str, Any]], keys: Sequence[str]
) -> list[dict[str, Any]]:
    """The rows of a list of boards whose lengths no key of a doubt names."""
    words = Words.of(_FILE.validate_python(_tree(draft), context=FROM_FILE).job)
    named = [f"]] {words.sold_length(parse_length(row['length']))} " for row in rows]
    return [row for row, name in zip(rows, named, strict=True) if not any(name in key for key in keys)]


def stock_begun(draft: Draft, question: Question) -> list[dict[str, Any]]:
    """The boards that were given so far: none where those that stand are the usual ones of a job begun."""
    stock = [dict(row) for row in draft.value(question.place) or ()]
    return [] if stock == bare_survey_stock(draft.system) else stock


def without_length(rows: Sequence[dict[str, Any]], length: str) -> list[dict[str, Any]]:
    """The rows of a list of boards but the one of a length as typed; all where it is none."""
    try:
        gone = parse_length(length)
    except UnitError:
        return list(rows)
    return [row for row in rows if parse_length(row["length"]) != gone]


def _problems(tree: Mapping[str, Any]) -> tuple[Problem, ...]:
    try:
        file = _FILE.validate_python(tree, context=FROM_FILE)
    except ValidationError as error:
        return tuple(explain_errors(error, "job.toml"))
    return tuple(check_job(file, "job.toml", list(range(len(file.run)))))


def drafted_job(draft: Draft) -> str:
    """The text of the job file that the answers make.

    What was not asked is left out: it is assumed by the reader, and printed as assumed with every plan.
    Errors: pydantic's, for answers that have faults.
    """
    file = _FILE.validate_python(_tree(draft), context=FROM_FILE)
    said = {k for k, v in draft.answers.items() if v is not None} | _places(_kept(draft))
    if ("pickets", "clearance") in said:
        said.add(("pickets", "most_gap"))
    defaults = default_tables(draft.system)
    assumed = [f"[{t}] {k}" for t, keys in defaults.items() for k in keys if (t, k) not in said]
    asked = f"{_ASKED}{', '.join(sorted(draft.asked))}\n" if draft.asked else ""
    return f"{_HEAD}{asked}\n{job_text(file, assumed)}"


def _places(tree: Mapping[str, Any]) -> set[tuple[str, str]]:
    return {(t, k) for t, keys in tree.items() if isinstance(keys, dict) for k in keys}


def _over_defaults(given: Mapping[str, Any], system: UnitSystem) -> dict[str, Any]:
    """A whole job: what is given, and the usual for all it does not say."""
    tree: dict[str, Any] = default_tables(system)
    tree["job"] |= {"title": "My fence", "units": str(system)}
    tree["pickets"]["stock"] = bare_survey_stock(system)
    for table, keys in copy.deepcopy(dict(given)).items():
        tree[table] = {**tree.get(table, {}), **keys} if isinstance(keys, dict) else keys
    tree["run"] = tree.get("run") or [{"name": RUN, "survey": SURVEY}]
    return tree


def _kept(draft: Draft) -> dict[str, Any]:
    """What the file held, without what the answers take away."""
    tree: dict[str, Any] = copy.deepcopy(dict(draft.base))
    for (table, key), value in draft.answers.items():
        if value is None and (table, key) == NEXT_RUN:
            del tree["run"][1]
        elif value is None:
            (tree["run"][0] if table == "run" else tree[table]).pop(key, None)
    return tree


def _tree(draft: Draft) -> dict[str, Any]:
    given = _kept(draft)
    tree = _over_defaults(given, draft.system)
    runs = tree["run"]
    for (table, key), value in draft.answers.items():
        if value is None:
            continue
        if (table, key) == NEXT_RUN:
            runs[1:2] = [{"survey": survey_name(value["name"]), "join": runs[0]["name"], **value}]
        else:
            (runs[0] if table == "run" else tree.setdefault(table, {}))[key] = value
    for run in runs:
        if run.get("end") is not None and "start" not in run:
            run["start"] = "0 m" if draft.system is UnitSystem.METRIC else "0 ft"
    if "most_gap" not in given.get("pickets", {}) or ("pickets", "clearance") in draft.answers:
        tree["pickets"]["most_gap"] = _wider_gap(tree["pickets"], draft.system)
    return tree


def survey_name(run: str) -> str:
    """The name of a run's survey file."""
    return (re.sub(r"[^a-z0-9]+", "_", run.lower()).strip("_") or "side_2") + ".csv"


def runs_of(draft: Draft) -> list[tuple[str, str, str | None]]:
    """Every run of a draft: its name, its survey and the station of its end, where that is known."""
    return [(str(r["name"]), str(r["survey"]), r.get("end")) for r in _tree(draft)["run"]]


def strings_of(draft: Draft, run: int) -> dict[str, tuple[float, float]]:
    """The set-ups of a run's string by name, where there are several: the stations (in) each is between."""
    strings = [s for s in _tree(draft)["run"][run].get("string", []) if s.get("id")]
    ends = [(s["id"], s.get("start"), s.get("end")) for s in strings] if len(strings) > 1 else []
    return {
        str(name): (parse_length(a) if a else -math.inf, parse_length(b) if b else math.inf)
        for name, a, b in ends
    }


def _wider_gap(pickets: Mapping[str, Any], system: UnitSystem) -> str:
    """The largest gap that may stay: the default, or as much above a wide clearance as the default is."""
    usual = default_tables(system)["pickets"]
    try:
        clearance = parse_length(str(pickets["clearance"]))
    except ValueError:
        return str(usual["most_gap"])
    room = parse_length(usual["most_gap"]) - parse_length(usual["clearance"])
    if clearance + room <= parse_length(usual["most_gap"]):
        return str(usual["most_gap"])
    return exact_length(min(clearance + room, LARGEST), system)


def readings_text(rows: Sequence[StringReading], system: UnitSystem) -> str:
    """The survey of some readings, in order of station.

    `rows`: as a survey holds them. Result: CSV in the units of its heading, each number exact to a thousandth
    of an inch or better, with the columns that some row fills.
    """
    along, down = ("ft", "in") if system is UnitSystem.IMPERIAL else ("m", "mm")
    ordered = sorted(rows, key=lambda r: (r.station, str(r.side) == "after"))
    columns = [(f"station [{along}]", [_number(r.station, along) for r in ordered])]
    columns.append((f"drop [{down}]", [_number(r.drop, down) for r in ordered]))
    known = ["" if r.known is None else exact_length(r.known, system) for r in ordered]
    more = (
        ("string", [r.string or "" for r in ordered]),
        ("side", [str(r.side or "") for r in ordered]),
        ("known", known),
        ("note", [_cell(r.note) for r in ordered]),
    )
    columns += [(name, cells) for name, cells in more if any(cells)]
    lines = [",".join(name for name, _ in columns)]
    lines += [",".join(cells[i] for _, cells in columns) for i in range(len(ordered))]
    return "\n".join(lines) + "\n"


def _cell(text: str) -> str:
    return f'"{text.replace(chr(34), chr(34) * 2)}"' if re.search(r'[",;\t]', text) else text


def _number(inches: float, unit: str) -> str:
    return f"{length_in(inches, unit):.6f}".rstrip("0").rstrip(".")
