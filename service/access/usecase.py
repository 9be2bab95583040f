"""Permission declared once: `@usecase(May.X)` on an action or a query is checked before its first line runs."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Concatenate, ParamSpec, TypeVar, cast

from service.access.permissions import May
from service.access.work import Work
from service.kit.errors import Forbidden, Unauthenticated

P = ParamSpec("P")
R = TypeVar("R")

USE_CASES: dict[str, May] = {}
"""Every use case by its dotted name, such as `service.recipients.actions.register`."""


def usecase(may: May) -> Callable[[Callable[Concatenate[Work, P], R]], Callable[Concatenate[Work, P], R]]:
    """Declare what a use case needs.

    Raises Unauthenticated for nobody and Forbidden for anybody else whose roles do not cover it. The answer depends
    on the roles alone, so it tells nothing about which rows exist.
    """

    def declare(function: Callable[Concatenate[Work, P], R]) -> Callable[Concatenate[Work, P], R]:
        USE_CASES[f"{function.__module__}.{function.__name__}"] = may

        @wraps(function)
        def checked(work: Work, *args: P.args, **kwargs: P.kwargs) -> R:
            if not work.actor.can(may):
                if not work.actor.is_person:
                    raise Unauthenticated("Sign in, or send a token, and try again.")
                raise Forbidden(f"Your role does not let you {may.value}. A coordinator can tell you who may.")
            return function(work, *args, **kwargs)

        return cast("Callable[Concatenate[Work, P], R]", checked)

    return declare
