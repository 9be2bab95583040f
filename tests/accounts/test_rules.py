"""Good passwords, safe paths, networks, and how long guessing is held back."""

from __future__ import annotations

from datetime import timedelta

import pytest

from service.accounts import rules
from service.kit import passwords
from tests.conftest import START

PERSON = {"email": "ines.duarte@example.org", "name": "Ines Duarte"}


@pytest.mark.parametrize(
    "password",
    [
        "short enough",  # 12: the bound itself will do
        "four tame herons wade",
        "Ines likes four tame herons",
        "пять журавлей летят",
        "九羽の鶴が川を渡って飛ぶよ",
    ],
)
def test_a_good_password_will_do(password):
    assert rules.password_problem(password, **PERSON) is None


@pytest.mark.parametrize(
    "password",
    [
        "eleven char",
        "           x",  # blanks around it are not length
        "abababababababab",
        "200519830712",
        "Ines Duarte 2019!",
        "ines.duarte1234",
        "INES.DUARTE@EXAMPLE.ORG",
    ],
)
def test_a_password_others_would_try_first_will_not(password):
    assert rules.password_problem(password, **PERSON)


@pytest.mark.parametrize("path", ["/", "/work-list", "/recipients/123-456?done=x#top", "/a//b", "/sign-in?next=//x"])
def test_a_path_of_ours_is_followed(path):
    assert rules.local_path(path) == path


@pytest.mark.parametrize(
    "elsewhere",
    [
        None,
        "",
        "work-list",
        "//evil.example",
        "/\\evil.example",
        "/\t/evil.example",
        "/\n/evil.example",
        "\\/evil.example",
        "https://evil.example",
        "javascript:alert(1)",
        " //evil.example",
        "/x\\..\\",
    ],
)
def test_a_path_that_could_lead_elsewhere_is_not(elsewhere):
    assert rules.local_path(elsewhere) is None


@pytest.mark.parametrize(
    ("host", "network"),
    [
        ("203.0.113.7", "203.0.113.7"),
        ("2001:db8:1:2:3:4:5:6", "2001:db8:1:2::/64"),
        ("::ffff:203.0.113.7", "203.0.113.7"),
        ("testclient", "testclient"),
        ("", ""),
    ],
)
def test_a_network_is_what_one_subscriber_can_roam_in(host, network):
    assert rules.network_of(host) == network


def test_waiting_lasts_until_the_earliest_counted_try_is_too_old():
    tries = [START - timedelta(minutes=minutes) for minutes in (1, 2, 14)]
    assert rules.seconds_to_wait(tries, 3, START) == 60
    assert rules.seconds_to_wait(tries, 4, START) == 0
    assert rules.seconds_to_wait(tries, 3, START + timedelta(seconds=60)) == 0
    assert rules.seconds_to_wait(tries, 2, START + timedelta(seconds=60)) == 12 * 60


@pytest.mark.parametrize(
    ("user_agent", "said"),
    [
        ("Mozilla/5.0 (Android 15; Mobile; rv:140.0) Gecko/140.0 Firefox/140.0", "Firefox on Android"),
        (
            "Mozilla/5.0 (iPhone; CPU iPhone OS 18_0 like Mac OS X) AppleWebKit/605 Version/18.0 Safari/604.1",
            "Safari on an iPhone",
        ),
        ("Mozilla/5.0 (Windows NT 10.0) AppleWebKit/537 Chrome/140.0 Safari/537 Edg/140.0", "Edge on Windows"),
        ("", "A browser on a device we do not recognise"),
    ],
)
def test_a_browser_is_called_what_its_owner_calls_it(user_agent, said):
    assert rules.browser_name(user_agent) == said


def test_the_same_password_typed_on_another_keyboard_is_the_same():
    composed, decomposed = "caf\u00e9 au bord du quai", "cafe\u0301 au bord du quai "
    assert composed != decomposed
    assert passwords.is_password(decomposed, passwords.password_hash(composed))


def test_nobody_has_no_password():
    assert not passwords.is_password("", None)
    assert not passwords.is_password("anything", "not a hash")
