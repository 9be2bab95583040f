"""Suites that need more than Python: skipped unless an environment variable says where it is, and never in silence."""

from __future__ import annotations

import os
from dataclasses import dataclass

import pytest


@dataclass(frozen=True)
class Suite:
    """`marker` on a test, the variable that makes it run, and what to type to run it."""

    marker: str
    name: str
    variable: str
    how: str

    @property
    def available(self) -> bool:
        return bool(os.environ.get(self.variable))


SUITES = (
    Suite(
        "postgres",
        "PostgreSQL",
        "HANDSPAN_TEST_POSTGRES",
        "HANDSPAN_TEST_POSTGRES=postgresql://USER@127.0.0.1:5432/postgres pytest   (a user that may create databases)",
    ),
    Suite(
        "browser",
        "browser",
        "HANDSPAN_TEST_BROWSER",
        'pip install -e ".[browser]" && HANDSPAN_TEST_BROWSER=/usr/bin/chromium pytest tests/browser',
    ),
)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Skip what the environment cannot run."""
    for suite in SUITES:
        if not suite.available:
            for item in items:
                if item.get_closest_marker(suite.marker):
                    item.add_marker(pytest.mark.skip(reason=f"{suite.name} suite: set {suite.variable}"))


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Say at the end which suites did not run, and how to run them."""
    missing = [suite for suite in SUITES if not suite.available]
    if missing:
        terminalreporter.section("suites that were skipped")
    for suite in missing:
        terminalreporter.line(f"{suite.name}: {suite.how}")
