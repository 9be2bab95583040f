"""Templates to pages. Templates receive views, never rows; a missing name is an error, not a blank."""

from __future__ import annotations

from functools import cache
from typing import Any

import jinja2
from fastapi import Request
from fastapi.responses import HTMLResponse

from service.access.actor import NOBODY
from service.access.permissions import May
from service.settings import resource
from service.web.form_token import form_token
from service.web.said import SAID
from service.web.words import FILTERS


@cache
def environment() -> jinja2.Environment:
    """The one template environment, built on first use."""
    made = jinja2.Environment(
        loader=jinja2.FileSystemLoader(resource("templates")),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
    )
    made.filters.update(FILTERS)
    made.globals["May"] = May
    return made


def render(
    request: Request,
    template: str,
    context: dict[str, Any] | None = None,
    *,
    status: int = 200,
    headers: dict[str, str] | None = None,
) -> HTMLResponse:
    """A page. Besides its context it knows who is signed in, today's date, the form token and where it is."""
    state, frame = request.scope.setdefault("state", {}), request.app.state.frame
    common = {
        "actor": state.get("actor", NOBODY),
        "today": frame.clock().date(),
        "form_token": form_token(request),
        "request_path": request.url.path,
        "flash": [SAID[done] for done in request.query_params.getlist("done") if done in SAID],
    }
    html = environment().get_template(template).render({**common, **(context or {})})
    return HTMLResponse(html, status_code=status, headers=headers)
