"""One piece of work: a database session, who acts, and when. Every action and query takes it first."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime

from sqlalchemy.orm import Session

from service.access.actor import Actor


@dataclass(frozen=True)
class Work:
    """What an action or a query needs to know besides its own arguments.

    `read` collects the recipients whose case was opened, for the audit: a reading session cannot write, so the edge
    records them after it.
    """

    session: Session
    actor: Actor
    now: datetime
    read: set[int] = field(default_factory=set)

    @property
    def today(self) -> date:
        """The present day where the register is kept."""
        return self.now.date()
