"""What the pages of requests show, put together from what is read."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from service.access.work import Work
from service.accounts.queries import sites
from service.assembly.drawing import Seen, drawing
from service.assembly.queries import parts_in_place
from service.devices.rules import Use
from service.kit.paging import Page
from service.parts.rules import PartKind
from service.recipients.queries import seen_recipient
from service.requests import queries
from service.requests.lines import WORDS
from service.requests.posted import Act
from service.requests.rules import RequestKind, RequestState, WhatHappened
from service.requests.schemas import RequestFilter, RequestLine, RequestView
from service.requests.telling import asked_in_words, told

LIST_LENGTH = 25

HAPPENED = [
    (WhatHappened.BROKEN, "it broke"),
    (WhatHappened.LOST, "it is lost"),
    (WhatHappened.LOOSE, "it is loose"),
    (WhatHappened.LINE, "its line snapped or slips"),
    (WhatHappened.CHARGE, "it holds no charge"),
    (WhatHappened.SPARE, "it is fine, a spare is wanted"),
]


def of_list(work: Work, wanted: RequestFilter) -> dict[str, Any]:
    """The names that `requests/list.html` uses."""
    page: Page[RequestLine] = queries.requests(work, wanted.model_copy(update={"limit": LIST_LENGTH}))
    asked = {
        name: value for name, value in wanted.model_dump(mode="json", exclude={"cursor", "limit"}).items() if value
    }
    return {
        "found": page.items,
        "counts": queries.request_counts(work, wanted),
        "wanted": wanted,
        "narrowed": bool(asked),
        "older": "?" + urlencode({**asked, "cursor": page.next}) if page.next else None,
        "newer": "/requests?" + urlencode(asked) if wanted.cursor else None,
        "sites": [(each.code, each.name) for each in sites(work)],
        "kinds": [(each.value, WORDS[each]) for each in RequestKind],
        "states": [(each.value, each.value) for each in RequestState],
        "asked": lambda request: asked_in_words(request, work.today),
    }


def of_request(work: Work, request_id: int) -> dict[str, Any]:
    """The names that `requests/request.html` and the forms about a request use."""
    found = queries.request(work, request_id)
    same_case = RequestFilter(case_number=found.case_number, limit=200)
    others = [each for each in queries.requests(work, same_case).items if each.id != found.id]
    return {
        "request": found,
        "recipient": found,
        "asked": asked_in_words(found, work.today),
        "drawing": _drawn(work, found),
        "events": [told(event) for event in queries.request_history(work, request_id)],
        "others": others,
        "same": [each for each in others if each.kind is found.kind and each.device == found.device],
    }


def of_act(work: Work, request_id: int, act: Act) -> dict[str, Any]:
    """The names that `requests/act.html` uses."""
    context = of_request(work, request_id)
    return {
        **context,
        "act": act.value,
        "same_options": [
            (each.id, f"Request {each.id}: {each.what}", asked_in_words(each, work.today)) for each in context["same"]
        ],
        "part_options": [(each.id, f"{each.called}, {each.happened.value}") for each in context["request"].parts],
    }


def of_new(work: Work, case_number: str, device: int | None) -> dict[str, Any]:
    """The names that `requests/new.html` uses."""
    person = seen_recipient(work, case_number)
    worn = [each for each in parts_in_place(work, case_number).items if each.use is not Use.STOPPED]
    chosen = [each for each in worn if device is None or each.device == device] or worn
    return {
        "person": person,
        "devices": worn,
        "chosen": chosen[0] if len(chosen) == 1 else None,
        "kinds": [(each.value, WORDS[each]) for each in RequestKind],
        "happened": [(each.value, words) for each, words in HAPPENED],
        "part_kinds": [(each.value, each.label) for each in PartKind],
        "already": queries.requests_of(work, [person.id])[person.id],
        "asked": lambda request: asked_in_words(request, work.today),
    }


def _drawn(work: Work, found: RequestView) -> Any:
    """The device drawn as it is worn, with a word on each part that is asked for; None where none is meant."""
    if found.device is None or not found.parts:
        return None
    assemblies = parts_in_place(work, found.case_number).items
    worn = next((each for each in assemblies if each.device == found.device), None)
    if worn is None:
        return None
    asked = {part.place: part.happened.value for part in found.parts if part.place is not None}
    unplaced = {(part.kind, part.digit): part.happened.value for part in found.parts if part.place is None}
    there = [
        Seen(each.kind, each.digit, asked.get(each.place or 0) or unplaced.pop((each.kind, each.digit), ""))
        for each in worn.parts
    ]
    return drawing(there, worn.side, seen_recipient(work, found.case_number).limbs.get(worn.side))
