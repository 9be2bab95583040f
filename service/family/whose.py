"""Who acts when somebody comes by a link, and what a browser keeps that has shown who it is."""

from __future__ import annotations

import hmac

from service.access.actor import Actor
from service.access.permissions import Role
from service.family.schemas import Family


def acting(family: Family) -> Actor:
    """Who acts when somebody comes by a link."""
    return Actor(family.said_by, frozenset({Role.FAMILY}), recipient_id=family.recipient)


def proof(secret: bytes, family: Family) -> str:
    """What a browser keeps that gave the month of birth: worth something with this link alone, and while it lasts."""
    return hmac.new(secret, f"family:{family.key_hash}:{family.birth_date}".encode(), "sha256").hexdigest()


def cookie_name(family: Family) -> str:
    """The cookie for that: one for each link, since one phone may hold those of brothers and sisters."""
    return f"handspan_family_{family.key_hash[:12]}"
