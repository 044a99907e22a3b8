"""A bar on the terminal while long work is done; nothing at all in a pipe."""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

Step = Callable[[str], None]
"""Tells which step begins now."""

NARROW = 60
"""Columns under which the bar itself is left out and only the words are shown."""


@contextmanager
def steps(count: int) -> Iterator[Step]:
    """Show how far a work of `count` steps is, on standard error if that is a terminal.

    The bar disappears when the work ends, so that answers and complaints stand alone. Colours are left out
    where the environment says NO_COLOR.
    """
    if not sys.stderr.isatty():
        yield lambda words: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

    console = Console(stderr=True)
    if console.is_dumb_terminal:
        yield lambda words: None
        return
    bar = [BarColumn(bar_width=24), TextColumn("{task.completed:.0f} of {task.total:.0f}")]
    columns = [SpinnerColumn(), TextColumn("{task.description}", markup=False)]
    wide = [*bar, TimeElapsedColumn()] if console.width >= NARROW else []
    with Progress(*columns, *wide, console=console, transient=True) as progress:
        task = progress.add_task("starting", total=count)
        begun = 0

        def step(words: str) -> None:
            nonlocal begun
            progress.update(task, description=words, completed=begun)
            begun += 1

        yield step
