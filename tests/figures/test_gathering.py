"""What figures are made from is what was on record on the day: nothing later, no mistakes, nobody who said no."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, timedelta

from service.access.actor import SYSTEM
from service.access.work import Work
from service.devices.rules import EndReason
from service.figures import gathering, gathering_things
from service.figures.counting import answered_column
from service.figures.gathered import gathered
from service.figures.rules import quarter_end
from service.requests.rules import RequestState, WaitsFor
from service.requests.tables import WaitRow
from tests.conftest import Register
from tests.figures.rows import Writer

UNTIL = date(2025, 12, 31)
FIRST = date(2025, 1, 10)


@contextmanager
def writing(register: Register) -> Iterator[Writer]:
    with register.db.writing() as session:
        yield Writer(session, register.sites["harbour"])


@contextmanager
def reading(register: Register) -> Iterator[Work]:
    with register.db.reading() as session:
        yield Work(session, SYSTEM, register.clock())


def test_a_device_begins_with_its_first_part_and_mistakes_are_none(register: Register) -> None:
    with writing(register) as write:
        device = write.device(write.person(), FIRST)
        write.socket(device, FIRST + timedelta(days=5))
        write.socket(device, FIRST, FIRST, EndReason.MISTAKE)
        unworn = write.device(write.person(), FIRST)
        later = write.device(write.person(), FIRST)
        write.socket(later, UNTIL + timedelta(days=1))
    with reading(register) as work:
        found = gathering.devices(work, UNTIL)
    assert [(each.id, each.begun_on) for each in found] == [(device, FIRST + timedelta(days=5))]
    assert unworn not in {each.id for each in found}


def test_what_happened_after_the_day_has_not_happened(register: Register) -> None:
    with writing(register) as write:
        person = write.person()
        device = write.device(person, FIRST, stopped=UNTIL + timedelta(days=9))
        part = write.part(write.version("Finger", 1))
        write.stay(part, device, FIRST, UNTIL + timedelta(days=3), EndReason.BROKEN)
        write.request(person, FIRST, UNTIL + timedelta(days=2))
        write.request(person, UNTIL + timedelta(days=1))
    with reading(register) as work:
        facts = gathered(work, UNTIL)
    assert facts.devices[0].stopped_on is None
    assert [(each.until, each.came_off) for each in facts.stays] == [(None, None)]
    assert [(each.state, each.settled_on) for each in facts.requests] == [(RequestState.OPEN, None)]


def test_a_part_that_moved_goes_on_with_the_days_it_was_worn_before(register: Register) -> None:
    with writing(register) as write:
        first, second = (write.device(write.person(), FIRST) for _ in range(2))
        part = write.part(write.version("Finger", 2))
        write.stay(part, first, FIRST, FIRST + timedelta(days=40), EndReason.MOVED)
        write.stay(part, second, FIRST + timedelta(days=50), FIRST + timedelta(days=90), EndReason.BROKEN)
    with reading(register) as work:
        found = list(gathering_things.stays(work, UNTIL))
    assert [(each.age, each.came_off) for each in found] == [(0, EndReason.MOVED), (40, EndReason.BROKEN)]


def test_what_is_recorded_late_counts_from_when_it_was_known(register: Register) -> None:
    with writing(register) as write:
        device = write.device(write.person(), FIRST)
        version = write.version("Finger", 1)
        write.stay(write.part(version), device, FIRST, recorded=FIRST + timedelta(days=30))
        ended = FIRST + timedelta(days=20)
        write.stay(write.part(version), device, FIRST, ended, EndReason.BROKEN, recorded=FIRST + timedelta(days=30))
    with reading(register) as work:
        found = list(gathering_things.stays(work, UNTIL))
    assert [each.known_from for each in found] == [FIRST + timedelta(days=30), FIRST]


def test_days_on_which_the_clock_stood_still_do_not_make_it_late(register: Register) -> None:
    with writing(register) as write:
        person = write.person()
        request = write.request(person, FIRST, FIRST + timedelta(days=35))
        write.session.add(
            WaitRow(
                request_id=request,
                waits_for=WaitsFor.FAMILY,
                why="away",
                since=FIRST + timedelta(days=1),
                until=FIRST + timedelta(days=11),
            )
        )
        write.request(person, FIRST, FIRST + timedelta(days=35))
    with reading(register) as work:
        found = gathering.requests(work, UNTIL)
    assert {(each.waited, answered_column(each)) for each in found} == {(10, "in time"), (0, "late")}


def test_what_was_joined_counts_once(register: Register) -> None:
    with writing(register) as write:
        person = write.person()
        kept = write.request(person, FIRST)
        closed = FIRST + timedelta(days=1)
        write.request(person, FIRST, closed, RequestState.CLOSED, joined_into_id=kept)
    with reading(register) as work:
        assert len(gathering.requests(work, UNTIL)) == 1


def test_whoever_did_not_agree_or_took_it_back_is_not_counted(register: Register) -> None:
    with writing(register) as write:
        version = write.version("Finger", 1)
        people = (
            write.person(),
            write.person(counted=False),
            write.person(withdrawn=UNTIL + timedelta(days=20)),
        )
        for person in people:
            write.stay(write.part(version), write.device(person, FIRST), FIRST)
    with reading(register) as work:
        facts = gathered(work, UNTIL)
    assert [facts.people[each].counted for each in people] == [True, False, False]
    assert len(facts.stays) == 3
    assert len(facts.of_those_who_agreed().stays) == 1


def test_a_quarter_is_over_the_day_after_it_ended() -> None:
    assert quarter_end(date(2026, 3, 31)) == date(2025, 12, 31)
    assert quarter_end(date(2026, 4, 1)) == date(2026, 3, 31)
    assert quarter_end(date(2026, 1, 1)) == date(2025, 12, 31)
