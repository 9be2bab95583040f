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


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Skip what the environment cannot run."""
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
