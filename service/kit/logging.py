"""Logs: one line an event, JSON in production, readable on a terminal; never a name, never a value of a form.

Tracebacks are plain for that reason: a renderer that prints local variables would print a child's case.
"""

from __future__ import annotations

import logging
import sys

import structlog


def configure(*, json: bool | None = None) -> None:
    """Set up logging for the process; JSON unless a person is watching."""
    as_json = not sys.stderr.isatty() if json is None else json
    structlog.configure(
        processors=[
            structlog.contextvars.merge_contextvars,
            structlog.processors.add_log_level,
            structlog.processors.TimeStamper(fmt="iso", utc=True),
            structlog.processors.format_exc_info,
            structlog.processors.JSONRenderer()
            if as_json
            else structlog.dev.ConsoleRenderer(exception_formatter=structlog.dev.plain_traceback),
        ],
        wrapper_class=structlog.make_filtering_bound_logger(logging.INFO),
        logger_factory=structlog.PrintLoggerFactory(sys.stderr),
    )
