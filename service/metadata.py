"""Every table, for migrations: importing this module fills `Base.metadata`."""

from service.accounts import tables as accounts
from service.assembly import tables as assembly
from service.audit import tables as audit
from service.devices import tables as devices
from service.growth import tables as growth
from service.kit import jobs
from service.kit.db import Base
from service.lots import tables as lots
from service.measurements import tables as measurements
from service.parts import tables as parts
from service.recipients import tables as recipients
from service.web import idempotency

__all__ = [
    "accounts",
    "assembly",
    "audit",
    "devices",
    "growth",
    "idempotency",
    "jobs",
    "lots",
    "measurements",
    "metadata",
    "parts",
    "recipients",
]

metadata = Base.metadata
