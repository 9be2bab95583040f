"""All facts of a day at once, of every site or of some."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date

from service.access.work import Work
from service.figures.facts import Facts
from service.figures.gathering import devices, people, requests
from service.figures.gathering_acts import incidents, looks, notices, spent
from service.figures.gathering_answers import answers, asked, goals
from service.figures.gathering_things import judged, sockets, stays


def gathered(work: Work, until: date, sites: Collection[int] | None = None) -> Facts:
    """Read everything that figures up to a day are made from."""
    worn = devices(work, until, sites)
    return Facts(
        until=until,
        people=people(work, until, sites),
        devices=worn,
        requests=requests(work, until, sites),
        stays=list(stays(work, until, sites)),
        sockets=sockets(work, until, sites),
        incidents=incidents(work, until, sites),
        notices=notices(work, until),
        looks=looks(work, until, sites),
        spent=spent(work, until, sites),
        judged=judged(work, until, sites),
        asked=asked(work, worn, until, sites),
        answers=answers(work, until, sites),
        goals=goals(work, until, sites),
    )
