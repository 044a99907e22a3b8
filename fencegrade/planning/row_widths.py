"""How wide the boards of each run are taken to be: all come from one pile; what is up tells of the rest."""

from collections.abc import Iterator, Sequence

from fencegrade.job.read import Job
from fencegrade.planning.layout import RunLayout
from fencegrade.problems import Problem, note
from fencegrade.units import parse_length
from fencegrade.units.tolerances import SAME_LENGTH


def row_widths(job: Job, layouts: Sequence[RunLayout] = ()) -> tuple[float, ...]:
    """The width (in) of the boards that the row of each run is laid for, before anything of it stands.

    `layouts`: of all runs as they stand. A run with a picket up keeps what it was laid for: what its record
    says, else the job's. Any other has the mean of those begun, each by the boards that tell its width, as it
    is told and written down.
    Source: own derivation.
    """
    known = [(lay.width, lay.standing.known) for lay in layouts if lay.standing is not None]
    boards = sum(count for _, count in known)
    planned = job.pickets.width
    came = sum(width * count for width, count in known) / boards if boards else planned
    came = planned if abs(came - planned) <= SAME_LENGTH else parse_length(job.words.width(came))
    built = [job.built.of(run.name) for run in job.runs]
    return tuple((b.board_width or planned) if b.picket else came for b in built)


def width_notes(job: Job, widths: Sequence[float]) -> Iterator[Problem]:
    """That runs not begun are laid for boards as wide as those that are up, where these are not as planned.

    `widths`: as `row_widths` gives them (in).
    """
    planned = job.pickets.width
    for run, width in zip(job.runs, widths, strict=True):
        if not job.built.of(run.name).picket and width != planned:
            words = job.words
            found = (
                f"laid for boards {words.width(width)} wide, as they came so far, not {words.width(planned)}"
            )
            width_key = f'board_width = "{words.width(width)}"'
            remedy = (
                f"kept with its first board; begun by hand, write {width_key} in its [[run]] of built.toml"
            )
            yield note(run.name, found, remedy)
