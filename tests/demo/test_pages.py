"""Every page of the demo that a link leads to answers, whoever follows it."""

from __future__ import annotations

import html
import re
from collections import Counter

import pytest

from service import demo
from service.access.permissions import Role
from service.app import PAGES
from tests.accounts.people import sign_in

EACH = 4  # addresses of one kind that are looked at
ROUTES = [route for pages in PAGES for route in pages.router.routes if "GET" in route.methods]
LINK = re.compile(r'\b(?:href|src)="(/[^"#]*)')


def kind_of(address):
    """The route that serves an address, None for what is no page, such as a stylesheet."""
    path = address.partition("?")[0]
    return next((route.path for route in ROUTES if route.path_regex.match(path)), None)


def walk(browser):
    """(how often each kind of page was looked at, what did not answer 200) from the first page on."""
    waiting, known, broken = ["/"], {"/"}, []
    looked: Counter[str | None] = Counter()
    while waiting:
        address = waiting.pop(0)
        kind = kind_of(address)
        if address != "/" and (kind is None or looked[kind] >= EACH):
            continue
        looked[kind] += 1
        answer = browser.get(address, follow_redirects=True)
        if answer.status_code != 200:
            broken.append((address, answer.status_code))
        if "html" in answer.headers["content-type"]:
            for found in map(html.unescape, LINK.findall(answer.text)):
                if found not in known:
                    known.add(found)
                    waiting.append(found)
    return looked, broken


@pytest.mark.parametrize("role", [Role.COORDINATOR, Role.CLINICIAN, Role.VOLUNTEER, Role.TRUSTEE])
def test_every_link_leads_to_a_page(shown, role):
    person = next(each for each in demo.PEOPLE if each.role is role)
    browser = shown.browser()
    sign_in(browser, person.email, person.password)
    looked, broken = walk(browser)
    assert broken == []
    if role is Role.COORDINATOR:
        assert {"/parts/{design}", "/parts/versions/{version}", "/lots/{lot}"} <= looked.keys()
