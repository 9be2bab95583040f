"""A page of another site must not act in a signed-in person's name.

Three lines of defence: the session cookie is SameSite=Lax; a browser that says a request comes from elsewhere
(`Sec-Fetch-Site`, `Origin`) is refused before the body is read; and every form carries a token bound to
the session (`form_token`). The API is out of reach: it takes a bearer token and no cookie.
"""

from __future__ import annotations

from urllib.parse import urlsplit

from starlette.datastructures import Headers
from starlette.types import ASGIApp, Receive, Scope, Send

from service.web.headers import FAMILY_PAGES
from service.web.limits import UNSAFE
from service.web.problems import plain_problem


class SameOriginOnly:
    """Refuse unsafe requests that a browser sent from another site (pure ASGI)."""

    def __init__(self, app: ASGIApp, *, base_url: str) -> None:
        self.app = app
        self.base_host = urlsplit(base_url).netloc

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Look at where the request says it comes from."""
        guarded = scope["type"] == "http" and scope["method"] in UNSAFE and not scope["path"].startswith("/api/")
        if guarded and not self._is_same_origin(Headers(scope=scope), scope["path"]):
            detail = "This form was sent from another site, so nothing was done. Open the page here and send it again."
            await plain_problem(scope, 403, "Sent from elsewhere", detail)(scope, receive, send)
            return
        await self.app(scope, receive, send)

    def _is_same_origin(self, headers: Headers, path: str) -> bool:
        site = headers.get("sec-fetch-site")
        if site is not None:
            return site in {"same-origin", "none"}
        origin = headers.get("origin")
        if origin == "null" and path.startswith(FAMILY_PAGES):
            # Told to keep the address to itself, an older browser keeps even its host. Who has it may send forms.
            return True
        return origin is None or urlsplit(origin).netloc in {headers.get("host", ""), self.base_host}
