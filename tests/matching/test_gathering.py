"""What a plan is worked out from: read in a fixed number of statements, each version as it stands today."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa

from service.access.actor import SYSTEM
from service.access.work import Work
from service.matching.gathering import Gathered, gather
from service.parts.rules import VersionState
from service.parts.tables import VersionRow
from tests.conftest import START, Register
from tests.matching.things import recipient, request, version, volunteer


def gathered(register: Register) -> tuple[Gathered, int]:
    """What is read of the harbour's site, and in how many statements."""
    counted: list[Any] = []
    count = lambda *given: counted.append(given[2])  # noqa: E731 an event's listener
    sa.event.listen(register.db.engine, "before_cursor_execute", count)
    with register.db.reading() as session:
        found = gather(Work(session, SYSTEM, START), register.sites["harbour"])
    sa.event.remove(register.db.engine, "before_cursor_execute", count)
    return found, sum(each.startswith("SELECT") for each in counted)


def test_it_takes_as_many_statements_for_many_as_for_one(register):
    volunteer(register, "Bo", colours=("teal",))
    finger = version(register)
    request(register, recipient(register), version_id=finger)
    one, statements = gathered(register)
    for name in ("Cy", "Di", "Ed"):
        volunteer(register, name, colours=("red",))
        request(register, recipient(register, name), version_id=finger)
    many, as_many = gathered(register)
    assert (len(one.volunteers), len(one.jobs), len(many.volunteers), len(many.jobs)) == (1, 1, 4, 4)
    assert statements == as_many
    assert many.volunteers[0].stock == frozenset({("petg", "teal")})


def test_a_version_that_was_withdrawn_since_is_made_as_its_successor(register):
    old, new = version(register, (60.0, 20.0, 20.0)), version(register, (200.0, 20.0, 20.0))
    request(register, recipient(register), version_id=old)
    assert gathered(register)[0].jobs[0].pieces[0].box == (60.0, 20.0, 20.0)
    with register.db.writing() as session:
        row = session.get_one(VersionRow, old)
        row.state, row.withdrawn_at, row.withdrawn_by, row.withdrawn_why = VersionState.WITHDRAWN, START, "test", "weak"
        row.successor_id = new
    assert gathered(register)[0].jobs[0].pieces[0].box == (200.0, 20.0, 20.0)
