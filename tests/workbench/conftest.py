"""A browser for the tests of a module, and the page's own modules in one."""

import functools
import json
import threading
from collections.abc import Callable, Iterator
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from chromium import CHROMIUM, Browser, browser

PAGE = Path(str(files("jobprep"))) / "workbench" / "page"

Ask = Callable[..., Any]


class _Quiet(SimpleHTTPRequestHandler):
    def log_message(self, *_: Any) -> None:
        pass


@pytest.fixture(scope="module")
def chromium(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    with browser(tmp_path_factory.mktemp("chromium")) as shown:
        yield shown


@pytest.fixture(scope="module")
def ask(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Ask]:
    """Return what an expression gives that may use the names of one module, and ``given``."""
    if CHROMIUM is None:
        pytest.skip("no chromium to run the page's modules in")
    handler = functools.partial(_Quiet, directory=str(PAGE))
    with ThreadingHTTPServer(("127.0.0.1", 0), handler) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        with browser(tmp_path_factory.mktemp("chromium")) as shown:
            shown.show(f"http://127.0.0.1:{server.server_port}/icon.svg")

            def asked(module: str, expression: str, given: Any = None) -> Any:
                return shown.find(
                    f"import('/{module}.js').then((its) => ((given) => {expression})"
                    f"({json.dumps(given)}))"
                )

            yield asked
        server.shutdown()
