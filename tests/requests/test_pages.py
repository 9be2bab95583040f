"""The pages of requests as a browser uses them."""

from __future__ import annotations

import pytest
from fastapi.testclient import TestClient

from service.access.permissions import Role
from tests.accounts.people import open_account, post, signed_in
from tests.assembly.things import a_device, finger, put
from tests.conftest import Register
from tests.devices.worn import device
from tests.requests.asking import INDEX, MIDDLE, ask, done, listed

EMAIL = "coordinator@example.org"


@pytest.fixture
def api(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


@pytest.fixture
def browser(register: Register) -> TestClient:
    open_account(register, Role.COORDINATOR, email=EMAIL)
    return signed_in(register, EMAIL)


def test_from_the_case_to_the_list_and_its_own_page(register: Register, api: TestClient, browser: TestClient) -> None:
    assert "Nobody is waiting." in browser.get("/requests").text
    number, in_device = a_device(api)
    worn = put(api, number, in_device, version=finger(register), digit="index", material="PETG", on="2026-01-12")
    new = f"/recipients/{number}/requests/new"
    assert f'name="happened-{worn["place"]}"' in browser.get(new).text
    typed = {
        "kind": "replacement",
        f"happened-{worn['place']}": "broken",
        "words": "It snapped <at> the hinge",
        "usable": "no",
        "asker": "family",
        "asked_by": "Mrs Okafor",
    }
    answer = post(browser, new, typed)
    assert answer.status_code == 303, answer.text
    page = browser.get(answer.headers["location"]).text
    assert "It is asked for." in page
    assert "Ines: index finger broken" in page
    assert "Second: it cannot be used since today: no spare device." in page
    assert "“It snapped &lt;at&gt; the hinge”" in page
    assert "asked today by Mrs Okafor, for the family" in page
    assert "Make Long finger 0, version 1, as worn." in page
    assert 'aria-label="index finger, broken"' in page or "finger, index, broken" in page
    shown = browser.get("/requests").text
    assert "1 request is open" in shown or "One request is open" in shown
    assert "Ines: index finger broken" in shown
    assert "needed by" in shown
    twice = post(browser, new, typed)
    assert twice.status_code == 422
    assert "is asked for already" in twice.text
    assert "It snapped &lt;at&gt; the hinge" in twice.text


def test_a_form_that_lacks_something_comes_back_as_it_was(api: TestClient, browser: TestClient) -> None:
    number, _device = a_device(api)
    new = f"/recipients/{number}/requests/new"
    answer = post(browser, new, {"kind": "replacement", "colour": "teal"})
    assert answer.status_code == 422
    assert "Say in a few words what is needed" in answer.text
    assert 'value="teal"' in answer.text
    other = {"kind": "replacement", "other_kind": "finger", "other_happened": "lost"}
    assert "Say which finger it is" in post(browser, new, other).text
    assert post(browser, new, {**other, "other_digit": "ring"}).status_code == 303
    assert [each["what"] for each in listed(api)] == ["ring finger lost"]


def test_with_two_devices_one_is_chosen_first(api: TestClient, browser: TestClient) -> None:
    number, _first = a_device(api)
    second = device(api, number, purpose="cycling")
    new = f"/recipients/{number}/requests/new"
    assert f"{new}?device={second}" in browser.get(new).text
    chosen = browser.get(f"{new}?device={second}").text
    assert "It is about the left cycling device." in chosen
    taken = post(browser, f"{new}?device={second}", {"kind": "adjustment", "device": str(second)})
    assert taken.status_code == 303
    assert [each["purpose"] for each in listed(api)] == ["cycling"]


def test_a_question_stops_the_clock_until_it_is_answered(api: TestClient, browser: TestClient) -> None:
    request = ask(api, a_device(api)[0], parts=[INDEX])["id"]
    url = f"/requests/{request}"
    post(browser, f"{url}/question", {"question": "Which colour?", "waits_for": "family"})
    page = browser.get(url).text
    assert "waits for the family" in page
    assert "1 waits for the family" in browser.get("/requests").text.replace("one waits", "1 waits")
    (question,) = api.get(f"/api/v1{url}").json()["questions"]
    answer = {"answer": "Teal", "answered_by": "Mrs Okafor"}
    assert post(browser, f"{url}/questions/{question['id']}/answer", answer).status_code == 303
    page = browser.get(url).text
    assert "“Teal”" in page
    assert "waits for the family" not in page
    post(browser, f"{url}/wait", {"waits_for": "clinician", "why": "She looks on Friday"})
    assert "waits for the clinician" in browser.get(url).text
    assert post(browser, f"{url}/wait-over", {}).status_code == 303
    assert "waits for the clinician" not in browser.get(url).text


def test_a_place_in_triage_a_promise_and_the_end(api: TestClient, browser: TestClient) -> None:
    request = ask(api, a_device(api)[0], parts=[INDEX])["id"]
    url = f"/requests/{request}"
    assert "Say why it comes before" in post(browser, f"{url}/triage", {"rank": "1"}).text
    assert post(browser, f"{url}/triage", {"rank": "1", "why": "Swimming camp on Monday"}).status_code == 303
    assert "First: Swimming camp on Monday." in browser.get(url).text
    assert post(browser, f"{url}/triage", {"rank": "facts"}).status_code == 303
    assert "Swimming camp on Monday. " not in browser.get("/requests").text
    assert "This day has gone by" in post(browser, f"{url}/promise", {"on": "2026-03-01"}).text
    assert post(browser, f"{url}/promise", {"on": "2026-04-01"}).status_code == 303
    assert "(later than needed)" in browser.get("/requests").text
    assert post(browser, f"{url}/close", {}).status_code == 422
    assert post(browser, f"{url}/close", {"why": "They found it"}).status_code == 303
    page = browser.get(url).text
    assert "They found it" in page
    assert "It is handed over" not in page
    settled = post(browser, f"{url}/answered", {})
    assert "This request was closed" in settled.text


def test_two_are_joined_and_one_is_split(api: TestClient, browser: TestClient) -> None:
    number, _device = a_device(api)
    first = ask(api, number, parts=[INDEX], words="Her finger")["id"]
    second = ask(api, number, parts=[MIDDLE], words="Another finger")["id"]
    assert f"Request {first}: index finger broken" in browser.get(f"/requests/{second}/join").text
    joined = post(browser, f"/requests/{second}/join", {"into": str(first)})
    assert joined.headers["location"] == f"/requests/{first}?done=request-join"
    page = browser.get(f"/requests/{first}").text
    assert "“Her finger”" in page
    assert "“Another finger”" in page
    middle = next(
        each["id"] for each in api.get(f"/api/v1/requests/{first}").json()["parts"] if each["happened"] == "lost"
    )
    split = post(browser, f"/requests/{first}/split", {f"parts-{middle}": str(middle)})
    assert split.status_code == 303
    assert "Ines: middle finger lost" in browser.get(split.headers["location"]).text


def test_hundreds_are_paged_and_narrowed(api: TestClient, browser: TestClient) -> None:
    numbers = [a_device(api, given_name=f"Child{index}")[0] for index in range(27)]
    for number in numbers:
        ask(api, number, "colour", colour="teal")
    first = browser.get("/requests").text
    assert first.count('class="name"') == 25
    older = first.split('rel="next"')[0].rsplit('href="', 1)[1].split('"')[0].replace("&amp;", "&")
    assert browser.get(f"/requests{older}").text.count('class="name"') == 2
    assert browser.get("/requests?q=child26").text.count('class="name"') == 1
    assert "No request fits." in browser.get("/requests?kind=advice").text


def test_who_may_only_see_is_offered_nothing_else(register: Register, api: TestClient) -> None:
    request = ask(api, a_device(api)[0], parts=[INDEX])["id"]
    open_account(register, Role.SAFEGUARDING_LEAD, email="lead@example.org")
    lead = signed_in(register, "lead@example.org")
    page = lead.get(f"/requests/{request}").text
    assert "Ines: index finger broken" in page
    assert "It is handed over" not in page
    assert lead.get(f"/requests/{request}/close").status_code == 403
    assert lead.get("/requests/99999").status_code == 404
    open_account(register, Role.VOLUNTEER, email="v@example.org")
    assert signed_in(register, "v@example.org").get(f"/requests/{request}").status_code == 404


def test_what_hurts_says_what_to_do_first(api: TestClient, browser: TestClient) -> None:
    request = ask(api, a_device(api)[0], "adjustment", harm=True)["id"]
    assert "should come off" in browser.get(f"/requests/{request}").text
    done(api, request, "answered", note="Edge rounded")
    assert "Edge rounded" in browser.get(f"/requests/{request}").text
