"""What is asked when a fence is resumed: what was said of the last picket up, added to the record."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from msgspec import Struct

from fencegrade.fence.wood.widths import USUAL_LIMIT
from fencegrade.job.as_built import AsBuilt, BoardsLeft, PicketUp
from fencegrade.job.explain import nearest_of
from fencegrade.job.fields import printable
from fencegrade.job.read import Job
from fencegrade.problems import Problem, mistake, raise_mistakes, refuse
from fencegrade.units import UnitError, parse_length

MOST_BOARDS = 10_000_000

_ALL_TO_BUY = "not counted: every board to come is listed as to buy"
_HAND_LESS_UP = (
    "not counted: those on hand in the job file, less what the list gave to the pickets that are up"
)


class Ask(Struct, frozen=True, kw_only=True):
    """A question about the rest of a run.

    `run`: its index; `picket`: what was said of the last one up, None where the record alone is asked about;
    `built`: the record with that in it; `counted`: whether the boards left were counted now; `assumed`: what
    was not said, and what was taken.
    """

    run: int
    picket: PicketUp | None
    built: AsBuilt
    counted: bool = False
    assumed: tuple[tuple[str, str], ...] = ()


def read_ask(
    job: Job,
    *,
    run: str | None = None,
    after: int | None = None,
    texts: Mapping[str, str | None] | None = None,
    left: Sequence[str] = (),
) -> Ask:
    """What is asked, from words as a builder typed them.

    `job`: with its record; `run`: its name, may be None where there is one; `after`: pickets up; `texts`:
    `at` the last one's far edge, `width` of a board, `gap` that those before it were set to, and `limit` by
    which one gap may differ from the next; `left`: such as `6 ft:14`. Result: the question. Errors:
    JobMistakesError with every mistake found, its place the word's name.
    """
    reader = _Reader(job)
    index, unknown = named_run([r.name for r in job.runs], run)
    raise_mistakes(unknown)
    given = {key: reader.length(key, text) for key, text in (texts or {}).items() if text is not None}
    built = reader.with_left(job.built, left)
    limit = reader.limit(given.get("limit"))
    picket = reader.picket(index, after, given)
    raise_mistakes(reader.problems)
    here = built.of(job.runs[index].name)
    if limit is not None:
        here = replace(here, limit=limit)
    if picket is not None:
        kept = [p for p in here.picket if p.number != picket.number]
        here = replace(here, picket=tuple(sorted([*kept, picket], key=lambda p: p.number)))
    if not here.picket and picket is None and after is None:
        found = "it is not said how many pickets are up"
        refuse("after", found, "say how many, or write them in built.toml")
    return Ask(
        run=index,
        picket=picket,
        built=built.with_run(here),
        counted=bool(left),
        assumed=tuple(reader.assumed),
    )


def named_run(names: Sequence[str], given: str | None) -> tuple[int, list[Problem]]:
    """Index of the run that is named, or of the only one, and what is wrong with the name."""
    if given is None and len(names) > 1:
        return 0, [mistake("run", f"the job has {len(names)} runs", f"name one: {', '.join(names[:10])}")]
    if given is not None and given not in names:
        found = f'no run is called "{printable(given, 60)}"'
        return 0, [mistake("run", found, nearest_of(given, names))]
    return names.index(given) if given is not None else 0, []


class _Reader:
    """Collects what is wrong while it reads."""

    def __init__(self, job: Job) -> None:
        self.job = job
        self.problems: list[Problem] = []
        self.assumed: list[tuple[str, str]] = []

    def picket(self, index: int, after: int | None, given: Mapping[str, float | None]) -> PicketUp | None:
        """What was said of the last picket up; None where nothing was."""
        here = self.job.built.of(self.job.runs[index].name)
        last = max((p.number for p in here.picket), default=0)
        at = given.get("at")
        if after is None:
            if "at" in given:
                self._wrong("after", "it is not said how many pickets are up", "say which picket ends there")
            return None
        if after < 0:
            self._wrong("after", f"{after} pickets cannot be up", "write how many are")
        elif after < last:
            found = f"picket {last} is up by {here.place}, but {after} are said to be"
            self._wrong("after", found, "correct the one or the other")
        elif after == 0:
            if "at" in given:
                found = "no picket is up, so none ends anywhere"
                self._wrong(
                    "at", found, "where the first post stands elsewhere, write [[run.post]] in built.toml"
                )
        elif at is None:
            if "at" not in given:
                found = f"the far edge of picket {after} was not measured"
                self._wrong("at", found, "say its station from the start of the run")
        else:
            return PicketUp(
                number=after, far_edge=at, width=given.get("width"), gap=given.get("gap"), place="at"
            )
        return None

    def limit(self, value: float | None) -> float | None:
        usual = USUAL_LIMIT[self.job.units]
        if value is None:
            self.assumed.append(("limit", usual))
        elif value <= 0:
            self._wrong("limit", "a limit is more than zero", f'write such as "{usual}"')
        return value

    def with_left(self, built: AsBuilt, texts: Sequence[str]) -> AsBuilt:
        """The record with the boards left as they are told; a length told takes the place of the same one."""
        told = [row for text in texts if (row := self._left(text)) is not None]
        lengths = [row.length for row in told]
        for k, length in enumerate(lengths):
            if length in lengths[:k]:
                self._wrong("left", "one length comes twice", "add the two up")
        if not told:
            if built.left is None:
                held = any(stock.on_hand for stock in self.job.pickets.stock)
                self.assumed.append(("left", _HAND_LESS_UP if held else _ALL_TO_BUY))
            return built
        kept = [row for row in built.left or () if row.length not in lengths]
        return replace(built, left=tuple(sorted([*kept, *told], key=lambda row: row.length)))

    def _left(self, text: str) -> BoardsLeft | None:
        size, colon, number = text.rpartition(":")
        if not colon or not number.strip().isdecimal() or int(number) > MOST_BOARDS:
            found = f'"{printable(text, 60)}" is no length with a count'
            self._wrong("left", found, 'write such as "6 ft:14" for 14 boards of 6 ft')
            return None
        length = self.length("left", size)
        return None if length is None else BoardsLeft(length=length, count=int(number), place="left")

    def length(self, place: str, text: str) -> float | None:
        try:
            value = parse_length(text)
        except UnitError as error:
            self._wrong(place, *error.halves)
            return None
        if (place in ("width", "left") and value <= 0) or (place == "gap" and value < 0):
            self._wrong(place, f'"{printable(text, 60)}" cannot be', "check the number and its sign")
            return None
        return value

    def _wrong(self, place: str, found: str, remedy: str) -> None:
        self.problems.append(mistake(place, found, remedy))
