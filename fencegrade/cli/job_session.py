"""A job while it is asked for at a terminal: its draft, its readings, and the files they are saved in."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from fencegrade.cli.take_readings import Reader
from fencegrade.job.interview import (
    Draft,
    Question,
    draft_of,
    drafted_job,
    fresh_draft,
    readings_text,
    runs_of,
    strings_of,
)
from fencegrade.job.survey import StringReading, StringSurvey
from fencegrade.job.survey_csv import read_survey
from fencegrade.job.template import blank_built, blank_survey
from fencegrade.problems import JobMistakesError, raise_mistakes
from fencegrade.sheets.files import keep_beside, keep_foreign, write_files
from fencegrade.units import UnitSystem, parse_length
from fencegrade.units.tolerances import SAME_LENGTH
from fencegrade.units.words import Words, plural


@dataclass(slots=True, kw_only=True)
class Session:
    """The state of one sitting; `surveys`: rows of each string survey by file, `taken`: those with readings
    to be written, `given`: files taken as they are; `saved`: whether something was written, `written` the
    files; `on_page`: the title and runs its page has; `on_file`: the draft as its file was read, which
    nothing was answered to yet."""

    folder: Path
    draft: Draft
    force: bool
    surveys: dict[str, list[StringReading]] = field(default_factory=dict)
    taken: set[str] = field(default_factory=set)
    given: dict[str, bytes] = field(default_factory=dict)
    written: list[Path] = field(default_factory=list)
    saved: bool = False
    on_page: tuple[str, list[tuple[str, str]]] | None = None
    on_file: Draft | None = None

    @staticmethod
    def fresh(folder: Path, system: UnitSystem, force: bool, survey: Path | None = None) -> "Session":
        """A job that begins; `survey`: one taken already, which is copied beside it."""
        draft = fresh_draft(system)
        session = Session(folder=folder, draft=draft, force=force)
        if survey is not None:
            name = survey.name
            session.draft = Draft(system=system, base={}, answers={("run", "survey"): name})
            session.given[name] = survey.read_bytes()
        return session

    @staticmethod
    def of(folder: Path) -> "Session":
        """A job that is there. Errors: JobMistakesError where its file or a survey cannot be read."""
        draft = draft_of((folder / "job.toml").read_text(encoding="utf-8-sig"))
        session = Session(folder=folder, draft=draft, force=True, saved=True, on_file=draft)
        for _, name, _ in session.runs():
            session.read(name)
        return session

    def read(self, name: str) -> None:
        """Read a survey as it lies there now. Errors: JobMistakesError where it cannot be read."""
        path = self.folder / name
        if not path.is_file():
            return
        survey, problems = read_survey(path)
        if isinstance(survey, StringSurvey):
            self.surveys[name] = list(survey.rows)
        elif survey is not None or path.read_text(errors="replace").count("\n") > _BLANK_LINES:
            raise_mistakes(problems)
            self.given[name] = path.read_bytes()

    def runs(self) -> list[tuple[str, str, str | None]]:
        """Name, survey and end of every run."""
        return runs_of(self.draft)

    def open_questions(self) -> tuple[Question, ...]:
        """Those neither asked nor answered."""
        return self.draft.open_questions(self.folder.resolve().name or "My fence")

    def answered(self, draft: Draft) -> None:
        """Take an answer and save it."""
        self.draft = draft
        self.save()

    def standing(self, question: Question) -> str:
        """What is answered to a question so far, in a few words."""
        value = self.draft.value(question.place)
        if value is None:
            return question.default
        if isinstance(value, dict):
            gates = f", {plural(len(value['gate']), 'gate')}" if value.get("gate") else ""
            return f"{value['name']}{', ' + value['end'] + ' long' if value.get('end') else ''}{gates}"
        return f"{len(value)} given" if isinstance(value, list) else str(value)

    def save(self) -> None:
        """Write the job and the surveys with readings taken here, whole or not at all.

        What others wrote is kept beside first; a job file to which nothing was answered is left as it is.
        """
        from fencegrade.sheets.paper.reading_sheet import reading_sheet

        system = self.draft.system
        files = {} if self.draft is self.on_file else {"job.toml": drafted_job(self.draft).encode()}
        files |= self._page()
        for _, name, _ in self.runs():
            rows = self.surveys.get(name, [])
            text = readings_text(rows, system) if rows else blank_survey(system)
            content = self.given.get(name) or text.encode()
            fresh = name in self.taken or not self.saved or not (self.folder / name).is_file()
            if fresh and not (name in self.given and _holds(self.folder / name, content)):
                files[name] = content
        if not self.written:
            files |= {"reading_sheet.pdf": reading_sheet(system)}
            if not (self.folder / "built.toml").exists():
                files["built.toml"] = blank_built(system).encode()
        self._write(files)
        self.saved = True
        self.taken.clear()

    def bring_page(self) -> None:
        """Write the page that takes readings where the one that lies there is not of the job's runs."""
        page = self._page()
        self._write(
            {name: content for name, content in page.items() if not _holds(self.folder / name, content)}
        )

    def _page(self) -> dict[str, bytes]:
        """The page that takes readings, where its title or runs are others than those it has."""
        from fencegrade.sheets.page.readings import readings_page

        runs = [(name, survey) for name, survey, _ in self.runs()]
        title = self.draft.value(("job", "title")) or "My fence"
        if (title, runs) == self.on_page:
            return {}
        self.on_page = title, runs
        return {"readings.html": readings_page(title, self.draft.system, runs, self.folder.resolve().name)}

    def _write(self, files: dict[str, bytes]) -> None:
        kept = (keep_beside if self.force and not self.saved else keep_foreign)(self.folder, files)
        paths = [*kept, *write_files(self.folder, files, self.force or self.saved)]
        self.written += [p for p in paths if p not in self.written]

    def count(self, index: int) -> int:
        """How many readings a run has."""
        return len(self.surveys.get(self.runs()[index][1], []))

    def is_read(self, index: int) -> bool:
        """Whether a run has readings up to its end, or any where its length is not known."""
        _, survey, end = self.runs()[index]
        rows = self.surveys.get(survey, [])
        last = max((row.station for row in rows), default=-math.inf)
        return survey in self.given or last >= (0.0 if end is None else parse_length(end) - SAME_LENGTH)

    def take(self, index: int) -> None:
        """Take readings of one run; each is saved. A survey of another kind is left to a spreadsheet."""
        from fencegrade.cli.say import say

        name, survey, end = self.runs()[index]
        if self.saved:
            self.read(survey)
        if survey in self.given:
            say(f"{survey} holds other than string readings: add to it in a spreadsheet.")
            return
        say()
        if len(self.runs()) > 1:
            say(f"{name}, in {survey}")

        def keep(rows: list[StringReading]) -> None:
            self.surveys[survey] = list(rows)
            self.taken.add(survey)
            self.save()

        known = self.surveys.get(survey, [])
        Reader(known, self.draft.system, keep, end=end, strings=strings_of(self.draft, index)).take()

    def here(self) -> Iterator[str]:
        """What is in the folder."""
        words = Words.of_readings(self.draft.system)
        title = self.draft.value(("job", "title")) or self.folder.name
        yield f"{title}: {self.draft.system}"
        for name, survey, end in self.runs():
            rows = self.surveys.get(survey, [])
            reach = f", to {words.station(max(r.station for r in rows))}" if rows else ""
            long = f", {end} long" if end else ""
            count = "as it is" if survey in self.given else f"{len(rows)} readings"
            yield f"  {name}{long}: {count} in {survey}{reach}"
        open_ones = self.open_questions()
        if open_ones:
            yield f"  still open: {', '.join(q.words.split(':')[0].split(' (')[0] for q in open_ones)}"

    def advice(self) -> Iterator[str]:
        """Where the next reading is worth most, as far as the job can be planned."""
        from fencegrade.job.read import read_job
        from fencegrade.planning.check import ground_reports
        from fencegrade.planning.plan import plan_fence

        words = Words.of_readings(self.draft.system)
        try:
            plan = plan_fence(read_job(self.folder))
        except JobMistakesError:
            return
        for run, report in zip(plan.runs, ground_reports(plan), strict=True):
            if report.advice.stretches:
                best = report.advice.stretches[0]
                middle = words.station((best.start + best.end) / 2)
                yield f"Worth most in {run.run.name}: a reading at {middle}."


def _holds(path: Path, content: bytes) -> bool:
    return path.is_file() and path.read_bytes() == content


_BLANK_LINES = 12
"""Lines of a survey that may still be the blank one."""
