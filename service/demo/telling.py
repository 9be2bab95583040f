"""What telling a story needs: the events, what is known of each person so far, and how to act on a day."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, TypeVar

from service.access.actor import Actor
from service.access.work import Work
from service.demo.drawings import Drawings
from service.kit.errors import Doubted
from service.lots.schemas import LotView
from service.measurements.schemas import MeasurementView

T = TypeVar("T")

Event = dict[str, Any]
"""`what` happened and how many days `ago`; the rest are the words of the command that records it."""


@dataclass
class Case:
    """What later events of one person refer to: ids by the key the story gives them."""

    number: str = ""
    devices: dict[str, int] = field(default_factory=dict)
    sockets: dict[str, int] = field(default_factory=dict)
    sessions: dict[str, MeasurementView] = field(default_factory=dict)
    consents: dict[str, int] = field(default_factory=dict)
    shapes: dict[str, int] = field(default_factory=dict)
    versions: dict[str, int] = field(default_factory=dict)
    places: dict[tuple[str, str], int] = field(default_factory=dict)
    """Which stay is the newest of a slot of a device, such as the index of "left 1"."""
    gone: dict[tuple[str, str], int] = field(default_factory=dict)
    """Which stay of a slot ended last."""
    requests: dict[str, int] = field(default_factory=dict)
    builds: dict[str, int] = field(default_factory=dict)
    """The build of a request, by the request's key."""


@dataclass(frozen=True)
class Told:
    """How to act, and what anybody's events may refer to.

    `work` is that of an actor so many days ago, `actors` are by the name the story calls them, `cases` by the person's.
    """

    work: Callable[[Actor, int], Work]
    actors: dict[str, Actor]
    drawings: Drawings
    cases: dict[str, Case] = field(default_factory=dict)
    designs: dict[str, int] = field(default_factory=dict)
    versions: dict[str, int] = field(default_factory=dict)
    lots: dict[str, LotView] = field(default_factory=dict)
    towns: dict[str, int] = field(default_factory=dict)
    sites: set[str] = field(default_factory=set)
    """Those whose own town is on record: the first that is told of each."""
    volunteers: dict[str, int] = field(default_factory=dict)
    printers: dict[str, int] = field(default_factory=dict)
    """The printer of a volunteer."""
    notices: dict[str, int] = field(default_factory=dict)

    def account(self, name: str) -> int:
        """The account an actor signs in with."""
        account_id = self.actors[name].account_id
        if account_id is None:
            raise LookupError(f"{name} has no account")
        return account_id


Act = Callable[[Told, Work, Case, Event], None]


def looking_twice(act: Callable[[Event], T], words: Event) -> T:
    """As people do: when the register doubts something, look again and confirm it."""
    try:
        return act(words)
    except Doubted:
        return act(words | {"confirmed": True})
