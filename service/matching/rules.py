"""What is true of offers and plans without asking a database."""

from __future__ import annotations

import enum


class OfferState(enum.StrEnum):
    """Where an offer stands."""

    WAITING = "waiting"
    ACCEPTED = "accepted"
    DECLINED = "declined"
    LAPSED = "lapsed"
    TAKEN_BACK = "taken_back"
