"""Reading what matching needs of volunteers and requests, in a fixed number of statements, into `facts`."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa

from service.access.actor import SYSTEM
from service.access.work import Work
from service.accounts.tables import SiteRow, TownRow
from service.geometry.printing import Solid
from service.matching.facts import Job, Piece, Printer, Spot, Volunteer
from service.matching.rules import HANDS_HOURS, PRINT_HOURS, VISITS, OfferState, skills_for
from service.matching.tables import OfferRow
from service.parts.rules import PartKind
from service.parts.tables import VersionRow
from service.recipients.tables import HelperRow, RecipientRow
from service.requests.described import as_they_stand
from service.requests.lines import lines, triaged
from service.requests.rules import RequestKind, RequestState
from service.requests.tables import RequestPartRow, RequestRow
from service.volunteers.rules import VettingKind
from service.volunteers.tables import AbsenceRow, PrinterRow, StockRow, TrainingRow, VettingRow, VolunteerRow


@dataclass(frozen=True)
class Gathered:
    """The volunteers of a site, and its jobs that are asked for and nobody has agreed to, each by id."""

    site: str
    volunteers: tuple[Volunteer, ...]
    jobs: tuple[Job, ...]


def gather(work: Work, site_id: int, request_id: int | None = None) -> Gathered:
    """Everything of one site; or one request alone with all who could take it."""
    site = work.session.execute(sa.select(SiteRow.name, SiteRow.town_id).where(SiteRow.id == site_id)).one()
    volunteers = _volunteers(work, site_id, site.name)
    return Gathered(site.name, volunteers, _jobs(work, site_id, site.name, request_id))


def open_jobs() -> sa.ColumnElement[bool]:
    """Requests to plan: asked for, something to make or fit, and nobody has agreed."""
    agreed = sa.exists().where(OfferRow.request_id == RequestRow.id, OfferRow.state == OfferState.ACCEPTED)
    return sa.and_(RequestRow.state == RequestState.OPEN, RequestRow.kind != RequestKind.ADVICE, ~agreed)


def pieces_of(work: Work, request_ids: list[int]) -> dict[int, tuple[Piece, ...]]:
    """What is to be printed for each request, in the colours wished."""
    parts = _parts(work, request_ids)
    colours = work.session.execute(sa.select(RequestRow.id, RequestRow.colour).where(RequestRow.id.in_(request_ids)))
    return {row.id: _printed(parts[row.id], row.colour) for row in colours}


def _volunteers(work: Work, site_id: int, site: str) -> tuple[Volunteer, ...]:
    here = VolunteerRow.site_id == site_id
    rows = work.session.execute(
        sa.select(VolunteerRow.__table__, TownRow.latitude, TownRow.longitude)
        .outerjoin(TownRow, TownRow.id == VolunteerRow.town_id)
        .where(here)
        .order_by(VolunteerRow.id)
    ).all()
    printers = _by_volunteer(work, PrinterRow, here)
    stock = _by_volunteer(work, StockRow, here, StockRow.gone_on.is_(None))
    absences = _by_volunteer(work, AbsenceRow, here, AbsenceRow.until >= work.today)
    trainings = _by_volunteer(work, TrainingRow, here)
    home = (VettingRow.kind == VettingKind.HOME_VISITS, VettingRow.ended_on.is_(None))
    vettings = _by_volunteer(work, VettingRow, here, *home)
    in_hand = _in_hand(work, here)
    return tuple(
        Volunteer(
            id=row.id,
            name=row.name,
            site=site,
            home=None if row.latitude is None else Spot(row.latitude, row.longitude),
            hours_a_week=row.hours_a_week,
            jobs_at_once=row.jobs_at_once,
            travels_km=row.travels_km,
            skills=frozenset(each.skill for each in trainings[row.id]),
            printers=tuple(_printer(each) for each in printers[row.id]),
            stock=frozenset((each.material.casefold(), each.colour.casefold()) for each in stock[row.id]),
            absences=tuple((each.since, each.until) for each in absences[row.id]),
            vetted_until=max((each.review_due_on for each in vettings[row.id]), default=None),
            in_hand=in_hand[row.id][0],
            busy_hours=in_hand[row.id][1],
            left_on=row.left_on,
        )
        for row in rows
    )


def _by_volunteer(work: Work, table: Any, here: Any, *conditions: Any) -> defaultdict[int, list[Any]]:
    found: defaultdict[int, list[Any]] = defaultdict(list)
    statement = sa.select(table.__table__).join(VolunteerRow, VolunteerRow.id == table.volunteer_id)
    for row in work.session.execute(statement.where(here, *conditions).order_by(table.id)):
        found[row.volunteer_id].append(row)
    return found


def _in_hand(work: Work, here: Any) -> defaultdict[int, tuple[int, float]]:
    found: defaultdict[int, tuple[int, float]] = defaultdict(lambda: (0, 0.0))
    rows = work.session.execute(
        sa.select(OfferRow.volunteer_id, sa.func.count(), sa.func.sum(OfferRow.hours))
        .join(VolunteerRow, VolunteerRow.id == OfferRow.volunteer_id)
        .join(RequestRow, RequestRow.id == OfferRow.request_id)
        .where(here, OfferRow.state == OfferState.ACCEPTED, RequestRow.settled_at.is_(None))
        .group_by(OfferRow.volunteer_id)
    )
    for volunteer_id, jobs, hours in rows:
        found[volunteer_id] = (jobs, float(hours))
    return found


def _printer(row: Any) -> Printer:
    materials = frozenset(str(each).casefold() for each in row.materials)
    room = (row.width_mm, row.depth_mm, row.height_mm)
    return Printer(row.id, row.name, room, row.nozzle_mm, materials, row.state)


def _jobs(work: Work, site_id: int, site: str, request_id: int | None) -> tuple[Job, ...]:
    wanted = [RecipientRow.site_id == site_id]
    wanted.append(open_jobs() if request_id is None else RequestRow.id == request_id)
    rows = work.session.execute(
        sa.select(RequestRow.__table__, RecipientRow.given_name, TownRow.latitude, TownRow.longitude)
        .join(RecipientRow, RecipientRow.id == RequestRow.recipient_id)
        .outerjoin(TownRow, TownRow.id == RecipientRow.town_id)
        .where(*wanted)
        .order_by(RequestRow.id)
    ).all()
    ids, people = [row.id for row in rows], {row.recipient_id for row in rows}
    parts = _parts(work, ids)
    offers: defaultdict[int, list[Any]] = defaultdict(list)
    asked = sa.select(OfferRow.request_id, OfferRow.volunteer_id, OfferRow.state)
    for offer in work.session.execute(asked.where(OfferRow.request_id.in_(ids))):
        offers[offer.request_id].append(offer)
    known, ranks = _known_by(work, people), _ranks(work, ids)
    return tuple(
        _job(
            row,
            site,
            parts=parts[row.id],
            offers=offers[row.id],
            known=known[row.recipient_id],
            rank=ranks[row.id],
        )
        for row in rows
    )


def _job(row: Any, site: str, *, parts: list[tuple[Any, Any]], offers: list[Any], known: set[int], rank: int) -> Job:
    kinds = frozenset(part.kind for part, _ in parts)
    pieces = _printed(parts, row.colour)
    hours = HANDS_HOURS[row.kind] * max(1, sum(part.quantity for part, _ in parts))
    if row.kind is not RequestKind.REPLACEMENT:
        hours = HANDS_HOURS[row.kind]
    return Job(
        id=row.id,
        title=f"{row.given_name}, {RequestKind(row.kind).label}",
        site=site,
        kind=row.kind,
        needed_by=row.needed_by,
        rank=rank,
        home=None if row.latitude is None else Spot(row.latitude, row.longitude),
        pieces=pieces,
        needs=skills_for(row.kind, kinds),
        hands_hours=hours,
        visit=row.kind in VISITS,
        used_to=frozenset(known),
        standing=next((each.volunteer_id for each in offers if each.state is OfferState.WAITING), None),
        declined=frozenset(
            each.volunteer_id for each in offers if each.state in {OfferState.DECLINED, OfferState.LAPSED}
        ),
        unknown_print_hours=0.0 if pieces else PRINT_HOURS.get(row.kind, 0.0),
    )


def _ranks(work: Work, ids: list[int]) -> dict[int, int]:
    """The place of each in triage, as the room of requests sees it; seen by the register, who planned or not."""
    seeing = Work(work.session, SYSTEM, work.now)
    rows = work.session.execute(lines(seeing).where(RequestRow.id.in_(ids)))
    return {row.id: triaged(seeing, row).rank for row in rows}


def _parts(work: Work, ids: list[int]) -> defaultdict[int, list[tuple[Any, Any]]]:
    """What each request asks to be made, beside the version as it stands today."""
    found: defaultdict[int, list[tuple[Any, Any]]] = defaultdict(list)
    asked = sa.select(RequestPartRow.__table__).where(RequestPartRow.request_id.in_(ids)).order_by(RequestPartRow.id)
    rows = work.session.execute(asked).all()
    made = as_they_stand(work, {row.version_id for row in rows if row.version_id is not None})
    columns = (VersionRow.id, VersionRow.geometry, VersionRow.axis, VersionRow.materials, VersionRow.print_settings)
    read = sa.select(*columns).where(VersionRow.id.in_({each.now.id for each in made.values()}))
    versions = {row.id: row for row in work.session.execute(read)}
    for row in rows:
        version = versions[made[row.version_id].now.id] if row.version_id in made else None
        found[row.request_id].append((row, version))
    return found


def _printed(parts: list[tuple[Any, Any]], wished: str) -> tuple[Piece, ...]:
    return tuple(_piece(part, version, wished) for part, version in parts if PartKind(part.kind).is_printed)


def _piece(part: Any, version: Any, wished: str) -> Piece:
    what = part.what or " ".join(word for word in (part.digit, PartKind(part.kind).label) if word)
    colour = part.colour or wished
    if version is None:
        return Piece(what, None, frozenset({part.material} - {""}), None, colour, 1.0, part.quantity)
    materials = frozenset([part.material] if part.material else version.materials)
    across, along = part.scale_across or 1.0, part.scale_along or 1.0
    edges = version.geometry["bounding_box_mm"]
    direction = [abs(each) for each in version.axis.get("direction", (0, 0, 1))]
    main = direction.index(max(direction))
    box = tuple(edge * (along if at == main else across) for at, edge in enumerate(edges))
    nozzle = version.print_settings.get("nozzle_mm")
    return Piece(what, (box[0], box[1], box[2]), materials, nozzle, colour, _hours(part, version), part.quantity)


def _hours(part: Any, version: Any) -> float:
    """Hours on a printer by what plastic a piece takes; an hour while its surface is not closed."""
    geometry, settings = version.geometry, version.print_settings
    if not geometry.get("volume_mm3"):
        return 1.0
    x, y, z = geometry["bounding_box_mm"]
    solid = Solid(geometry["volume_mm3"], geometry["area_mm2"], (x, y, z))
    scaled = solid.scaled(part.scale_across or 1.0, part.scale_along or 1.0)
    return scaled.printed(
        settings.get("walls", 3) * settings.get("nozzle_mm", 0.4), settings.get("infill", 0.2)
    ).hours()


def _known_by(work: Work, people: Iterable[int]) -> defaultdict[int, set[int]]:
    """Whom a family knows: who agreed to make something for it before, and who helps it."""
    found: defaultdict[int, set[int]] = defaultdict(set)
    made = (
        sa.select(RequestRow.recipient_id, OfferRow.volunteer_id)
        .join(OfferRow, OfferRow.request_id == RequestRow.id)
        .where(RequestRow.recipient_id.in_(people), OfferRow.state == OfferState.ACCEPTED)
    )
    helps = (
        sa.select(HelperRow.recipient_id, VolunteerRow.id)
        .join(VolunteerRow, VolunteerRow.account_id == HelperRow.account_id)
        .where(HelperRow.recipient_id.in_(people), sa.or_(HelperRow.until.is_(None), HelperRow.until > work.today))
    )
    for recipient_id, volunteer_id in work.session.execute(sa.union(made, helps)):
        found[recipient_id].add(volunteer_id)
    return found
