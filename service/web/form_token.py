"""The token that ties a form to the browser it was shown to."""

from __future__ import annotations

import hashlib
import hmac

from fastapi import Request
from starlette.datastructures import FormData

from service.kit.errors import StaleForm

SESSION_COOKIE = "handspan_session"


def form_token(request: Request) -> str:
    """The token for forms shown to this browser: a MAC of its session cookie, or of nothing before sign-in."""
    secret: bytes = request.app.state.frame.settings.secret()
    cookie = request.cookies.get(SESSION_COOKIE, "")
    return hmac.new(secret, b"form:" + cookie.encode(), hashlib.sha256).hexdigest()


def check_form_token(request: Request, form: FormData) -> None:
    """Raise StaleForm unless the form carries this browser's token."""
    sent = form.get("form_token")
    if not isinstance(sent, str) or not hmac.compare_digest(sent.encode(), form_token(request).encode()):
        raise StaleForm(
            "It was opened before you signed in or out, so nothing was recorded. Open it again: "
            "what you typed is offered back to you there."
        )
