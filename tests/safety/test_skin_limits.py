"""The limits of what is said about the skin are settings: what families, staff and tasks say follows them."""

from __future__ import annotations

from datetime import date

import pytest
from fastapi.testclient import TestClient
from pydantic import ValidationError

from service.access.permissions import Role
from service.app import frame_for
from service.safety.limits import skin_limits
from service.safety.rules import SOURCE, SkinLimits
from service.settings import Settings
from service.words.catalogue import languages, words
from tests.accounts.people import open_account, signed_in
from tests.conftest import Register
from tests.devices.worn import made, opened
from tests.family.people import let_in, link, send

OTHERWISE = {"skin_fades_minutes": 15, "skin_long_minutes": 45, "skin_review_days": 3}
STILL_RED = "It is still red {minutes} minutes after taking it off."
BY = {"noted_by": "Dr Reyes", "noted_on": "2026-03-02"}
LOOK = "We will look at this with you by {day}."


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    settings = register.settings.model_copy(update=OTHERWISE)
    register.app.state.frame = frame_for(settings, register.db, register.clock)
    return register.api(Role.COORDINATOR)


def test_left_alone_they_are_those_of_common_practice() -> None:
    assert skin_limits(Settings(database_url="sqlite://")) == SkinLimits() == SkinLimits(20, 30, 2)


@pytest.mark.parametrize(
    "wrong",
    [
        {"skin_fades_minutes": 30},  # as long as the other
        {"skin_fades_minutes": 45, "skin_long_minutes": 60},
        {"skin_long_minutes": 90},
        {"skin_review_days": 0},
    ],
)
def test_limits_that_make_no_sense_are_refused(wrong: dict[str, int]) -> None:
    with pytest.raises(ValidationError):
        Settings(database_url="sqlite://", **wrong)  # type: ignore[arg-type]


@pytest.mark.parametrize("code", languages())
def test_a_family_reads_the_limits_in_use_and_that_its_doctor_comes_first(
    register: Register, coordinator: TestClient, code: str
) -> None:
    home = link(coordinator, opened(coordinator, language=code))
    family = let_in(register, home)
    form = family.get(f"{home}/skin").text
    said = words(code)
    for minutes in (15, 45):
        assert said(STILL_RED, minutes=minutes) in form
    for minutes in (20, 30):
        assert said(STILL_RED, minutes=minutes) not in form
    doctor_first = said("If your doctor told you something else, do what your doctor said.")
    assert doctor_first in form
    answer = send(family, f"{home}/skin", {"signs-red_stays": "yes"}).text
    (review,) = coordinator.get("/api/v1/reviews").json()["items"]
    assert review["due_on"] == "2026-03-05"  # Thursday: three working days after Monday
    assert review["words"] == "It is still red 15 minutes after taking it off."
    assert said(LOOK, day=said.day(date(2026, 3, 5))) in answer
    assert doctor_first in answer


def test_staff_are_asked_to_look_by_the_same_day_and_see_the_limits_with_their_source(
    register: Register, coordinator: TestClient
) -> None:
    open_account(register, Role.COORDINATOR)
    browser = signed_in(register)
    answer = made(coordinator, f"recipients/{opened(coordinator)}/skin-reports", {"signs": ["red_stays"]})
    assert answer["then"] == "We will look at this with you by 5 March 2026."
    (told, *_) = coordinator.get("/api/v1/messages").json()["items"]
    assert told["subject"] == "Please look at something by 5 March 2026"
    page = browser.get("/safety/skin").text
    for each in ("within 15 minutes is as it should be", "45 minutes after taking it off", "within 3 working days"):
        assert each in page
    assert SOURCE in page
    assert "plan for a person comes before this table" in page
    assert 'href="/safety/skin"' in browser.get("/safety").text
    table = coordinator.get("/api/v1/skin-table").json()
    assert (table["fades_minutes"], table["long_minutes"], table["review_days"]) == (15, 45, 3)
    assert [each["seen"] for each in table["lines"]] == ["gone", "stays", "stays_long", "hurt"]


def test_the_clinicians_newest_note_stands_first_where_somebody_looks(
    register: Register, coordinator: TestClient
) -> None:
    number = opened(coordinator)
    open_account(register, Role.COORDINATOR)
    browser = signed_in(register)
    clinician = register.api(Role.CLINICIAN)
    made(coordinator, f"recipients/{number}/skin-reports", {"signs": ["red_stays"]})
    assert "what to watch for" not in browser.get("/reviews/1").text
    for day, watch in (("2026-02-02", "Ten minutes of red are enough."), ("2026-01-12", "Nothing special.")):
        note = {"verdict": "suitable", "watch_for": watch, "noted_by": "Dr Reyes", "noted_on": day}
        made(clinician, f"recipients/{number}/suitability", note)
    other = opened(coordinator, given_name="Tomas")
    made(clinician, f"recipients/{other}/suitability", {"verdict": "suitable", "watch_for": "Not hers.", **BY})
    review = coordinator.get("/api/v1/reviews").json()["items"][0]
    assert review["watch_for"] == "Ten minutes of red are enough."
    page = browser.get("/reviews/1").text
    assert page.index("Ten minutes of red are enough.") < page.index("It is still red 15 minutes")
    assert "it comes before what is said here" in page
    made(clinician, f"recipients/{number}/suitability", {"verdict": "suitable", "watch_for": "", **BY})
    assert coordinator.get("/api/v1/reviews").json()["items"][0]["watch_for"] is None
