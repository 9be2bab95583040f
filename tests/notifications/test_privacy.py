"""The look at what messages say, which follows every test with a register, notices what must not be said."""

from __future__ import annotations

import pytest
import sqlalchemy as sa

from service.access.permissions import Role
from service.notifications.tables import MessageRow
from service.recipients.tables import RecipientRow
from tests.casefile.people import opened
from tests.conftest import Register
from tests.notifications.privacy import said_too_much
from tests.notifications.told import say


@pytest.mark.parametrize("body", ["For Ines OKAFOR.", "Her congenital limb difference.", "It goes to 3 Mill Lane."])
def test_a_planted_word_is_noticed(register: Register, body: str) -> None:
    contact = {"name": "Ada", "reach_by": "letter", "address": "3 Mill Lane"}
    opened(register.api(Role.COORDINATOR), contacts=[contact])
    with register.db.reading() as session:
        recipient = session.scalars(sa.select(RecipientRow.id)).one()
    say(register, key="fine", body="Something for Ines is ready.", recipient_id=recipient)
    with register.db.reading() as session:
        assert said_too_much(session) == []
    say(register, key="planted", body=body, recipient_id=recipient)
    with register.db.writing() as session:
        assert [each for each in said_too_much(session) if "planted" in each]
        session.execute(sa.delete(MessageRow))
