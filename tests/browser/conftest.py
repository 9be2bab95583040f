"""A demo register served on this machine, and a browser to look at it with; needs HANDSPAN_TEST_BROWSER."""

from __future__ import annotations

import os
import socket
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass
from typing import Any
from zoneinfo import ZoneInfo

import pytest
import uvicorn

from service import demo
from service.access.permissions import Role
from service.app import create_app
from service.kit.clock import clock_in
from service.kit.db import Database
from service.kit.files import Files
from service.migrate import upgrade
from service.settings import Settings

START_SECONDS = 30
PATIENCE_MS = 10_000


SECRET = "for tests only, and long enough to be taken"


@dataclass(frozen=True)
class Served:
    """A running demo: its address, and its database to find things to look at."""

    address: str
    db: Database


@pytest.fixture(scope="session")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """The demo, made once and served with its worker until the last test has run."""
    with closing(socket.create_server(("127.0.0.1", 0))) as listening:
        address = f"http://127.0.0.1:{listening.getsockname()[1]}"
        settings = Settings(data=tmp_path_factory.mktemp("demo"), base_url=address, secret_key=SECRET)
        upgrade(settings.database)
        db = Database(settings.database)
        demo.build(db, clock_in(ZoneInfo("UTC")), Files(settings.files))
        server = uvicorn.Server(uvicorn.Config(create_app(settings, db=db), log_level="warning"))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
        thread.start()
        until = time.monotonic() + START_SECONDS
        while not server.started and time.monotonic() < until:
            time.sleep(0.05)
        yield Served(address, db)
        server.should_exit = True
        thread.join(timeout=START_SECONDS)
        db.close()


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    """The browser itself."""
    playwright = pytest.importorskip(
        "playwright.sync_api", reason='the browser suite needs pip install -e ".[browser]"'
    )
    with playwright.sync_playwright() as running:
        browser = running.chromium.launch(executable_path=os.environ["HANDSPAN_TEST_BROWSER"], args=["--no-sandbox"])
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def cookies(served: Served, chromium: Any) -> Callable[[Role], Any]:
    """What a browser keeps once a demo person has signed in; each signs in once."""
    kept: dict[Role, Any] = {}

    def of(role: Role) -> Any:
        if role not in kept:
            context = chromium.new_context()
            page = context.new_page()
            sign_in(page, served.address, role)
            kept[role] = context.storage_state()
            context.close()
        return kept[role]

    return of


def sign_in(page: Any, address: str, role: Role) -> None:
    """Sign in through the form."""
    page.set_default_timeout(PATIENCE_MS)
    person = next(each for each in demo.PEOPLE if each.role is role)
    page.goto(f"{address}/sign-in")
    page.get_by_label("Mail address").fill(person.email)
    page.get_by_label("Password").fill(person.password)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url(lambda url: "sign-in" not in url)
