"""Every table, for migrations: importing this module fills `Base.metadata`."""

from service.accounts import tables as accounts
from service.assembly import tables as assembly
from service.audit import tables as audit
from service.builds import tables as builds
from service.calendars import tables as calendars
from service.devices import tables as devices
from service.family import tables as family
from service.figures import tables as figures
from service.gate import tables as gate
from service.growth import tables as growth
from service.handovers import tables as handovers
from service.kit import jobs
from service.kit.db import Base
from service.lots import tables as lots
from service.matching import tables as matching
from service.measurements import tables as measurements
from service.notices import tables as notices
from service.notifications import tables as notifications
from service.outcomes import tables as outcomes
from service.parts import tables as parts
from service.recipients import tables as recipients
from service.requests import tables as requests
from service.safety import tables as safety
from service.volunteers import tables as volunteers
from service.web import idempotency

__all__ = [
    "accounts",
    "assembly",
    "audit",
    "builds",
    "calendars",
    "devices",
    "family",
    "figures",
    "gate",
    "growth",
    "handovers",
    "idempotency",
    "jobs",
    "lots",
    "matching",
    "measurements",
    "metadata",
    "notices",
    "notifications",
    "outcomes",
    "parts",
    "recipients",
    "requests",
    "safety",
    "volunteers",
]

metadata = Base.metadata
