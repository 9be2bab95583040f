"""What a request may be before anything reads it, and a fingerprint of each, in one pure-ASGI middleware."""

from __future__ import annotations

import hashlib
import re

from fastapi import Request
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from service.web.problems import plain_problem

UNSAFE = frozenset({"POST", "PUT", "PATCH", "DELETE"})

_BOUNDARY = re.compile(rb"""multipart/form-data\s*;.*?boundary="?([^";,\s]+)""", re.IGNORECASE)


class BoundedRequest:
    """Refuses an address with a NUL in it, and a body over the limit before it is read whole; hashes what passes.

    A declared length is refused at once; an undeclared one is counted as it streams in. Where files are sent, which is
    where the address ends as `files_at` says, the limit is that of a file.
    """

    def __init__(self, app: ASGIApp, *, largest: int, largest_file: int, files_at: tuple[str, ...]) -> None:
        self.app = app
        self.largest = largest
        self.largest_file = largest_file
        self.files_at = files_at

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Count, hash, and refuse."""
        if scope["type"] == "http" and ("\x00" in scope["path"] or b"%00" in scope["query_string"]):
            detail = "The address holds a NUL character, which cannot be stored or looked for. Type it again."
            await plain_problem(scope, 400, "The address cannot be right", detail)(scope, receive, send)
            return
        if scope["type"] != "http" or scope["method"] not in UNSAFE:
            await self.app(scope, receive, send)
            return
        largest = self.largest_file if scope["path"].endswith(self.files_at) else self.largest
        declared = dict(scope["headers"]).get(b"content-length", b"0")
        if declared.isdigit() and int(declared) > largest:
            await self._refuse(scope, receive, send, largest)
            return

        body, size, more = [], 0, True
        while more:
            message = await receive()
            if message["type"] == "http.disconnect":
                return
            chunk = message.get("body", b"")
            size, more = size + len(chunk), message.get("more_body", False)
            if size > largest:
                await self._refuse(scope, receive, send, largest)
                return
            body.append(chunk)
        pending = [b"".join(body)]
        # What stands between the parts of a form is drawn anew each time it is sent, and says nothing.
        between = _BOUNDARY.match(dict(scope["headers"]).get(b"content-type", b""))
        same = pending[0].replace(between[1], b"") if between else pending[0]
        scope.setdefault("state", {})["body_digest"] = hashlib.sha256(same)

        async def replay() -> Message:
            if pending:
                return {"type": "http.request", "body": pending.pop(), "more_body": False}
            return await receive()

        await self.app(scope, replay, send)

    async def _refuse(self, scope: Scope, receive: Receive, send: Send, largest: int) -> None:
        megabytes = largest / 1_000_000
        detail = f"This request is larger than {megabytes:g} MB, so it was not read. Send it in smaller parts."
        await plain_problem(scope, 413, "Too large", detail)(scope, receive, send)


def fingerprint(request: Request) -> str:
    """What was asked for: method, path, query and body, as one hash.

    It is kept in the database, and a body may hold a password: without our secret nobody can try guesses against it.
    """
    digest = request.state.body_digest.copy()
    digest.update(request.app.state.frame.settings.secret())
    digest.update(f"\n{request.method} {request.url.path}?{request.url.query}".encode())
    return str(digest.hexdigest())
