"""What a site's trustees may record instead of a note or a prescription; orientation, local law decides."""

from __future__ import annotations

import enum


class SiteRule(enum.StrEnum):
    """What a site may record, with a trustee's name under it."""

    LEGAL_BASIS = "legal_basis"
    SUITABILITY = "suitability"

    @property
    def label(self) -> str:
        """The words on a screen."""
        return {
            "legal_basis": "legal basis without a written prescription",
            "suitability": "first devices without a clinician's note",
        }[self.value]
