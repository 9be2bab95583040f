"""Commands and views of sites, accounts, sessions and tokens."""

from __future__ import annotations

import re
from datetime import datetime
from typing import Annotated, TypeVar

from pydantic import AfterValidator, ConfigDict, Field, SecretStr, StringConstraints

from service.access.permissions import PEOPLE, Role
from service.accounts.rules import LONGEST_PASSWORD
from service.kit.schema import Command, Id, Line, Text, View

T = TypeVar("T")

LONGEST_TOKEN_DAYS = 365


def _address(text: str) -> str:
    if not re.fullmatch(r"[^@\s\x00-\x1f]+@[^@\s\x00-\x1f]+\.[^@\s\x00-\x1f]+", text):
        raise ValueError('Write a mail address such as "name@example.org"')
    return text.lower()


def _held_by_people(role: Role) -> Role:
    if role not in PEOPLE:
        raise ValueError(f"Choose one of: {', '.join(PEOPLE)}")
    return role


def _short_code(text: str) -> str:
    if not re.fullmatch(r"[a-z0-9][a-z0-9-]{1,19}", text):
        raise ValueError('Use 2 to 20 letters (a to z), digits or hyphens, such as "north-quay"')
    return text


def _at_least_one(chosen: frozenset[T]) -> frozenset[T]:
    if not chosen:
        raise ValueError("Choose at least one")
    return chosen


def _encodable(password: SecretStr) -> SecretStr:
    try:
        password.get_secret_value().encode()
    except UnicodeEncodeError:
        raise ValueError("This password holds half a character. Type it again") from None
    return password


Email = Annotated[str, StringConstraints(strip_whitespace=True, max_length=254), AfterValidator(_address)]
Password = Annotated[SecretStr, Field(min_length=1, max_length=LONGEST_PASSWORD), AfterValidator(_encodable)]
PersonRole = Annotated[Role, AfterValidator(_held_by_people)]
Code = Annotated[str, StringConstraints(strip_whitespace=True, to_lower=True), AfterValidator(_short_code)]
Roles = Annotated[frozenset[PersonRole], AfterValidator(_at_least_one), Field(json_schema_extra={"minItems": 1})]
SiteCodes = Annotated[frozenset[Code], AfterValidator(_at_least_one), Field(json_schema_extra={"minItems": 1})]
LeadDays = Annotated[int, Field(ge=1, le=365, description="Days that making and delivering a socket takes there.")]
TightRisk = Annotated[
    float,
    Field(ge=0.01, le=0.5, description="The chance accepted that a socket is tight before the next one arrives."),
]


ReplacementDays = Annotated[
    int, Field(ge=1, le=90, description="Days within which a part that broke is promised anew there.")
]
North = Annotated[float, Field(ge=-90, le=90, description="Degrees north; south is below zero.")]
East = Annotated[float, Field(ge=-180, le=180, description="Degrees east; west is below zero.")]


class SignIn(Command):
    """An address and a password, as typed."""

    email: Annotated[Line, StringConstraints(to_lower=True)]
    password: Password


class ChangePassword(Command):
    """The password in use, and the new one twice so that a slip locks nobody out."""

    old_password: Password
    new_password: Password
    new_password_again: Password


class AddAccount(Command):
    """A person who shall be able to sign in; `sites` are site codes."""

    email: Email
    name: Line
    roles: Roles
    sites: SiteCodes
    password: Password


class ChangeAccount(Command):
    """What is given is changed; a new password signs the person out everywhere, `closed` ends or restores access."""

    email: Email | None = None
    name: Line | None = None
    roles: Roles | None = None
    sites: SiteCodes | None = None
    password: Password | None = None
    closed: bool | None = None


class IssueToken(Command):
    """A token for a program: what it is for, how many days it lasts, and the one role it is narrowed to, if any."""

    name: Line
    days: int = Field(default=90, ge=1, le=LONGEST_TOKEN_DAYS)
    role: PersonRole | None = None


class AddSite(Command):
    """A branch or partner clinic; `code` is short and stays."""

    code: Code
    name: Line
    lead_days: LeadDays = 28
    tight_risk: TightRisk = 0.1
    replacement_days: ReplacementDays = 7
    town: Id | None = None
    note: Text = ""


class ChangeSite(Command):
    """What is given is changed."""

    name: Line | None = None
    lead_days: LeadDays | None = None
    tight_risk: TightRisk | None = None
    replacement_days: ReplacementDays | None = None
    town: Id | None = None
    note: Text | None = None


class AddTown(Command):
    """A town or a postcode district: only how far it is from another is ever used of it."""

    model_config = ConfigDict(json_schema_extra={"example": {"name": "Quayside", "latitude": 52.1, "longitude": 4.3}})

    name: Line
    latitude: North
    longitude: East


class ChangeTown(Command):
    """What is given is changed."""

    name: Line | None = None
    latitude: North | None = None
    longitude: East | None = None


class TownView(View):
    """A town, and where it lies in degrees north and east."""

    id: int
    name: str
    latitude: float
    longitude: float


class SiteView(View):
    """A site; `lead_days` is how long making and delivering a socket takes there.

    `tight_risk` is the chance (0-1) accepted there that a socket is tight before the next one arrives,
    `replacement_days` within how many days a part that broke is promised, `town` the id of the one it lies in.
    """

    code: str
    name: str
    lead_days: int
    tight_risk: float
    replacement_days: int
    town: int | None
    note: str


class MeView(View):
    """Whose credential this is, and the roles it acts with (a token may be narrowed to one)."""

    email: str
    name: str
    roles: list[Role]
    sites: list[SiteView]


class AccountView(View):
    """An account as administrators see it; `sites` are site codes."""

    id: int
    email: str
    name: str
    roles: list[Role]
    sites: list[str]
    created_at: datetime
    closed_at: datetime | None


class Person(View):
    """Somebody to choose from."""

    id: int
    name: str


class SessionView(View):
    """A signed-in browser."""

    id: int
    browser: str
    created_at: datetime
    expires_at: datetime
    is_current: bool


class TokenView(View):
    """An API token without its text; narrowed to `role` unless that is null."""

    id: int
    name: str
    role: Role | None
    created_at: datetime
    expires_at: datetime
    ended_at: datetime | None


class IssuedToken(TokenView):
    """A new token with its text: this is the only time it is shown."""

    token: str


class SignedIn(View):
    """The text for the session cookie: this is the only time it is shown."""

    cookie: str


class NotRight(View):
    """A wrong password. Answered, not raised: raising would roll back the record of the try, and tries are counted."""

    field: str
    message: str
