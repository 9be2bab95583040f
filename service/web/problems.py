"""Refusals and mistakes as people and programs read them: problem+json (RFC 9457) under /api, else a plain page."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any
from urllib.parse import urlencode, urlsplit

import structlog
from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, RedirectResponse, Response
from sqlalchemy.exc import OperationalError
from sqlalchemy.exc import TimeoutError as PoolTimeoutError
from starlette.exceptions import HTTPException
from starlette.types import Scope

from service.access.actor import NOBODY
from service.kit import errors
from service.web.forms import FormAgain
from service.web.render import render
from service.web.shown import is_api
from service.web.validation import field_errors

log = structlog.get_logger()

SIGN_IN_FIRST = "Send a valid token in the Authorization header, and try again."

STATUS: dict[type[errors.Refusal], int] = {
    errors.Unauthenticated: 401,
    errors.Forbidden: 403,
    errors.StaleForm: 403,
    errors.NotFound: 404,
    errors.Conflict: 409,
    errors.Blocked: 409,
    errors.Invalid: 422,
    errors.Doubted: 422,
    errors.TooMany: 429,
}

PROBLEM_RESPONSES: dict[int | str, dict[str, Any]] = {
    code: {
        "description": description,
        "content": {"application/problem+json": {"schema": {"$ref": "#/components/schemas/Problem"}}},
    }
    for code, description in {
        400: "The request could not be read.",
        401: "No valid token.",
        403: "The role does not cover it.",
        404: "No such thing, or none this person may see.",
        409: "Something already stands in the way.",
        413: "The body is too large.",
        422: "A value is impossible (`errors`) or surprising (`doubts`); nothing was stored.",
    }.items()
}

PROBLEM_SCHEMA: dict[str, Any] = {
    "type": "object",
    "title": "Problem",
    "description": "RFC 9457 problem details.",
    "required": ["type", "title", "status", "detail"],
    "properties": {
        "type": {"type": "string"},
        "title": {"type": "string"},
        "status": {"type": "integer"},
        "detail": {"type": "string"},
        "errors": {"type": "array", "items": {"$ref": "#/components/schemas/FieldProblem"}},
        "doubts": {"type": "array", "items": {"$ref": "#/components/schemas/FieldProblem"}},
        "blocked_by": {"type": "array", "items": {"$ref": "#/components/schemas/Bar"}},
    },
}
BAR_SCHEMA: dict[str, Any] = {
    "type": "object",
    "title": "Bar",
    "required": ["code", "why", "lifted_by"],
    "properties": {name: {"type": "string"} for name in ("code", "why", "lifted_by")},
}
FIELD_PROBLEM_SCHEMA: dict[str, Any] = {
    "type": "object",
    "title": "FieldProblem",
    "required": ["field", "message"],
    "properties": {"field": {"type": "string"}, "message": {"type": "string"}},
}


def install(app: FastAPI) -> None:
    """Tell the application how each refusal is answered."""
    app.add_exception_handler(errors.Refusal, _refused)
    app.add_exception_handler(FormAgain, _form_again)
    app.add_exception_handler(RequestValidationError, _unreadable)
    app.add_exception_handler(HTTPException, _http)
    for nothing_free in (OperationalError, PoolTimeoutError):
        app.add_exception_handler(nothing_free, _busy)
    app.add_exception_handler(Exception, _mistake)


def plain_problem(
    scope: Scope, status: int, title: str, detail: str, *, headers: dict[str, str] | None = None, **extra: Any
) -> Response:
    """A problem for a program, or the plain page for a person, by the path that was asked for."""
    if scope["path"].startswith("/api/"):
        body = {"type": "about:blank", "title": title, "status": status, "detail": detail, **extra}
        return JSONResponse(body, status_code=status, media_type="application/problem+json", headers=headers)
    context = {"title": title, "detail": detail, "fields": extra.get("errors", []), "form_page": extra.get("form_page")}
    actor = scope.get("state", {}).get("actor", NOBODY)
    template = "_errors/signed_in.html" if actor.is_person else "_errors/problem.html"
    return render(Request(scope), template, context, status=status, headers=headers)


def _refused(request: Request, refusal: Exception) -> Response:
    assert isinstance(refusal, errors.Refusal)  # noqa: S101 registered for this type alone
    wants_page = not request.url.path.startswith("/api/")
    if wants_page and isinstance(refusal, errors.Unauthenticated) and request.method == "GET":
        asked_for = request.url.path + (f"?{request.url.query}" if request.url.query else "")
        return RedirectResponse(f"/sign-in?{urlencode({'next': asked_for}, safe='/')}", status_code=303)
    headers: dict[str, str] = {}
    extra: dict[str, Any] = {}
    if isinstance(refusal, errors.Unauthenticated):
        headers["WWW-Authenticate"] = "Bearer"
    if isinstance(refusal, errors.TooMany):
        headers["Retry-After"] = str(refusal.retry_after)
    if isinstance(refusal, errors.Doubted):
        extra["doubts"] = [asdict(doubt) for doubt in refusal.doubts]
    if isinstance(refusal, errors.Blocked):
        extra["blocked_by"] = [asdict(bar) for bar in refusal.bars]
    if refusal.fields:
        extra["errors"] = [asdict(field) for field in refusal.fields]
    if isinstance(refusal, errors.StaleForm):
        extra["form_page"] = _came_from(request)
    status = STATUS[type(refusal)]
    _find_out_who(request)
    return plain_problem(request.scope, status, refusal.title, refusal.detail, headers=headers, **extra)


def _find_out_who(request: Request) -> None:
    """A page that says no keeps the ways on of whoever is signed in, though no route found out who that is."""
    if not is_api(request) and not hasattr(request.state, "actor"):
        request.state.actor = request.app.state.frame.who(request)


def _came_from(request: Request) -> str | None:
    """The path of the page of ours that a form was sent from, if the browser says it."""
    page = urlsplit(request.headers.get("Referer", ""))
    return page.path if page.netloc == request.url.netloc else None


def _form_again(request: Request, again: Exception) -> Response:
    assert isinstance(again, FormAgain)  # noqa: S101 registered for this type alone
    return render(request, again.template, again.context, status=422)


def _unreadable(request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)  # noqa: S101 registered for this type alone
    # Who asks comes before what is wrong with what they ask.
    if is_api(request) and not request.app.state.frame.who(request).is_person:
        return _refused(request, errors.Unauthenticated(SIGN_IN_FIRST))
    _find_out_who(request)
    found = field_errors(error.errors())
    status = 400 if any(problem["type"] == "json_invalid" for problem in error.errors()) else 422
    detail = "Nothing was stored. " + " ".join(f"{each.field}: {each.message}." for each in found[:3])
    return plain_problem(request.scope, status, errors.Invalid.title, detail, errors=[asdict(each) for each in found])


def _http(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)  # noqa: S101 registered for this type alone
    unread = "The request could not be read"
    known = {
        404: (errors.NotFound.title, "There is nothing at this address. Check it, or start again from the start page."),
        400: (
            unread,
            "Nothing was stored. What was sent could not be read; send it as the API description or form says.",
        ),
        405: ("Not possible here", "This address does not take that kind of request."),
    }
    title, detail = known.get(error.status_code, (unread, str(error.detail)))
    _find_out_who(request)
    return plain_problem(request.scope, error.status_code, title, detail, headers=dict(error.headers or {}))


def _named(request: Request) -> str:
    """The address as the route has it: what stands in its place may be a secret."""
    return str(getattr(request.scope.get("route"), "path", "an unknown address"))


def _busy(request: Request, error: Exception) -> Response:
    log.warning("database_unavailable", path=_named(request), error=type(error).__name__)
    detail = "The register is busy or its database cannot be reached. Nothing was stored; try again in a moment."
    return plain_problem(request.scope, 503, "Busy just now", detail, headers={"Retry-After": "2"})


def _mistake(request: Request, error: Exception) -> Response:
    log.error("mistake", path=_named(request), exc_info=error)
    detail = "This is a mistake of ours, not yours. Nothing was stored; it has been written down for us to mend."
    return plain_problem(request.scope, 500, "Something went wrong", detail)
