"""Suites that need more than Python: skipped where that is missing, and never in silence."""

from __future__ import annotations

import importlib.util
import os
from dataclasses import dataclass

import pytest


@dataclass(frozen=True)
class Suite:
    """`marker` on a test; whether what it needs is there; what to type to run it."""

    marker: str
    available: bool
    how: str


SUITES = (
    Suite(
        "postgres",
        bool(os.environ.get("HANDSPAN_TEST_POSTGRES")),
        "HANDSPAN_TEST_POSTGRES=postgresql://USER@127.0.0.1:5432/postgres pytest   (a user that may create databases)",
    ),
    Suite(
        "browser",
        bool(os.environ.get("HANDSPAN_TEST_BROWSER")),
        'pip install -e ".[browser]" && HANDSPAN_TEST_BROWSER=/usr/bin/chromium pytest tests/browser',
    ),
    Suite(
        "linters",
        importlib.util.find_spec("mypy") is not None and importlib.util.find_spec("ruff") is not None,
        'pip install -e ".[check]" && pytest tests/architecture/test_linters.py',
    ),
)


DATABASES = {"empty_database", "demo_url", "blank"}
"""Whatever needs a database gets it by one of these fixtures, directly or through others."""


def pytest_addoption(parser: pytest.Parser) -> None:
    """Let somebody run only what can differ between databases."""
    said = "leave out tests that need no database: they were seen when the others ran on the first one"
    parser.addoption("--database-only", action="store_true", help=said)


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Skip what the environment cannot run; on request, leave out what needs no database."""
    if config.getoption("--database-only"):
        needs = [not DATABASES.isdisjoint(getattr(item, "fixturenames", ())) for item in items]
        config.hook.pytest_deselected(items=[item for item, kept in zip(items, needs, strict=True) if not kept])
        items[:] = [item for item, kept in zip(items, needs, strict=True) if kept]
    for suite in SUITES:
        if not suite.available:
            for item in items:
                if item.get_closest_marker(suite.marker):
                    item.add_marker(pytest.mark.skip(reason=suite.how))


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Say at the end which suites did not run, and how to run them."""
    missing = [suite for suite in SUITES if not suite.available]
    if missing:
        terminalreporter.section("suites that were skipped, and how to run them")
    for suite in missing:
        terminalreporter.line(f"{suite.marker:9} {suite.how}")
