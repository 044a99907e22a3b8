"""The few questions behind a useful first plan, their defaults, and the job file the answers make.

Nothing is asked or printed here: a question is a record, an answer a text, and `faults` says what is wrong
with the job so far in the words of the job file's own checks.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import TypeAdapter, ValidationError

from fencegrade.job.checks import check_job
from fencegrade.job.defaults import FROM_BOARDS, bare_survey_stock, default_tables, height_of_whole_boards
from fencegrade.job.exact import exact_length
from fencegrade.job.explain import explain_errors
from fencegrade.job.fields import FROM_FILE
from fencegrade.job.records import JobFile
from fencegrade.job.survey import Mark
from fencegrade.job.template import survey_heading
from fencegrade.job.write import job_text
from fencegrade.units import UnitSystem, length_in, parse_length

RUN = "side 1"
SURVEY = "side_1.csv"
"""Names of the run that is asked about and of its survey."""

_HEAD = """\
# Written from the answers to `fencegrade new`. What is not here is taken from common practice and printed
# with every plan; the README lists every key.
"""

_FILE = TypeAdapter(JobFile)

Answers = Mapping[tuple[str, str], Any]
"""Table and key of what was answered, and the value as it stands in a job file."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """One question: the table and key it fills, its words, and the default that an empty answer takes."""

    table: str
    key: str
    words: str
    default: str

    @property
    def place(self) -> tuple[str, str]:
        """Table and key, as in the answers."""
        return self.table, self.key


def questions(system: UnitSystem) -> tuple[Question, ...]:
    """The questions with one length for an answer, in order; those of run and stock are put beside them."""
    words = {
        ("pickets", "width"): "Actual width of a picket (measure one)",
        ("pickets", "spacing"): "Space between two pickets",
        ("pickets", "clearance"): "Space to keep between pickets and soil",
    }
    defaults = default_tables(system)
    return tuple(
        Question(table=table, key=key, words=text, default=defaults[table][key])
        for (table, key), text in words.items()
    )


def height_question(answers: Answers, system: UnitSystem) -> Question:
    """The question for the least height, once the boards are known: its default leaves the shortest whole."""
    table, key = FROM_BOARDS
    default = height_of_whole_boards(_tree(answers, system)["pickets"], {}, system)
    return Question(table=table, key=key, words="Least height of the tops above the ground", default=default)


def faults(answers: Answers, system: UnitSystem) -> tuple[str, ...]:
    """What is wrong with the answers so far, each as what was found and what to do; empty if nothing is."""
    try:
        file = _FILE.validate_python(_tree(answers, system), context=FROM_FILE)
    except ValidationError as error:
        return tuple(p.message for p in explain_errors(error, "job.toml"))
    return tuple(p.message for p in check_job(file, "job.toml", [0]))


def answered_job(answers: Answers, system: UnitSystem) -> str:
    """The text of the job file that the answers make.

    What was not asked is left out: it is assumed by the reader, and printed as assumed with every plan.
    Errors: pydantic's, for answers that have faults.
    """
    file = _FILE.validate_python(_tree(answers, system), context=FROM_FILE)
    asked = {*answers, ("pickets", "most_gap")} if ("pickets", "clearance") in answers else {*answers}
    defaults = default_tables(system)
    assumed = [f"[{t}] {k}" for t, keys in defaults.items() for k in keys if (t, k) not in asked]
    return f"{_HEAD}\n{job_text(file, assumed)}"


def _tree(answers: Answers, system: UnitSystem) -> dict[str, Any]:
    tree: dict[str, Any] = default_tables(system)
    tree["job"] |= {"title": "My fence", "units": str(system)}
    tree["run"] = [{"name": RUN, "survey": SURVEY}]
    tree["pickets"]["stock"] = bare_survey_stock(system)
    for (table, key), value in answers.items():
        (tree["run"][0] if table == "run" else tree[table])[key] = value
    if ("pickets", "clearance") in answers:
        tree["pickets"]["most_gap"] = _wider_gap(tree["pickets"], system)
    return tree


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
    return exact_length(clearance + room, system)


def readings_text(
    readings: list[tuple[float, float]], system: UnitSystem, breaks: Collection[float] = ()
) -> str:
    """The survey of some readings, in order of station.

    `readings`: station and drop, inches; `breaks`: stations of those taken at a break. Result: CSV in the
    units of its heading, each number exact to a thousandth of an inch or better.
    """
    along, down = ("ft", "in") if system is UnitSystem.IMPERIAL else ("m", "mm")
    rows = [
        f"{_number(station, along)},{_number(drop, down)}{f',{Mark.BREAK}' if station in breaks else ''}\n"
        for station, drop in sorted(readings, key=lambda r: r[0])
    ]
    return f"{survey_heading(system)}{',note' if breaks else ''}\n{''.join(rows)}"


def _number(inches: float, unit: str) -> str:
    return f"{length_in(inches, unit):.6f}".rstrip("0").rstrip(".")
