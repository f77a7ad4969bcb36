"""The workbench on a free port of this machine, and pages that complain of what no page may do."""

import socket
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
import uvicorn

from tunnelwright.web.main import workbench

START_S, STOP_S = 20.0, 10.0
Opener = Callable[..., Any]


@contextmanager
def serving(folder: Path) -> Iterator[str]:
    """Serve a project folder while the block runs; start and stop take a bounded time."""
    door = socket.socket()
    door.bind(("127.0.0.1", 0))
    server = uvicorn.Server(uvicorn.Config(workbench(folder), log_level="error", lifespan="off"))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [door]}, daemon=True)
    thread.start()
    deadline = time.monotonic() + START_S
    while not server.started and time.monotonic() < deadline:
        time.sleep(0.02)
    assert server.started, f"the workbench did not start in {START_S:g} s"
    try:
        yield f"http://127.0.0.1:{door.getsockname()[1]}"
    finally:
        server.should_exit = True
        thread.join(STOP_S)
        door.close()


@pytest.fixture(scope="session")
def recorded(recorded_folder: Path) -> Iterator[str]:
    """Return the address of the workbench of the recorded drive."""
    with serving(recorded_folder) as address:
        yield address


@pytest.fixture(scope="session")
def planned(planned_folder: Path) -> Iterator[str]:
    """Return the address of the workbench of a project without a log."""
    with serving(planned_folder) as address:
        yield address


@pytest.fixture
def open_page(browser: Any) -> Iterator[Opener]:
    """Return how to open a page; at the end no page may have written an error or asked another host for anything."""
    contexts, complaints = [], []

    def opened(address: str, *, width: int = 1600, height: int = 1000, **settings: Any) -> Any:
        context = browser.new_context(viewport={"width": width, "height": height}, **settings)
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(15_000)
        own = "/".join(address.split("/")[:3])
        page.on("console", lambda message: complaints.append(message.text) if message.type == "error" and "404" not in message.text else None)
        page.on("pageerror", lambda reason: complaints.append(str(reason)))
        page.on("request", lambda request: complaints.append(request.url) if not request.url.startswith(own) else None)
        page.goto(address)
        return page

    yield opened
    for context in contexts:
        context.close()
    assert complaints == []
