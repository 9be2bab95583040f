"""`@by_link` on a route under /family/{token}: finds out whose link it is, and lets in who has shown that it is theirs.

It stands under `@writes`, since what was tried is counted. The wrapped function takes `work` (as the family), the
request and a `Door` first; FastAPI sees the token in the door's place.
"""

from __future__ import annotations

import hmac
import inspect
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Concatenate, ParamSpec

from fastapi import Request
from fastapi.responses import RedirectResponse, Response

from service.access.work import Work
from service.audit.actions import note_reads
from service.family import actions
from service.family.rules import KNOWN_FOR
from service.family.schemas import Closed, Family
from service.family.whose import acting, cookie_name, proof
from service.settings import Settings
from service.web.edge import frame
from service.web.forms import UNTOUCHED
from service.web.render import render
from service.words.catalogue import Words, languages, preferred, words

P = ParamSpec("P")

LANGUAGE_COOKIE = "handspan_words"


@dataclass(frozen=True)
class Door:
    """What a family page needs to know: whose it is, in which language, and where its pages are."""

    family: Family
    words: Words
    home: str
    settings: Settings

    def context(self, **more: Any) -> dict[str, Any]:
        """The names that every template of a family uses, and some of its own."""
        return {**_common(self.words, self.settings, self.home), "name": self.family.given_name, **more}


def by_link(route: Callable[Concatenate[Work, Request, Door, P], Response]) -> Callable[..., Response]:
    """Run a route as the family whose link it is; else say the same to everybody."""

    def run(work: Work, request: Request, token: str, **kwargs: Any) -> Response:
        found = actions.open_link(work, token, request.client.host if request.client else "")
        if isinstance(found, Closed):
            return closed(request, found)
        door = _door(request, found, token)
        if not _has_shown(request, found):
            return _in_words(request, gate(request, door))
        theirs = Work(work.session, acting(found), work.now)
        answer = route(theirs, request, door, **kwargs)  # type: ignore[call-arg]
        note_reads(theirs, theirs.read)
        return _in_words(request, answer)

    signature = inspect.signature(route, eval_str=True)
    work, request, _door_parameter, *others = signature.parameters.values()
    token = inspect.Parameter("token", inspect.Parameter.POSITIONAL_OR_KEYWORD, annotation=str)
    run.__signature__ = signature.replace(parameters=[work, request, token, *others])  # type: ignore[attr-defined]
    run.__name__, run.__doc__, run.__module__ = route.__name__, route.__doc__, route.__module__
    return run


def inside(work: Work, request: Request, token: str) -> Work | None:
    """The work of the family whose link it is, if it opens and they have shown that it is theirs."""
    found = actions.open_link(work, token, request.client.host if request.client else "")
    if isinstance(found, Closed) or not _has_shown(request, found):
        return None
    return Work(work.session, acting(found), work.now)


def let_in(work: Work, request: Request, token: str, given: Callable[[], Any]) -> Response:
    """Take the month and year of birth, and let in who gave the right ones."""
    found = actions.open_link(work, token, request.client.host if request.client else "")
    if isinstance(found, Closed):
        return closed(request, found)
    door = _door(request, found, token)
    command = given()
    right = command is not None and actions.prove(work, found, command)
    if isinstance(right, Closed):
        return closed(request, right)
    if not right:
        return gate(request, door, wrong=True)
    answer = RedirectResponse(door.home, 303)
    _keep(request, answer, cookie_name(found), proof(door.settings.secret(), found))
    return answer


def gate(request: Request, door: Door, *, wrong: bool = False) -> Response:
    """The page that asks for the month and year of birth."""
    months = [(number, door.words.month(number)) for number in range(1, 13)]
    # Who may not be known to anybody yet is not named either.
    context = {**_common(door.words, door.settings, door.home), "months": months, "wrong": wrong, **UNTOUCHED}
    return render(request, "family/gate.html", context, status=422 if wrong else 200)


def closed(request: Request, found: Closed) -> Response:
    """The one page for everybody whose link opens nothing."""
    settings = frame(request).settings
    wished = (request.query_params.get("lang"), request.cookies.get(LANGUAGE_COOKIE))
    said = words(preferred(*wished, request.headers.get("Accept-Language")))
    context = {**_common(said, settings, None), "wait_minutes": found.wait_minutes}
    if found.wait_minutes is None:
        return render(request, "family/closed.html", context, status=404)
    wait = {"Retry-After": str(found.wait_minutes * 60)}
    return render(request, "family/closed.html", context, status=429, headers=wait)


def _common(said: Words, settings: Settings, home: str | None) -> dict[str, Any]:
    return {
        "_": said,
        "lang": said.code,
        "dir": said.direction,
        "home": home,
        "charity_name": settings.charity_name,
        "charity_phone": settings.charity_phone,
        "languages": [(code, words(code).name) for code in languages()],
    }


def _door(request: Request, found: Family, token: str) -> Door:
    wished = (request.query_params.get("lang"), request.cookies.get(LANGUAGE_COOKIE), found.language)
    return Door(found, words(preferred(*wished)), f"/family/{token}", frame(request).settings)


def _has_shown(request: Request, found: Family) -> bool:
    shown = request.cookies.get(cookie_name(found), "")
    return hmac.compare_digest(shown.encode(), proof(frame(request).settings.secret(), found).encode())


def _in_words(request: Request, answer: Response) -> Response:
    """Keep the language that was chosen on the page."""
    if (code := request.query_params.get("lang")) in languages():
        _keep(request, answer, LANGUAGE_COOKIE, str(code))
    return answer


def _keep(request: Request, answer: Response, name: str, value: str) -> None:
    kept = {"httponly": True, "secure": frame(request).settings.secure_cookies, "path": "/family"}
    answer.set_cookie(name, value, max_age=int(KNOWN_FOR.total_seconds()), samesite="lax", **kept)  # type: ignore[arg-type]
