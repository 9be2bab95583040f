"""Views of the work list and of a case file."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from service.assembly.answers import PlacedPart
from service.casefile.rules import Kind
from service.devices.schemas import DeviceHistory, SockReportView, WornSocket
from service.growth.rules import ForecastState
from service.growth.schemas import Due, Limiting
from service.growth.stored import StoredForecast
from service.kit.chances import PROBABLY
from service.kit.schema import View
from service.measurements.schemas import MeasurementView
from service.outcomes.goal_schemas import GoalView
from service.outcomes.schemas import AskView
from service.recipients.rules import CaseState, Side
from service.recipients.schemas import NO_CHOICE, RecipientFilter, RecipientView
from service.requests.rules import RequestKind


class WorkFilter(RecipientFilter):
    """Whose work to list, as for recipients, and of which kind; `state` is the case's."""

    kind: Annotated[Kind | None, NO_CHOICE] = None
    side: Annotated[Side | None, NO_CHOICE] = None


class Sign(View):
    """Why a socket is to be taken for tight today, whatever its forecast: what was reported, or what was measured.

    A report on a day `on` has `plies` and `note`; a reading has `size_mm` at a `place`, where the socket is tight at
    `tight_at_mm`.
    """

    on: date
    plies: tuple[int, ...] | None = None
    note: str = ""
    size_mm: float | None = None
    tight_at_mm: float | None = None
    place: str | None = None


class AskedFor(View):
    """A request that is not settled: `said` is what is asked for, by whom, when and by when it is needed.

    `device` is the one that it is about, if any.
    """

    id: int
    kind: RequestKind
    device: int | None
    what: str
    said: str
    needed_by: date


class WorkItem(View):
    """One thing to do. `act_by` is the day by which, or null; `why` is a sentence; `case_state` is the case's.

    `missing` names what a case lacks, `asked` is what is asked for there and not settled.
    A socket has `side`, `device`, `purpose`, `socket`, `sign` if it was reported or
    measured tight and nothing since says otherwise, and its forecast:
    `already` and `within` are probabilities of being tight, now and within so many days; `start_by` is the day by
    which the making must start, which takes `lead_days` at this site; `measure_by` is the day on which another reading
    would help that decision most, and `measure_why` says how much; all are null until first worked out.
    """

    kind: Kind
    case_number: str
    given_name: str
    family_name: str
    birth_date: date
    case_state: CaseState
    site: str
    site_name: str
    act_by: date | None
    why: str
    missing: tuple[str, ...] = ()
    asked: tuple[AskedFor, ...] = ()
    side: Side | None = None
    device: int | None = None
    purpose: str | None = None
    socket: int | None = None
    due: Due | None = None
    already: float | None = None
    within: dict[str, float] | None = None
    start_by: date | None = None
    measure_by: date | None = None
    measure_why: str | None = None
    lead_days: int | None = None
    limiting: Limiting | None = None
    sign: Sign | None = None
    state: ForecastState | None = None

    @property
    def probably_tight(self) -> bool:
        """Whether the socket is more likely tight today than not."""
        return self.already is not None and self.already >= PROBABLY


class WorkCounts(View):
    """How much there is to do, whatever the kind asked for.

    Of the sockets, `signs` were reported or measured tight. Of the others, the next one of `start_now` should be
    started today or before, and `probably_tight` of these are more likely tight than not. `next_start` is the first
    day after today by which to start another, of those expected to be tight within three years.
    """

    of_kind: dict[Kind, int]
    signs: int
    start_now: int
    next_start: date | None
    probably_tight: int


class StateChange(View):
    """The case came to stand somewhere else, or was opened (`before` null)."""

    on: date
    by: str
    before: CaseState | None
    after: CaseState


class ParticularsChange(View):
    """A particular of the case was changed; `field` is its name in `RecipientView`."""

    on: date
    by: str
    field: str
    before: str | bool | None
    after: str | bool | None


class CaseFile(View):
    """Everything the register knows of a case, newest first, but for the audit of who read it.

    `parts` are every stay of a part in one of the devices, the oldest first; `worn` are the sockets in place of devices
    in use, each with one of `forecasts`; `lead_days` is how long making a socket takes at the case's site, `signs` are
    those of sockets, by their ids; `asked` is what is asked for and not settled, in the order of triage; `asks` are the
    days to ask how somebody gets on with a device, `goals` their own.
    """

    person: RecipientView
    lead_days: int
    devices: list[DeviceHistory]
    parts: list[PlacedPart]
    worn: list[WornSocket]
    signs: dict[int, Sign]
    forecasts: list[StoredForecast]
    sessions: list[MeasurementView]
    sock_reports: list[SockReportView]
    states: list[StateChange]
    changes: list[ParticularsChange]
    asked: list[AskedFor]
    asks: list[AskView]
    goals: list[GoalView]
