"""What is told is told once, to whom it was meant, and what no machine can do waits for a person."""

from __future__ import annotations

from datetime import timedelta

import pytest

from service.access.actor import SYSTEM
from service.access.permissions import Role
from service.access.work import Work
from service.notifications.actions import tell
from service.notifications.schemas import Person
from service.recipients.rules import Reach
from tests.conftest import Register
from tests.notifications.told import BY_MAIL, BY_PHONE, say

MESSAGES = "/api/v1/messages"


def test_the_same_thing_is_told_once(register: Register) -> None:
    assert say(register)
    assert not say(register, subject="Said otherwise")
    items = register.api(Role.COORDINATOR).get(MESSAGES).json()["items"]
    assert [each["subject"] for each in items] == ["Something to print"]


def test_what_was_rolled_back_is_not_told(register: Register) -> None:
    def and_fail() -> None:
        with register.db.writing() as session:
            tell(Work(session, SYSTEM, register.clock()), key="k", to=BY_MAIL, subject="s", body="b", site_id=1)
            raise RuntimeError

    with pytest.raises(RuntimeError):
        and_fail()
    assert register.api(Role.COORDINATOR).get(MESSAGES).json()["items"] == []
    assert register.run_jobs() == 0


def test_who_has_no_mail_is_rung_and_the_call_is_recorded(register: Register) -> None:
    say(register, to=BY_PHONE)
    client = register.api(Role.COORDINATOR)
    (task,) = client.get(MESSAGES, params={"to_do": True}).json()["items"]
    assert (task["channel"], task["to_address"], task["state"]) == ("call", "01 200 300", "waiting")
    done = client.post(f"{MESSAGES}/{task['id']}/done", json={"note": "Spoke to her."})
    assert done.status_code == 200
    assert done.json()["state"] == "done"
    assert client.get(MESSAGES, params={"to_do": True}).json()["items"] == []
    again = client.post(f"{MESSAGES}/{task['id']}/done", json={})
    assert again.status_code == 409
    assert "already" in again.json()["detail"]


def test_with_no_number_and_no_address_it_is_a_call_all_the_same(register: Register) -> None:
    say(register, to=Person("Noor", reach_by=Reach.LETTER))
    (task,) = register.api(Role.COORDINATOR).get(MESSAGES, params={"to_do": True}).json()["items"]
    assert (task["channel"], task["to_address"]) == ("call", "")


@pytest.mark.parametrize("role", [Role.VOLUNTEER, Role.CLINICIAN, Role.TRUSTEE, Role.ADMINISTRATOR])
def test_only_coordinators_read_messages(register: Register, role: Role) -> None:
    say(register)
    assert register.api(role).get(MESSAGES).status_code == 403


def test_another_sites_messages_are_not_there(register: Register) -> None:
    say(register)
    other = register.api(Role.COORDINATOR, sites=("island",))
    assert other.get(MESSAGES).json()["items"] == []
    assert other.get(f"{MESSAGES}/1").status_code == 404
    assert other.post(f"{MESSAGES}/1/drop", json={"why": "x"}).status_code == 404


def test_a_dropped_message_is_not_sent(register: Register) -> None:
    say(register)
    client = register.api(Role.COORDINATOR)
    assert client.post(f"{MESSAGES}/1/drop", json={"why": "They rang us first."}).json()["state"] == "dropped"
    register.run_jobs()
    assert client.get(f"{MESSAGES}/1").json()["state"] == "dropped"


def test_a_secret_address_is_not_shown_to_who_reads_the_messages(register: Register) -> None:
    say(register, body="Open it here:\n/offers/abcdefghijklmnopqrstuvwxyz012345")
    shown = register.api(Role.COORDINATOR).get(f"{MESSAGES}/1").json()["body"]
    assert "/offers/…" in shown
    assert "abcdefgh" not in shown


def test_pages_follow_each_other(register: Register) -> None:
    for number in range(5):
        say(register, key=f"k:{number}", subject=f"Number {number}")
    client = register.api(Role.COORDINATOR)
    first = client.get(MESSAGES, params={"limit": 3}).json()
    rest = client.get(MESSAGES, params={"limit": 3, "cursor": first["next"]}).json()
    assert [each["subject"][-1] for each in first["items"] + rest["items"]] == list("43210")
    assert rest["next"] is None


def test_quiet_hours_hold_back_what_can_wait_and_nothing_urgent(register: Register) -> None:
    register.clock.now = register.clock.now.replace(hour=22)
    say(register, key="later")
    say(register, key="now", urgent=True)
    items = register.api(Role.COORDINATOR).get(MESSAGES).json()["items"]
    due = {each["urgent"]: each["due_at"] for each in items}
    assert due[True].startswith("2026-03-02T22:00")
    assert due[False].startswith("2026-03-03T08:00")


def test_somebodys_own_wishes_are_kept(register: Register) -> None:
    volunteer = register.account(Role.VOLUNTEER)
    own = register.api(account=volunteer)
    assert own.get("/api/v1/me/wishes").json()["wants_mail"] is True
    kept = own.put("/api/v1/me/wishes", json={"quiet_from": 9, "quiet_until": 12, "digest_day": None})
    assert kept.status_code == 200
    assert say(register, to=Person("Noor", email="noor@example.org", account_id=volunteer))
    (item,) = register.api(Role.COORDINATOR).get(MESSAGES).json()["items"]
    assert item["due_at"].startswith("2026-03-02T12:00")
    assert own.put("/api/v1/me/wishes", json={"digest_day": 7}).status_code == 422


def test_who_wants_no_mail_gets_only_what_is_urgent(register: Register) -> None:
    volunteer = register.account(Role.VOLUNTEER)
    register.api(account=volunteer).put("/api/v1/me/wishes", json={"wants_mail": False})
    person = Person("Noor", email="noor@example.org", account_id=volunteer)
    say(register, key="a", to=person)
    say(register, key="b", to=person, urgent=True)
    items = register.api(Role.COORDINATOR).get(MESSAGES).json()["items"]
    assert [each["state"] for each in items] == ["waiting", "dropped"]
    assert "no messages by mail" in items[1]["problem"]


def test_the_clock_of_the_next_day_is_reached(register: Register) -> None:
    register.clock.now = register.clock.now.replace(hour=3)
    say(register)
    (item,) = register.api(Role.COORDINATOR).get(MESSAGES).json()["items"]
    assert item["due_at"].startswith("2026-03-02T08:00")
    assert register.run_jobs() == 0
    register.clock.now += timedelta(hours=5)
    assert register.run_jobs() == 1
