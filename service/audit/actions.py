"""Writing to the audit; only other actions and the edge call this, inside their own transaction."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from service.access.work import Work
from service.audit.tables import AuditRow


def note(
    work: Work,
    act: str,
    subject: str,
    *,
    subject_id: int | None = None,
    recipient_id: int | None = None,
    changes: dict[str, Any] | None = None,
) -> None:
    """Record an act, such as `note(work, "corrected", "measurement", …)`; changes are {field: [before, after]}."""
    work.session.add(
        AuditRow(
            at=work.now,
            account_id=work.actor.account_id,
            actor=work.actor.name,
            act=act,
            recipient_id=recipient_id,
            subject=subject,
            subject_id=subject_id,
            changes=changes or {},
        )
    )


def note_reads(work: Work, recipients: Iterable[int]) -> None:
    """Record that cases were opened."""
    for recipient_id in sorted(recipients):
        note(work, "read", "case", subject_id=recipient_id, recipient_id=recipient_id)
