"""Commands in processes of their own, forked from one that has the program loaded.

As started from a shell, with terminal, signals and an end of their own, but without the time it takes to load
what they need.
"""

import contextlib
import json
import os
import signal
import socket
import subprocess
import sys
from collections.abc import Iterable, Mapping
from importlib import import_module
from pathlib import Path

FOR_NEW = (
    "fencegrade.cli.main",
    "fencegrade.cli.take_readings",
    "fencegrade.job.as_built",
    "fencegrade.job.template",
    "fencegrade.sheets.page.readings",
    "fencegrade.sheets.paper.reading_sheet",
)
"""What `new` loads; a command loads what is missing itself."""


class Forked:
    """A command that runs: its process, and its exit status once it has ended."""

    def __init__(self, ours: socket.socket) -> None:
        with ours:
            self._ours = ours.makefile()
        self.pid = int(self._told())
        self.status: int | None = None

    def _told(self) -> str:
        return self._ours.readline()

    def wait(self) -> int:
        """The exit status, that of a signal below 0."""
        if self.status is None:
            self.status = int(self._told())
            self._ours.close()
        return self.status

    def kill(self) -> None:
        """End the command and all it started, whatever it does."""
        if self.status is None:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(self.pid, signal.SIGKILL)
            self.wait()


class Program:
    """The program, loaded once, from which commands are forked."""

    def __init__(self, modules: Iterable[str]) -> None:
        self._asks, theirs = socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)
        beside = f"import sys; sys.path.insert(0, {str(Path(__file__).parent)!r})"
        code = f"{beside}; import forked; forked.serve({theirs.fileno()}, {tuple(modules)!r})"
        self._process = subprocess.Popen([sys.executable, "-c", code], pass_fds=[theirs.fileno()])
        theirs.close()

    def start(
        self,
        words: Iterable[str],
        terminal: int,
        folder: Path,
        **environment: str,
    ) -> Forked:
        """Start `fencegrade` with words in a folder, at a terminal that is an open file of this process."""
        ours, theirs = socket.socketpair()
        asked = [list(words), str(folder), {**os.environ, **environment}]
        socket.send_fds(self._asks, [json.dumps(asked).encode()], [theirs.fileno(), terminal])
        theirs.close()
        return Forked(ours)

    def close(self) -> None:
        """End the loaded program."""
        self._asks.close()
        self._process.wait()


def serve(asks: int, modules: Iterable[str]) -> None:
    """Load the modules; then fork a keeper for every command asked for, until nobody can ask any more."""
    for module in modules:
        import_module(module)
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)
    with socket.socket(fileno=asks) as asked:
        while True:
            text, files, *_ = socket.recv_fds(asked, 1_000_000, 2)
            if not text:
                return
            told, terminal = files
            if not os.fork():
                asked.close()
                _keep(told, terminal, *json.loads(text))
            os.close(told)
            os.close(terminal)


def _keep(told: int, terminal: int, words: list[str], folder: str, environment: Mapping[str, str]) -> None:
    """Fork the command itself, tell its process, wait for it and tell how it ended."""
    signal.signal(signal.SIGCHLD, signal.SIG_DFL)
    pid = os.fork()
    if not pid:
        os.close(told)
        _run(terminal, words, folder, environment)
    os.close(terminal)
    os.write(told, f"{pid}\n".encode())
    os.write(told, f"{os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1])}\n".encode())
    os._exit(0)


def _run(terminal: int, words: list[str], folder: str, environment: Mapping[str, str]) -> None:
    """The command in this process as an interpreter runs it: by its entry point, on fresh streams.

    Control keys count: what is started in the background of a shell hears no interrupt.
    """
    import fcntl
    import termios
    import traceback

    os.setsid()
    for stream in range(3):
        os.dup2(terminal, stream)
    os.close(terminal)
    fcntl.ioctl(0, termios.TIOCSCTTY, 0)
    signal.signal(signal.SIGINT, signal.default_int_handler)
    os.chdir(folder)
    os.environ.clear()
    os.environ.update(environment)
    sys.argv = ["fencegrade", *words]
    for name, stream in (("stdin", 0), ("stdout", 1), ("stderr", 2)):
        setattr(sys, name, os.fdopen(stream, "w" if stream else "r", encoding="utf-8", closefd=False))
    status: object = 0
    try:
        import_module("fencegrade.cli.main").main()
    except SystemExit as ended:
        status = ended.code or 0
    except BaseException:
        traceback.print_exc()
        status = 1
    for file in (sys.stdout, sys.stderr):
        with contextlib.suppress(Exception):
            file.flush()
    os._exit(status if isinstance(status, int) else 1)
