"""Rows of a small register, written straight into its tables, with whatever a test does not care about filled in."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

from sqlalchemy.orm import Session

from service.assembly.tables import PartRow, PlaceRow
from service.devices.rules import EndReason
from service.devices.tables import DeviceRow, SocketRow
from service.geometry.answers import Format, LengthUnit
from service.parts.rules import PartKind, VersionState
from service.parts.tables import DesignRow, VersionRow
from service.recipients.rules import CaseState, Cause, ConsentKind, Level, Purpose, Sex, Side, case_number
from service.recipients.tables import ConsentRow, LimbRow, RecipientRow
from service.requests.rules import Asker, RequestKind, RequestState
from service.requests.tables import RequestRow

BY = "a test"


def at(on: date) -> datetime:
    """Noon of a day."""
    return datetime(on.year, on.month, on.day, 12, tzinfo=UTC)


class Writer:
    """Writes rows for one session; each method returns the id of what it wrote."""

    def __init__(self, session: Session, site: int) -> None:
        self.session, self.site, self.number = session, site, 0

    def _add(self, row: Any) -> int:
        self.session.add(row)
        self.session.flush()
        return int(row.id)

    def person(self, born: date = date(2016, 5, 1), *, counted: bool = True, withdrawn: date | None = None) -> int:
        """A recipient with a left limb, who agreed to be counted unless said otherwise."""
        self.number += 1
        of = self._add(
            RecipientRow(
                case_number=case_number(100_000 + 1000 * self.site + self.number),
                site_id=self.site,
                given_name="Wren",
                family_name=f"Tarn {self.number}",
                search_name=f"wren tarn {self.number}",
                birth_date=born,
                sex=Sex.FEMALE,
                state=CaseState.ACTIVE,
                state_since=born,
                created_at=at(date(2024, 1, 1)),
                changed_at=at(date(2024, 1, 1)),
            )
        )
        self._add(LimbRow(recipient_id=of, side=Side.LEFT, cause=Cause.CONGENITAL, level=Level.WRIST))
        if counted:
            self._add(
                ConsentRow(
                    recipient_id=of,
                    kind=ConsentKind.CONSENT,
                    purpose=Purpose.STATISTICS,
                    given_by=BY,
                    given_on=date(2024, 1, 1),
                    withdrawn_on=withdrawn,
                )
            )
        return of

    def device(self, of: int, since: date, stopped: date | None = None) -> int:
        """A device; it is worn from the first part or socket in it on."""
        return self._add(
            DeviceRow(recipient_id=of, purpose="everyday", side=Side.LEFT, created_at=at(since), stopped_on=stopped)
        )

    def socket(self, device: int, since: date, until: date | None = None, why: EndReason | None = None) -> int:
        """A socket in place."""
        given = {"ended_on": until, "end_reason": why or (EndReason.OUTGROWN if until else None)}
        return self._add(SocketRow(device_id=device, fitted_on=since, socks_at_fitting=[], **given))

    def version(self, design: str, number: int) -> int:
        """A released version of a design, which is made when it is first named."""
        of = self.session.query(DesignRow.id).filter_by(name=design).scalar() or self._add(
            DesignRow(
                name=design,
                search_name=design.casefold(),
                kind=PartKind.FINGER,
                created_at=at(date(2020, 1, 1)),
                created_by=BY,
            )
        )
        return self._add(
            VersionRow(
                design_id=of,
                number=number,
                what_changed="",
                materials=[],
                print_settings={},
                features=[],
                checks=[],
                axis={},
                file_sha256="",
                file_name="",
                file_bytes=0,
                format=Format.STL,
                unit=LengthUnit.MILLIMETRE,
                picture_sha256="",
                geometry={},
                created_at=at(date(2020, 1, 1)),
                created_by=BY,
                state=VersionState.RELEASED,
            )
        )

    def part(self, version: int) -> int:
        """A printed part of a version."""
        made = {"created_at": at(date(2020, 1, 1)), "created_by": BY}
        return self._add(PartRow(site_id=self.site, kind=PartKind.FINGER, version_id=version, **made))

    def stay(
        self,
        part: int,
        device: int,
        since: date,
        until: date | None = None,
        why: EndReason | None = None,
        *,
        recorded: date | None = None,
    ) -> int:
        """A stay of a part in a device."""
        return self._add(
            PlaceRow(
                part_id=part,
                device_id=device,
                since=since,
                until=until,
                came_off=why,
                doubts=[],
                recorded_at=at(recorded or since),
                recorded_by=BY,
            )
        )

    def request(
        self, of: int, on: date, settled: date | None = None, state: RequestState | None = None, **more: Any
    ) -> int:
        """A request for a part, answered when it was settled unless said otherwise."""
        self.number += 1
        return self._add(
            RequestRow(
                recipient_id=of,
                kind=RequestKind.REPLACEMENT,
                need=f"need {self.number}",
                asker=Asker.FAMILY,
                asked_by=BY,
                asked_at=at(on),
                needed_by=on + timedelta(days=28),
                state=state or (RequestState.ANSWERED if settled else RequestState.OPEN),
                settled_at=at(settled) if settled else None,
                **more,
            )
        )
