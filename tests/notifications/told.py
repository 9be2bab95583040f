"""People to tell things, and telling them as any room does."""

from __future__ import annotations

from typing import Any

from service.access.actor import SYSTEM
from service.access.work import Work
from service.notifications.actions import tell
from service.notifications.schemas import Person
from service.recipients.rules import Reach
from tests.conftest import Register

BY_MAIL = Person("Noor", email="noor@example.org", phone="01 200 300")
BY_PHONE = Person("Noor", phone="01 200 300", reach_by=Reach.PHONE)


def say(register: Register, key: str = "offer:1", to: Person = BY_MAIL, **said: Any) -> bool:
    """Tell somebody something at the harbour, in a transaction of its own."""
    given = {
        "subject": "Something to print",
        "body": "A part is wanted by Friday.",
        "site_id": register.sites["harbour"],
    }
    with register.db.writing() as session:
        return tell(Work(session, SYSTEM, register.clock()), key=key, to=to, **{**given, **said})
