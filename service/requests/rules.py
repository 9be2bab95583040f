"""What is true of requests without asking a database."""

from __future__ import annotations

import enum


class RequestKind(enum.StrEnum):
    """What is asked for."""

    FIRST_DEVICE = "first_device"
    NEXT_SOCKET = "next_socket"
    REPLACEMENT = "replacement"
    ADJUSTMENT = "adjustment"
    COLOUR = "colour"
    ADVICE = "advice"

    @property
    def label(self) -> str:
        """The words on a screen."""
        return self.value.replace("_", " ")


class RequestState(enum.StrEnum):
    """Where a request stands."""

    OPEN = "open"
    AGREED = "agreed"
    ANSWERED = "answered"
    CLOSED = "closed"


class Asker(enum.StrEnum):
    """Who asked."""

    FAMILY = "family"
    VOLUNTEER = "volunteer"
    COORDINATOR = "coordinator"
    CLINICIAN = "clinician"
    FORECAST = "forecast"


class WhatHappened(enum.StrEnum):
    """What became of a part."""

    BROKEN = "broken"
    LOST = "lost"
    LOOSE = "loose"
    LINE = "line"
    CHARGE = "charge"
    SPARE = "spare"


class WaitsFor(enum.StrEnum):
    """Who is waited for while the clock stands still."""

    FAMILY = "family"
    CLINICIAN = "clinician"
