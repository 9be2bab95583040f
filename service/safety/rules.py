"""What is true of incidents and of the skin without asking a database: `SKIN` is the one table of what is said.

Thresholds and advice are common practice, after leaflets of upper-limb clinics and children's hospitals; a clinician's
plan for a person goes before them.
"""

from __future__ import annotations

import enum


class IncidentKind(enum.StrEnum):
    """What happened."""

    HARM = "harm"
    NEAR_HARM = "near_harm"
    MALFUNCTION = "malfunction"
    SKIN = "skin"


class SkinSeen(enum.StrEnum):
    """What is seen after taking a device off, from least to worst."""

    GONE = "gone"
    STAYS = "stays"
    STAYS_LONG = "stays_long"
    HURT = "hurt"
