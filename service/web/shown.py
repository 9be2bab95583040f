"""What a request shows of who sent it: a session cookie on pages, a bearer token under /api."""

from __future__ import annotations

from fastapi import Request

from service.access.credential import Credential
from service.web.form_token import SESSION_COOKIE


def is_api(request: Request) -> bool:
    """Whether a program asks, and problems are answered as JSON."""
    return request.url.path.startswith("/api/")


def shown_by(request: Request) -> Credential:
    """The credential of a request; both of its parts may be missing."""
    if not is_api(request):
        return Credential(session=request.cookies.get(SESSION_COOKIE))
    scheme, _, token = request.headers.get("Authorization", "").partition(" ")
    return Credential(token=token.strip() or None) if scheme.lower() == "bearer" else Credential()
