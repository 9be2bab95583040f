"""Where a request becomes work: `@reads` and `@writes` on a route open the session, find out who acts, and close it.

The wrapped function takes `work` first; FastAPI sees the request in its place. A writing route has committed before
its answer is sent, so no failed commit is ever answered 201. This is one of the three edges where transactions open
(the others are a job and a console command); a dependency that yields would cost a request about 190 µs more.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from functools import wraps
from typing import Any, Concatenate, ParamSpec, TypeVar

from fastapi import Request
from fastapi.encoders import jsonable_encoder
from fastapi.responses import JSONResponse
from sqlalchemy.orm import Session

from service.access.actor import Actor
from service.access.credential import Credential
from service.access.work import Work
from service.kit.clock import Clock
from service.kit.db import Database
from service.kit.files import Files
from service.settings import Settings
from service.web.idempotency import earlier_answer, keep_answer
from service.web.limits import UNSAFE, fingerprint
from service.web.shown import is_api, shown_by

P = ParamSpec("P")
R = TypeVar("R")


@dataclass(frozen=True)
class Frame:
    """What the application gives its edge: settings, database, clock, and the two things slices above it know."""

    settings: Settings
    db: Database
    clock: Clock
    identify: Callable[[Session, Credential, datetime], Actor]
    note_reads: Callable[[Work, set[int]], None]
    files: Files

    def who(self, request: Request) -> Actor:
        """Who sent a request: asked when it was refused before its route could find out."""
        with self.db.reading() as session:
            return self.identify(session, shown_by(request), self.clock())


def frame(request: Request) -> Frame:
    """The frame of the application that serves a request."""
    held: Frame = request.app.state.frame
    return held


def reads(route: Callable[Concatenate[Work, P], R]) -> Callable[..., R]:
    """Run a route with a read-only session; cases it opened are recorded afterwards."""

    def run(request: Request, /, *args: P.args, **kwargs: P.kwargs) -> R:
        held = frame(request)
        with held.db.reading() as session:
            work = _work(held, session, request)
            answer = route(work, *args, **kwargs)
        if work.read:
            with held.db.writing() as session:
                held.note_reads(Work(session, work.actor, work.now), work.read)
        return answer

    return _seen_by_fastapi(route, run)


def writes(route: Callable[Concatenate[Work, P], R]) -> Callable[..., R]:
    """Run a route in one transaction, committed before the answer is sent; `Idempotency-Key` is honoured."""

    def run(request: Request, /, *args: P.args, **kwargs: P.kwargs) -> Any:
        held = frame(request)
        # A page may show what is never kept, such as a new token; a form sent twice is the page's own affair. What is
        # only fetched may be written down, but is answered anew.
        keyed = is_api(request) and request.method in UNSAFE
        key = request.headers.get("Idempotency-Key") if keyed else None
        status = request.scope["route"].status_code or 200
        with held.db.writing() as session:
            work = _work(held, session, request)
            if key is None or not work.actor.is_person:
                answer: Any = route(work, *args, **kwargs)
            elif (earlier := earlier_answer(work, key, fingerprint(request))) is not None:
                answer = JSONResponse(earlier, status_code=status, headers={"Idempotency-Replayed": "true"})
            else:
                answer = route(work, *args, **kwargs)
                keep_answer(work, key, jsonable_encoder(answer))
            held.note_reads(work, work.read)
        return answer

    return _seen_by_fastapi(route, run)


def _work(held: Frame, session: Session, request: Request) -> Work:
    now = held.clock()
    actor = held.identify(session, shown_by(request), now)
    request.state.actor = actor
    return Work(session, actor, now)


def _seen_by_fastapi(route: Callable[..., Any], run: Callable[..., Any]) -> Callable[..., Any]:
    """Give `run` the signature of `route` with the request in place of `work`."""
    signature = inspect.signature(route, eval_str=True)
    _work_parameter, *others = signature.parameters.values()
    asked_for = next((p.name for p in others if p.annotation is Request), None)

    @wraps(route)
    def endpoint(*, edge_request: Request, **kwargs: Any) -> Any:
        if asked_for is not None:
            kwargs[asked_for] = edge_request
        return run(edge_request, **kwargs)

    request = inspect.Parameter("edge_request", inspect.Parameter.KEYWORD_ONLY, annotation=Request)
    shown = [p.replace(kind=inspect.Parameter.KEYWORD_ONLY) for p in others if p.name != asked_for]
    endpoint.__signature__ = signature.replace(parameters=[request, *shown])  # type: ignore[attr-defined]
    del endpoint.__wrapped__
    return endpoint
