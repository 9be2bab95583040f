"""What the forms of requests post, read into what the commands take; and what each form does."""

from __future__ import annotations

import enum
from collections.abc import Callable, Mapping
from typing import Any

from starlette.datastructures import FormData

from service.access.work import Work
from service.requests import actions
from service.requests.schemas import (
    AskBack,
    AskRequest,
    BeginWait,
    DecideTriage,
    JoinRequests,
    MarkAnswered,
    Promise,
    RequestView,
    Settle,
    SplitRequest,
)
from service.web.forms import command, filled

_KNOWN = {"yes": True, "no": False}


class Act(enum.StrEnum):
    """What is done to a request by a form of its own, as its address ends."""

    CLOSE = "close"
    ANSWERED = "answered"
    TRIAGE = "triage"
    PROMISE = "promise"
    QUESTION = "question"
    WAIT = "wait"
    JOIN = "join"
    SPLIT = "split"

    @property
    def is_for_those_who_order(self) -> bool:
        """Whether it is not for everybody who may ask."""
        return self not in {Act.QUESTION, Act.WAIT}


def asked(form: FormData, case_number: str) -> AskRequest:
    """What a new request asks for; a part that was left at "is fine" is not asked for."""
    given = filled(form)
    parts: list[dict[str, Any]] = []
    for name, happened in given.items():
        if name.startswith("happened-"):
            parts.append({"place": name.removeprefix("happened-"), "happened": happened})
    if "other_kind" in given:
        other = {"kind": given["other_kind"], "digit": given.get("other_digit")}
        parts.append({**other, "happened": given.get("other_happened", "broken")})
    values: dict[str, Any] = {
        name: given[name] for name in ("kind", "device", "words", "colour", "asked_by") if name in given
    }
    values |= {"case_number": case_number, "usable": _KNOWN.get(given.get("usable", "")), "harm": "harm" in given}
    if given.get("kind") == "replacement":
        values["parts"] = parts
    if given.get("asker") == "family":
        values["asker"] = "family"
    else:
        values.pop("asked_by", None)
    return command(AskRequest, values)


def _close(work: Work, request: int, form: FormData) -> RequestView:
    return actions.close_request(work, request, command(Settle, filled(form)))


def _answered(work: Work, request: int, form: FormData) -> RequestView:
    return actions.mark_answered(work, request, command(MarkAnswered, filled(form)))


def _triage(work: Work, request: int, form: FormData) -> RequestView:
    given = filled(form)
    rank = None if given.get("rank") == "facts" else given.get("rank", "")
    return actions.decide_triage(work, request, command(DecideTriage, {"rank": rank, "why": given.get("why", "")}))


def _promise(work: Work, request: int, form: FormData) -> RequestView:
    return actions.promise(work, request, command(Promise, {"on": None, **filled(form)}))


def _question(work: Work, request: int, form: FormData) -> RequestView:
    given = filled(form)
    waits_for = given.pop("waits_for", "family")
    asked_back = {**given, "waits_for": None if waits_for == "nobody" else waits_for}
    return actions.ask_back(work, request, command(AskBack, asked_back))


def _wait(work: Work, request: int, form: FormData) -> RequestView:
    return actions.begin_wait(work, request, command(BeginWait, filled(form)))


def _join(work: Work, request: int, form: FormData) -> RequestView:
    return actions.join(work, request, command(JoinRequests, filled(form)))


def _split(work: Work, request: int, form: FormData) -> RequestView:
    chosen = [name.removeprefix("parts-") for name in filled(form) if name.startswith("parts-")]
    return actions.split(work, request, command(SplitRequest, {"parts": chosen}))


DOES: Mapping[Act, Callable[[Work, int, FormData], RequestView]] = {
    Act.CLOSE: _close,
    Act.ANSWERED: _answered,
    Act.TRIAGE: _triage,
    Act.PROMISE: _promise,
    Act.QUESTION: _question,
    Act.WAIT: _wait,
    Act.JOIN: _join,
    Act.SPLIT: _split,
}
