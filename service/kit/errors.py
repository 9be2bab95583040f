"""Everything the register refuses, as one small tree.

    Refusal                 it was understood and will not be done
    ├── NotFound            no such thing, or none that this person may see (404)
    ├── Unauthenticated     nobody is signed in, or the token is not valid (401)
    ├── Forbidden           signed in, but not for this (403)
    │   └── StaleForm       a form that was opened before signing in or out (403)
    ├── Conflict            true when it was asked, but something already stands in the way (409)
    │   └── Blocked         the gate: says what stands in the way, and what alone lifts each (409)
    ├── Invalid             a value cannot be right; says which and what to do (422)
    │   └── Doubted         a value is surprising; the same again with `confirmed` stores it (422)
    └── TooMany             slow down; says when to try again (429)
    Misconfigured           the operator must change a setting before the service can start

A refusal's text says what happened, what was kept and what to do. It carries no value somebody typed, save a size to
whoever typed it, where the slip could not be seen otherwise; refusals are never logged.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class FieldError:
    """One thing to put right: `field` is a dotted path into what was sent, such as `readings.0.values`."""

    field: str
    message: str


class Refusal(Exception):
    """The register understood and declines; `detail` is a sentence for a person."""

    title = "That was not done"

    def __init__(self, detail: str, *, fields: tuple[FieldError, ...] = ()) -> None:
        super().__init__(detail)
        self.detail = detail
        self.fields = fields


class NotFound(Refusal):
    """No such thing, or none that this person may see: the two look alike on purpose."""

    title = "There is nothing here"


class Unauthenticated(Refusal):
    """Nobody is signed in."""

    title = "Sign in first"


class Forbidden(Refusal):
    """This person's roles do not cover the act."""

    title = "Your role does not cover this"


class StaleForm(Forbidden):
    """A form that this browser was shown before somebody signed in or out."""

    title = "This form is out of date"


class Conflict(Refusal):
    """Something that already stands is in the way."""

    title = "Something is already there"


@dataclass(frozen=True)
class Bar:
    """One thing that stands in the way: a word for programs, why, and what alone lifts it."""

    code: str
    why: str
    lifted_by: str


class Blocked(Conflict):
    """Something must be true first, before anything reaches a limb."""

    title = "This is blocked"

    def __init__(self, detail: str, bars: tuple[Bar, ...]) -> None:
        super().__init__(detail)
        self.bars = bars


class Invalid(Refusal):
    """A value cannot be right."""

    title = "Something needs correcting"

    @classmethod
    def at(cls, field: str, message: str) -> Invalid:
        """One wrong field."""
        return cls(message, fields=(FieldError(field, message),))


@dataclass(frozen=True)
class Doubt:
    """A surprising value: `field` as in FieldError, `message` says what is odd about it, kindly."""

    field: str
    message: str


class Doubted(Invalid):
    """Surprising, not impossible: nothing is stored until somebody confirms it."""

    title = "Please look at this again"

    def __init__(self, doubts: tuple[Doubt, ...]) -> None:
        super().__init__(
            "Nothing was stored yet. If the values are right, send the same again with confirmed set to true.",
        )
        self.doubts = doubts


class TooMany(Refusal):
    """Too many tries; `retry_after` is in seconds."""

    title = "Please wait a little"

    def __init__(self, detail: str, *, retry_after: int) -> None:
        super().__init__(detail)
        self.retry_after = retry_after


class Misconfigured(Exception):
    """The service cannot start as it is set up; the text says which setting to change."""
