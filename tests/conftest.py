"""Settings of all tests.

Random tests draw the same examples every time; ``--hypothesis-profile long`` draws more. They may
take any time; a test never looks at a clock. ``--refuse-skips`` fails a run in which a test was
skipped that is not on the short list here.
"""

from __future__ import annotations

import os
import signal
import sys
from collections.abc import Iterator

import pytest
from faults.warm_process import Warm
from hypothesis import HealthCheck, settings

from jobprep.cutting.plan_cuts import plan_cuts
from jobprep.cutting.route import KICKS_PER_STOP

settings.register_profile(
    "fixed",
    max_examples=50,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.register_profile(
    "long", parent=settings.get_profile("fixed"), max_examples=1000, derandomize=False
)
settings.register_profile("short", parent=settings.get_profile("fixed"), max_examples=8)
settings.load_profile("fixed")

MAY_BE_SKIPPED = {
    "tests/cutting/test_route_tsplib.py": "the published tours name no licence, so they are not"
    " kept here; JOBPREP_BENCH_DATA names the folder of a copy",
    "tests/files/test_toml_lines.py::test_unreadable_file": "root reads anything",
}
"""Start of a test's name -> why a run without it says enough."""


class Skips:
    """The tests that a run has skipped."""

    def __init__(self) -> None:
        self.names: set[str] = set()

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.skipped and not hasattr(report, "wasxfail"):
            self.names.add(report.nodeid)

    def pytest_collectreport(self, report: pytest.CollectReport) -> None:
        if report.skipped:
            self.names.add(report.nodeid)

    def unlisted(self) -> list[str]:
        return sorted(name for name in self.names if not name.startswith(tuple(MAY_BE_SKIPPED)))


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--refuse-skips", action="store_true", help="fail where a test is skipped without notice"
    )


def pytest_configure(config: pytest.Config) -> None:
    if signal.getsignal(signal.SIGINT) == signal.SIG_IGN:
        # A shell's job in the background is born deaf to Ctrl-C.
        signal.signal(signal.SIGINT, signal.default_int_handler)
    config.pluginmanager.register(Skips(), "skips")
    _keep_bytecode(config)


def _keep_bytecode(config: pytest.Config) -> None:
    """Compile each module once for all workers and commands, where Python is not to keep it.

    It lies in the folder that pytest keeps for its own.
    """
    cache = getattr(config, "cache", None)
    if sys.dont_write_bytecode and cache is not None:
        sys.dont_write_bytecode, sys.pycache_prefix = False, str(cache.mkdir("bytecode"))
        os.environ["PYTHONPYCACHEPREFIX"] = sys.pycache_prefix
        os.environ.pop("PYTHONDONTWRITEBYTECODE", None)


@pytest.fixture(scope="session", autouse=True)
def few_kicks() -> Iterator[None]:
    """Put cuts in order with a tenth of the kicks: how short a way they find, ``cutting/`` asks.

    They took most of the time of a small plan; all that a way must be holds for the first, too.
    """
    yield from _kicks(1)


@pytest.fixture(scope="session")
def warm(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Warm]:
    """Return a process that has loaded the program and forks for each command."""
    process = Warm(tmp_path_factory.mktemp("said"))
    yield process
    process.close()


@pytest.fixture
def all_kicks() -> Iterator[None]:
    """Put cuts in order as for a user."""
    yield from _kicks(KICKS_PER_STOP)


def _kicks(number: int) -> Iterator[None]:
    before, plan_cuts.__defaults__ = plan_cuts.__defaults__, (number,)
    yield
    plan_cuts.__defaults__ = before


@pytest.hookimpl(trylast=True)
def pytest_sessionfinish(session: pytest.Session) -> None:
    skips = session.config.pluginmanager.get_plugin("skips")
    if session.config.getoption("--refuse-skips") and skips.unlisted():
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    config = terminalreporter.config
    if not config.getoption("--refuse-skips"):
        return
    skips = config.pluginmanager.get_plugin("skips")
    unlisted = skips.unlisted()
    terminalreporter.section("skipped")
    for name in sorted(skips.names - set(unlisted)):
        (reason,) = (why for start, why in MAY_BE_SKIPPED.items() if name.startswith(start))
        terminalreporter.line(f"{name}: {reason}")
    for name in unlisted:
        terminalreporter.line(f"{name}: unexpected")
    terminalreporter.line(f"skipped: {len(unlisted)} unexpected")
