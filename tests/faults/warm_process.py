"""A process that has loaded the program and forks for each command, so that faults are cheap.

Run as a script it reads requests from its input, one JSON object a line, and answers each with the
id of the child that runs it, or with its exit code. ``Warm`` is the other end.

Instead of a command it may be asked to write a folder of three files, which takes no time and is
all writing; ``given_up`` ends it before the first. A request may ask for a fault inside the child:

fail    the N-th call that changes the disk fails with this ``errno``, or, where a ``signal`` is
        given instead, is preceded by it
size    no file may grow beyond this number of bytes; what it prints is thrown away, but for errors
clock   the clock on the wall jumps by up to a day at every look at it
means   seconds of processor time, and bytes of memory; the system ends what takes more
"""

from __future__ import annotations

import importlib
import json
import os
import signal
import subprocess
import sys
import time
import traceback
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

CHANGING = ("mkdir", "rename", "replace", "unlink", "fsync", "ftruncate", "write", "open")
"""Functions of ``os`` that change the disk; ``open`` only when it is to write."""

TRACEBACK = 99
"""Exit code of a child that did not explain what went wrong."""


class Ended(NamedTuple):
    """How a command ended, and what it said."""

    code: int
    out: str
    err: str


class Started(NamedTuple):
    """A command that runs: its process, and the files it speaks to."""

    pid: int
    out: Path
    err: Path


class Warm:
    """The loaded process, and the commands it is asked to run."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.count = 0
        self.process = subprocess.Popen(
            [sys.executable, __file__], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
        )

    def start(self, cwd: Path, *arguments: Any, **fault: Any) -> Started:
        self.count += 1
        out, err = (self.folder / f"{self.count}.{name}" for name in ("out", "err"))
        request = {"args": list(map(str, arguments)), "cwd": str(cwd), "out": str(out)}
        pid = self._ask(request | {"err": str(err)} | fault)
        return Started(pid, out, err)

    def wait(self, started: Started) -> Ended:
        """Wait for a command; ended by a signal its code is minus that signal's number."""
        code = self._ask({"wait": started.pid})
        said = (path.read_text() if path.exists() else "" for path in started[1:])
        return Ended(code, *said)

    def run(self, cwd: Path, *arguments: Any, **fault: Any) -> Ended:
        return self.wait(self.start(cwd, *arguments, **fault))

    def signalled(self, after: float, number: int, cwd: Path, *arguments: Any) -> Ended:
        """Run a command and signal it after a number of seconds."""
        started = self.start(cwd, *arguments)
        time.sleep(after)
        os.kill(started.pid, number)  # it stays a child of the process until it is waited for
        return self.wait(started)

    def go_on(self, started: Started) -> None:
        """Let a command go on that has stopped itself."""
        os.kill(started.pid, signal.SIGCONT)

    def close(self) -> None:
        self.process.communicate()

    def _ask(self, request: dict[str, Any]) -> int:
        assert self.process.stdin is not None and self.process.stdout is not None
        print(json.dumps(request), file=self.process.stdin, flush=True)
        return int(self.process.stdout.readline())


def serve() -> None:
    for line in sys.stdin:
        request = json.loads(line)
        if "wait" in request:
            print(os.waitstatus_to_exitcode(os.waitpid(request["wait"], 0)[1]), flush=True)
            continue
        pid = os.fork()
        if pid == 0:
            _be_child(request)
        print(pid, flush=True)


def _be_child(request: dict[str, Any]) -> None:
    code = 130
    try:
        signal.signal(signal.SIGINT, signal.default_int_handler)
        flags = os.O_WRONLY | os.O_CREAT | os.O_TRUNC
        out = os.devnull if "size" in request else request["out"]
        for descriptor, name in ((1, out), (2, request["err"])):
            os.dup2(os.open(name, flags), descriptor)
        os.chdir(request["cwd"])
        code = _run(request)
    finally:
        signal.signal(signal.SIGINT, signal.SIG_IGN)
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(code)


def _run(request: dict[str, Any]) -> int:
    from jobprep.cli import main

    try:
        _prepare(request)
        if "folder" in request:
            _write_folder(Path(request["folder"]), request.get("given_up", False))
        else:
            main(request["args"], prog_name="jobprep")
    except SystemExit as end:
        return int(end.code or 0)
    except BaseException as error:
        if isinstance(error, KeyboardInterrupt) and "folder" in request:
            return 130  # as the command line makes of it
        traceback.print_exc()
        return TRACEBACK
    return 0


def _write_folder(path: Path, given_up: bool) -> None:
    from jobprep.errors import CannotDoError, JobprepError
    from jobprep.files.write import write_text_atomic
    from jobprep.runs.folder import output_folder

    try:
        with output_folder(path) as folder:
            if given_up:
                raise CannotDoError("given up")
            for name in ("amber.svg", "summary.json", "run.toml"):
                write_text_atomic(folder / name, "format = 1\n" + os.urandom(8).hex().join("##"))
    except JobprepError as error:
        print(error, file=sys.stderr)
        sys.exit(error.exit_code)


def _prepare(request: dict[str, Any]) -> None:
    """Bring about the fault that is asked for."""
    if "fail" in request:
        _fail_call(request["fail"], request.get("errno"), request.get("signal"))
    elif "size" in request:
        import resource

        resource.setrlimit(resource.RLIMIT_FSIZE, (request["size"], request["size"]))
    elif "clock" in request:
        _jump()
    elif "means" in request:
        import resource

        seconds, memory = request["means"]
        resource.setrlimit(resource.RLIMIT_AS, (memory, memory))
        resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds))


def _fail_call(last: int, errno: int | None, number: int | None) -> None:
    count = 0

    def failing(real: Callable[..., Any], name: str) -> Callable[..., Any]:
        def call(*arguments: Any, **named: Any) -> Any:
            nonlocal count
            reading = name == "open" and not (arguments[1] & (os.O_WRONLY | os.O_RDWR))
            if not reading and arguments[0] not in (1, 2):
                count += 1
                if count == last and number is not None:
                    os.kill(os.getpid(), number)
                elif count == last and errno is not None:
                    path = arguments[0] if isinstance(arguments[0], str | Path) else None
                    raise OSError(errno, os.strerror(errno), path and str(path))
            return real(*arguments, **named)

        return call

    for name in CHANGING:
        setattr(os, name, failing(getattr(os, name), name))


def _jump() -> None:
    real, count = time.time, 0

    def jumping() -> float:
        nonlocal count
        count += 1
        return real() + 86400.0 * (count * 0.618 % 1.0 - 0.5)

    time.time = jumping


LOADED = (
    "jobprep.cli.recut_tables",
    "jobprep.cli.stock_table",
    "jobprep.cli.tables",
    "jobprep.cli.terminal",
    "jobprep.drawing.pdf",
    "jobprep.measuring.points",
    "jobprep.nesting.search",
    "jobprep.outputs",
    "jobprep.planning.fill",
    "jobprep.printing.sheets",
    "jobprep.runs.booked",
    "jobprep.runs.cut_run",
    "jobprep.runs.recorded_run",
    "jobprep.runs.recut",
    "jobprep.runs.spoiled",
)
"""What the commands need, by name: a linter takes imports that nobody uses away."""


def _load() -> None:
    """Import what the commands need, once."""
    for name in LOADED:
        importlib.import_module(name)


if __name__ == "__main__":
    _load()
    serve()
