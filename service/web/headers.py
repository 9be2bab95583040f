"""Headers every answer carries: nothing from elsewhere may run in a page, frame it, or learn where somebody was."""

from __future__ import annotations

from starlette.datastructures import MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

FAMILY_PAGES = "/family/"
"""How the addresses of family pages begin; what follows is secret."""

ALWAYS = {
    "Content-Security-Policy": (
        "default-src 'self'; img-src 'self' data:; object-src 'none'; base-uri 'none'; "
        "form-action 'self'; frame-ancestors 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
}


FAMILY = {"Referrer-Policy": "no-referrer", "X-Robots-Tag": "noindex, nofollow, noarchive"}
"""What family pages carry beside: their address is a secret that no other page and no search engine may learn."""


class SafeHeaders:
    """Add the headers (pure ASGI); pages and data are never cached, static files may be for an hour."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Wrap `send`."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                wanted = ALWAYS | FAMILY if scope["path"].startswith(FAMILY_PAGES) else ALWAYS
                for name, value in wanted.items():
                    headers.setdefault(name, value)
                static = scope["path"].startswith("/static/")
                headers.setdefault("Cache-Control", "public, max-age=3600" if static else "no-store")
            await send(message)

        await self.app(scope, receive, with_headers)
