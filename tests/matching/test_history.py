"""What a volunteer was asked, what they said, and how long what they made took."""

from __future__ import annotations

import pytest

from service.access.permissions import Role
from service.statistics import wilson
from tests.accounts.people import open_account, signed_in
from tests.matching.things import coordinator, tapped


def history(client, volunteer=1):
    return client.get(f"/api/v1/volunteers/{volunteer}/history")


def test_it_counts_what_was_said_and_how_long_it_took(register, one):
    tapped(register.browser(), one["link"], "accept")
    register.clock.forward(days=6)
    answered = coordinator(register).post(f"/api/v1/requests/{one['request']}/answered", json={"note": "Posted."})
    assert answered.status_code == 200
    found = history(coordinator(register)).json()
    assert (found["offered"], found["accepted"], found["declined"], found["lapsed"]) == (1, 1, 0, 0)
    assert found["median_days"] == 6
    assert found["said_yes"] == pytest.approx([1.0, *(wilson(1, 1) or ())])
    (item,) = found["items"]
    assert (item["kind"], item["state"], item["days"]) == ("replacement", "accepted", 6)


def test_a_no_is_kept_with_its_reason_on_the_page(register, one):
    tapped(register.browser(), one["link"], "decline", why="My printer waits for a belt.")
    open_account(register, Role.COORDINATOR)
    page = signed_in(register).get("/volunteers/1/history").text
    assert "Bo was asked one time and said yes to none so far." in page
    assert "My printer waits for a belt." in page
    other = history(coordinator(register), 2).json()  # Cy was asked next
    assert (other["offered"], other["accepted"], other["said_yes"]) == (1, 0, None)


def test_others_do_not_see_it(register, one):
    assert history(coordinator(register, "island")).status_code == 404
    assert history(register.api(Role.VOLUNTEER)).status_code == 404
    assert history(register.api(Role.CLINICIAN)).status_code == 403
    assert history(coordinator(register), 99).status_code == 404
