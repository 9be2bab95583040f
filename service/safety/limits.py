"""The limits of what is said about the skin, as the settings have them."""

from __future__ import annotations

from service.safety.rules import SkinLimits
from service.settings import Settings


def skin_limits(settings: Settings) -> SkinLimits:
    """The limits in use."""
    return SkinLimits(settings.skin_fades_minutes, settings.skin_long_minutes, settings.skin_review_days)
