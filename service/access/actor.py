"""Who acts: a person with roles at sites, the system itself, or nobody yet."""

from __future__ import annotations

from dataclasses import dataclass

from service.access.permissions import May, Role
from service.access.policy import allows


@dataclass(frozen=True)
class Actor:
    """Somebody acting in the register.

    `account_id` is None for the system and for nobody; `sites` are the ids of the sites the account belongs to;
    `session_id` is the sign-in session in use, None when a token is used instead; `recipient_id` is the one case of a
    family's link, which has no account.
    """

    name: str
    roles: frozenset[Role]
    sites: frozenset[int] = frozenset()
    account_id: int | None = None
    session_id: int | None = None
    recipient_id: int | None = None

    def can(self, may: May) -> bool:
        """Whether the actor's roles cover it; buttons and actions ask the same question."""
        return allows(self.roles, may)

    @property
    def is_person(self) -> bool:
        """Whether somebody is signed in."""
        return self.account_id is not None


NOBODY = Actor(name="nobody", roles=frozenset({Role.NOBODY}))
SYSTEM = Actor(name="the register", roles=frozenset({Role.SYSTEM}))
