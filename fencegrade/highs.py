"""HiGHS, the solver of linear and integer programmes, on one thread and without a word."""

from typing import Any

import highspy


class _Silent(highspy.Highs):
    """A solver that leaves out what `highspy.Highs` does when made: callbacks, and printing its name."""

    def __init__(self) -> None:
        super(highspy.Highs, self).__init__()


def silent(**options: Any) -> highspy.Highs:
    """A solver on one thread that says nothing, with further options of HiGHS."""
    solver = _Silent()
    set_options(solver, output_flag=False, threads=1, parallel="off", **options)
    return solver


def set_options(solver: highspy.Highs, /, **options: Any) -> None:
    """Give a solver options of HiGHS."""
    for name, value in options.items():
        solver.setOptionValue(name, value)
