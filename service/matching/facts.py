"""What is known of volunteers and of jobs when they are matched: plain values, gathered once. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from math import asin, ceil, cos, radians, sin, sqrt

from service.matching.model.box import Box
from service.requests.rules import RequestKind
from service.volunteers.rules import PrinterState, Skill

EARTH_KM = 6371.0
PRINTING_HOURS_A_DAY = 12.0
"""How long a printer at home is counted on in a day; judgement."""

POST_DAYS, BY_HAND_DAYS = 3, 1
"""How long a part is on its way; judgement."""


@dataclass(frozen=True)
class Spot:
    """A town, degrees north and east."""

    latitude: float
    longitude: float

    def km_to(self, other: Spot) -> float:
        """Kilometres along the great circle."""
        north, east = radians(other.latitude - self.latitude), radians(other.longitude - self.longitude)
        chord = sin(north / 2) ** 2 + cos(radians(self.latitude)) * cos(radians(other.latitude)) * sin(east / 2) ** 2
        return 2 * EARTH_KM * asin(sqrt(min(chord, 1.0)))


@dataclass(frozen=True)
class Printer:
    """A printer: its room (width, depth, height) and nozzle in mm; materials in plain words, folded."""

    id: int
    name: str
    room: Box
    nozzle_mm: float
    materials: frozenset[str]
    state: PrinterState = PrinterState.WORKING


@dataclass(frozen=True)
class Volunteer:
    """Somebody who makes or fits. `stock` holds (material, colour), folded; `vetted_until` is the day the review of
    their check for home visits is due by policy, None without one; `busy_hours` is what their jobs in hand still take.
    """

    id: int
    name: str
    site: str
    home: Spot | None
    hours_a_week: float
    jobs_at_once: int
    travels_km: float
    skills: frozenset[Skill]
    printers: tuple[Printer, ...] = ()
    stock: frozenset[tuple[str, str]] = frozenset()
    absences: tuple[tuple[date, date], ...] = ()
    vetted_until: date | None = None
    in_hand: int = 0
    busy_hours: float = 0.0
    left_on: date | None = None

    def is_away(self, day: date) -> bool:
        """Whether they are away on a day."""
        return any(since <= day <= until for since, until in self.absences)

    def free_hours(self, today: date, days: int) -> list[float]:
        """Hours free from tomorrow up to the end of each of so many days, today the first; jobs in hand come first."""
        a_day, worked, free = self.hours_a_week / 7, 0.0, []
        for ahead in range(days):
            if ahead and not self.is_away(today + timedelta(days=ahead)):
                worked += a_day
            free.append(max(0.0, worked - self.busy_hours))
        return free


@dataclass(frozen=True)
class Piece:
    """Something to be printed: its box at its scale as the file lies, mm; None where no file is known.

    `materials` are any of those it may be made of, as its version says them; none where nothing is said.
    """

    what: str
    box: Box | None
    materials: frozenset[str]
    nozzle_mm: float | None
    colour: str
    print_hours: float
    quantity: int = 1

    @property
    def folded(self) -> frozenset[str]:
        """The materials as they are compared: "PETG" and "petg" are one."""
        return frozenset(each.casefold() for each in self.materials)


@dataclass(frozen=True)
class Job:
    """A request as a job: `rank` 1-4 from triage, 1 first; `standing` is who has been asked and not answered yet,
    `declined` who will not be asked again, `used_to` who made something for the recipient before.
    """

    id: int
    title: str
    site: str
    kind: RequestKind
    needed_by: date
    rank: int
    home: Spot | None
    pieces: tuple[Piece, ...]
    needs: frozenset[Skill]
    hands_hours: float
    visit: bool
    used_to: frozenset[int] = frozenset()
    standing: int | None = None
    declined: frozenset[int] = frozenset()
    unknown_print_hours: float = 0.0

    @property
    def print_hours(self) -> float:
        """Hours on a printer, all pieces together, and what is guessed while no file is chosen."""
        return self.unknown_print_hours + sum(piece.print_hours * piece.quantity for piece in self.pieces)


def km_between(volunteer: Volunteer, job: Job) -> float | None:
    """Kilometres between towns; None while one of them is not known."""
    return volunteer.home.km_to(job.home) if volunteer.home is not None and job.home is not None else None


def delivers(volunteer: Volunteer, job: Job, today: date) -> bool:
    """Whether they would bring it: near enough for them, and their vetting is not due for review."""
    km = km_between(volunteer, job)
    vetted = volunteer.vetted_until is not None and volunteer.vetted_until >= today
    return vetted and km is not None and km <= volunteer.travels_km


def hours_of(volunteer: Volunteer, job: Job) -> float:
    """Hours of their own a job takes a volunteer: those of their hands, or as many as go by while it is printed."""
    working = sum(printer.state is PrinterState.WORKING for printer in volunteer.printers)
    days = job.print_hours / (PRINTING_HOURS_A_DAY * working) if working else 0.0
    return max(job.hands_hours, days * volunteer.hours_a_week / 7)


def days_on_the_way(volunteer: Volunteer, job: Job, today: date) -> int:
    """Days from done to there."""
    return BY_HAND_DAYS if delivers(volunteer, job, today) or job.visit else POST_DAYS


def first_day(volunteer: Volunteer, today: date, hours: float) -> date | None:
    """When somebody has worked so many hours beside their jobs in hand; None when not within the days looked at."""
    free = volunteer.free_hours(today, DAYS_AHEAD)
    return next((today + timedelta(days=ahead) for ahead, each in enumerate(free) if each >= hours - 1e-6), None)


DAYS_AHEAD = 120
"""How many days a plan looks ahead."""


def rounded_km(km: float) -> int:
    """A distance as anybody may know it: no nearer than 5 km."""
    return max(5, 5 * ceil(km / 5 - 0.5))
