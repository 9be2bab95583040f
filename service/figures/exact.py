"""Telling everything: for coordinators, who see the cases themselves, and never for trustees."""

from __future__ import annotations

from dataclasses import dataclass

from service.disclosure import Rule


@dataclass(frozen=True)
class Exactly(Rule):
    """A rule that hides nothing: every count is told as it is."""

    threshold: int = 1
    base: int = 1

    def __post_init__(self) -> None:
        """Leave out the floors of what trustees are told."""
