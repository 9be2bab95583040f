"""How what was handed over long ago had been made: the rows of a build from its first day to its last follow-up."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import sqlalchemy as sa

from service.access.actor import Actor
from service.access.permissions import Role
from service.access.work import Work
from service.assembly.tables import PartRow
from service.builds.rules import BuildState, FailedWhy
from service.builds.tables import BuildItemRow, BuildMoveRow, BuildPartRow, BuildRow, PrintRow, UseRow
from service.demo.telling import Event, Told
from service.gate.checklists import CheckKind, due_days
from service.gate.tables import CheckRow
from service.geometry.answers import Geometry
from service.geometry.printing import Solid
from service.handovers.rules import counts_from
from service.handovers.tables import DeliveryRow, FittingRow, FollowUpRow
from service.parts.rules import USUAL_DENSITY, density_of
from service.parts.tables import VersionRow
from service.recipients.tables import RecipientRow
from service.requests.tables import RequestRow
from service.volunteers.tables import PrinterRow, VolunteerRow

CENTS_A_GRAM, CENTS_AN_HOUR = 2.6, 9.0
"""What plastic and power cost; invented."""

_OPENED, _BEGUN, _MADE, _CHECKED, _DELIVERED = 0.05, 0.2, 0.6, 0.75, 0.9
_FIRST_MADE, _SENT_BACK, _BEGUN_AGAIN = 0.35, 0.45, 0.5
"""How far along the wait each step was."""

_FAILURES = (FailedWhy.CAME_LOOSE, FailedWhy.STRINGS, FailedWhy.LAYERS_SHIFTED, FailedWhy.RAN_OUT, FailedWhy.POWER)
_FROM_PAPER = "From the site's paper form: signed and in order."
_PARTED = "A layer had parted beside the bore."
_OF_AGE = 18 * 365.25


@dataclass(frozen=True)
class Span:
    """The days of a request, counted back from today, as moments."""

    told: Told
    asked: int
    settled: int

    @classmethod
    def until(cls, told: Told, work: Work, asked: int) -> Span:
        """From so many days ago until the day of `work`."""
        today = told.work(work.actor, 0).today
        return cls(told, asked, (today - work.today).days)

    def at(self, share: float) -> datetime:
        """The moment that share of the way from asked to settled."""
        return self.moment(self.asked - round((self.asked - self.settled) * share))

    def moment(self, ago: int) -> datetime:
        """When things are written down, so many days ago."""
        return self.told.work(self.told.actors[Role.COORDINATOR], ago).now


@dataclass(frozen=True)
class Piece:
    """A part that was handed over, the lot it was made of, and the stay of the one whose place it took."""

    part: PartRow
    lot: int
    version: VersionRow | None
    instead_of: int | None

    def particulars(self) -> dict[str, Any]:
        """What the rows of requests and of builds say of it."""
        names = ("kind", "what", "digit", "side", "version_id", "scale_across", "scale_along", "material", "colour")
        return {name: getattr(self.part, name) for name in names}

    def plastic(self) -> tuple[float, float]:
        """Grams and hours of printing it."""
        if self.version is None or self.part.scale_across is None or self.part.scale_along is None:
            raise LookupError("what was bought was not printed")
        found, settings = Geometry.model_validate(self.version.geometry), self.version.print_settings
        solid = Solid(found.volume_mm3 or 0.0, found.area_mm2, found.bounding_box_mm)
        printed = solid.scaled(self.part.scale_across, self.part.scale_along).printed(
            settings["walls"] * settings["nozzle_mm"], settings["infill"]
        )
        return printed.mass_g(density_of(self.part.material) or USUAL_DENSITY), printed.hours()


@dataclass(frozen=True)
class Making:
    """A build that answered `request`; `how` says who made it, how many prints failed and whether it was sent back."""

    work: Work
    told: Told
    span: Span
    request: RequestRow
    how: Event

    def write(self, device: int, pieces: Sequence[Piece]) -> int:
        """Write all of it for a device; returns the build's id."""
        rounds = 2 if self.how["sent_back"] else 1
        worn_in, session = self.span.moment(self.span.settled - 7), self.work.session
        row = self._row(device, rounds, worn_in)
        session.add(row)
        session.flush()  # the id is needed
        items = [
            BuildItemRow(build_id=row.id, place_id=each.instead_of, **each.particulars(), quantity=1) for each in pieces
        ]
        checks = list(self._checks(row, rounds))
        session.add_all([*items, *checks])
        session.flush()  # the ids are needed
        parts = [
            (piece, BuildPartRow(part_id=piece.part.id, item_id=item.id))
            for piece, item in zip(pieces, items, strict=True)
        ]
        prints = [
            each
            for number, (piece, made) in enumerate(parts)
            for each in self._prints(row, piece, made.item_id, rounds, first=not number)
        ]
        session.add_all(each for _, each in prints)
        session.flush()  # the ids are needed
        session.add_all(made for _, made in parts)
        session.add_all(
            UseRow(build_id=row.id, item_id=each.item_id, print_id=each.id, lot_id=piece.lot, amount=each.grams)
            for piece, each in prints
        )
        session.add_all(self._moves(row, rounds, worn_in))
        delivered = self.span.at(_DELIVERED)
        given = {"build_id": row.id, "round": rounds}
        session.add(DeliveryRow(**given, on=delivered.date(), to="the family", **self._logged(delivered)))
        fitting = next(each for each in checks if each.kind is CheckKind.FITTING)
        session.add(FittingRow(**given, **self._fitted(), check_id=fitting.id))
        for name, due in due_days(self.work.today):
            about = {"build_id": row.id, "recipient_id": row.recipient_id, "device_id": device}
            session.add(FollowUpRow(**about, name=name, due_on=due, counts_from=counts_from(name, due)))
        return row.id

    def _row(self, device: int, rounds: int, worn_in: datetime) -> BuildRow:
        volunteer, printer, site = self._maker()
        opened = self.span.at(_OPENED)
        return BuildRow(
            request_id=self.request.id,
            recipient_id=self.request.recipient_id,
            site_id=site,
            device_id=device,
            side=self._side(device),
            volunteer_id=volunteer,
            printer_id=printer,
            state=BuildState.WORN,
            since=worn_in,
            round=rounds,
            deadline=self.request.needed_by,
            opened_at=opened,
            opened_by=self.work.actor.name,
        )

    def _side(self, device: int) -> Any:
        devices = sa.table("devices", sa.column("id"), sa.column("side"))
        return self.work.session.scalar(sa.select(devices.c.side).where(devices.c.id == device))

    def _maker(self) -> tuple[int | None, int | None, int]:
        """Who had a printer at the site when it was begun, and the site; nobody in the first years."""
        person = self.work.session.get_one(RecipientRow, self.request.recipient_id)
        there = sa.select(VolunteerRow.id, PrinterRow.id).join(PrinterRow, PrinterRow.volunteer_id == VolunteerRow.id)
        there = there.where(VolunteerRow.site_id == person.site_id, VolunteerRow.since <= self.span.at(_OPENED).date())
        found = self.work.session.execute(there.order_by(PrinterRow.id)).all()
        if not found:
            return None, None, person.site_id
        volunteer, printer = found[self.how["maker"] % len(found)]
        return volunteer, printer, person.site_id

    def _prints(
        self, row: BuildRow, piece: Piece, item: int, rounds: int, *, first: bool
    ) -> Iterator[tuple[Piece, PrintRow]]:
        """What came out in the end; of the first item also what failed on the way and what was sent back."""
        grams, hours = piece.plastic()
        goes: list[tuple[float, int, Event]] = [(_MADE, rounds, {})]
        if first:
            failed = [_FAILURES[(self.how["maker"] + number) % len(_FAILURES)] for number in range(self.how["spoiled"])]
            sent_back = [(_FIRST_MADE, 1, {"discarded_why": _PARTED})] if rounds > 1 else []
            goes = [*((_BEGUN, 1, {"failed_why": why}) for why in failed), *sent_back, *goes]
        for share, round_, came in goes:
            at = self.span.at(share)
            yield (
                piece,
                PrintRow(
                    build_id=row.id,
                    item_id=item,
                    printer_id=row.printer_id,
                    round=round_,
                    quantity=1,
                    hours=round(hours, 1),
                    grams=round(grams, 1),
                    cents=round(grams * CENTS_A_GRAM + hours * CENTS_AN_HOUR),
                    printed_on=at.date(),
                    **came,
                    **self._logged(at),
                    by_account_id=self.work.actor.account_id,
                ),
            )

    def _moves(self, row: BuildRow, rounds: int, worn_in: datetime) -> Iterator[BuildMoveRow]:
        steps: list[tuple[BuildState, datetime, int]] = [(BuildState.MAKING, self.span.at(_BEGUN), 1)]
        if rounds > 1:
            steps += [(BuildState.MADE, self.span.at(_FIRST_MADE), 1)]
            steps += [(BuildState.SENT_BACK, self.span.at(_SENT_BACK), 1)]
            steps += [(BuildState.MAKING, self.span.at(_BEGUN_AGAIN), 2)]
        steps += [
            (BuildState.MADE, self.span.at(_MADE), rounds),
            (BuildState.CLEARED, self.span.at(_CHECKED), rounds),
            (BuildState.DELIVERED, self.span.at(_DELIVERED), rounds),
            (BuildState.FITTED, self.work.now, rounds),
            (BuildState.WORN, worn_in, rounds),
        ]
        before = BuildState.PLANNED
        for state, at, round_ in steps:
            checker = state in {BuildState.CLEARED, BuildState.SENT_BACK}
            by = self.told.actors[Role.CLINICIAN] if checker else self.work.actor
            why = _PARTED if state is BuildState.SENT_BACK else ""
            signed = {"at": at, "by": by.name, "by_account_id": by.account_id}
            yield BuildMoveRow(build_id=row.id, round=round_, came_from=before, to=state, why=why, **signed)
            before = state

    def _checks(self, row: BuildRow, rounds: int) -> Iterator[CheckRow]:
        clinician = self.told.actors[Role.CLINICIAN]
        if rounds > 1:
            given = {"round": 1, "passed": False, "remarks": _PARTED}
            yield CheckRow(
                build_id=row.id, kind=CheckKind.BENCH, **given, **_signed(self.span.at(_SENT_BACK), clinician)
            )
        passed = {"build_id": row.id, "round": rounds, "passed": True, "remarks": _FROM_PAPER}
        yield CheckRow(**passed, kind=CheckKind.BENCH, **_signed(self.span.at(_CHECKED), clinician))
        yield CheckRow(**passed, kind=CheckKind.FITTING, **_signed(self.work.now, self.work.actor))
        today = self.told.work(self.work.actor, 0).today
        for _, due in due_days(self.work.today):
            if due < today:
                looked = self.span.moment((today - due).days)
                yield CheckRow(**passed, kind=CheckKind.FOLLOW_UP, **_signed(looked, self.work.actor))

    def _fitted(self) -> dict[str, Any]:
        born = self.work.session.get_one(RecipientRow, self.request.recipient_id).birth_date
        child = (self.work.today - born).days < _OF_AGE
        return {
            "begun_by": self.work.actor.name,
            "guardian_present": "a parent" if child else "",
            "cautions_acknowledged_by": "a parent" if child else "the wearer",
            "fitted_on": self.work.today,
            "done_at": self.work.now,
            "done_by": self.work.actor.name,
        }

    def _logged(self, at: datetime) -> dict[str, Any]:
        return {"logged_at": at, "logged_by": self.work.actor.name}


def _signed(at: datetime, by: Actor) -> dict[str, Any]:
    return {"checked_on": at.date(), "signed_at": at, "signed_by": by.name, "by_account_id": by.account_id}
