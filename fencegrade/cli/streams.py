"""Standard input, output and error as the program needs them: never closed, answers alone on the output."""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from io import TextIOWrapper, UnsupportedOperation

_OUTPUT = 1
"""The number of standard output, to which C prints whatever `sys.stdout` is."""


def open_streams() -> None:
    """Treat a closed standard stream as /dev/null; what a terminal cannot write becomes a question mark."""
    for name, mode in (("stdin", "r"), ("stdout", "w"), ("stderr", "w")):
        if getattr(sys, name) is None:
            setattr(sys, name, os.fdopen(os.open(os.devnull, os.O_RDWR), mode, encoding="utf-8"))
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="replace")


@contextmanager
def answers_alone() -> Iterator[None]:
    """Keep standard output for what the commands say: what a library prints from C goes nowhere.

    Meanwhile the number of standard output leads to /dev/null, and `sys.stdout` writes to a copy of it.
    """
    output = sys.stdout
    try:
        copy, kept = os.dup(output.fileno()), os.dup(_OUTPUT)
    except (UnsupportedOperation, OSError):
        yield
        return
    output.flush()
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, _OUTPUT)
    os.close(nowhere)
    try:
        with os.fdopen(copy, "w", encoding=output.encoding, errors="replace") as sys.stdout:
            yield
    finally:
        sys.stdout = output
        _empty_buffers()
        os.dup2(kept, _OUTPUT)
        os.close(kept)


def _empty_buffers() -> None:
    """Let what C has printed go now, and not at the end of the process."""
    import ctypes

    ctypes.CDLL("ucrtbase" if os.name == "nt" else None).fflush(None)
