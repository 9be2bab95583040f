"""What is true of volunteers without asking a database."""

from __future__ import annotations

import enum


class Skill(enum.StrEnum):
    """What somebody is trained for."""

    PRINT = "print"
    ASSEMBLE = "assemble"
    ELECTRONICS = "electronics"
    MEASURE = "measure"
    FIT = "fit"
    BENCH_CHECK = "bench_check"

    @property
    def label(self) -> str:
        """The words on a screen."""
        return self.value.replace("_", " ")


class PrinterState(enum.StrEnum):
    """Whether a printer can be counted on."""

    WORKING = "working"
    OUT_OF_ORDER = "out_of_order"
    GONE = "gone"


class VettingKind(enum.StrEnum):
    """What a safeguarding check covers; levels have other names in other countries, so these are plain."""

    HOME_VISITS = "home_visits"
    CONTACT_IN_CLINIC = "contact_in_clinic"
