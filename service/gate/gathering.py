"""The facts the gate looks at, read as they are in this moment; `blocks.py` says what follows from them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import date
from typing import Any

import sqlalchemy as sa

from service.access.work import Work
from service.assembly.rules import lot_words, part_called
from service.assembly.stays import versions_used
from service.builds.keeping import items_of, used_lots
from service.builds.scope import makers
from service.builds.tables import BuildItemRow, BuildRow, PrintRow, UseRow
from service.gate.blocks import BenchFacts, Facts, ItemFacts, LotFacts, NoticeFacts
from service.gate.checklists import GAUGED, LIMITS, CheckKind, Limit, Result
from service.gate.site_rules import SiteRule
from service.gate.tables import AcceptanceRow, CheckLimitRow, CheckRow, FindingRow, SiteRuleRow
from service.geometry.answers import SmallPart
from service.kit.clock import age_on
from service.lots.tables import LotRow
from service.notices.rows import open_on
from service.parts.at_scale import features_at, wall_at
from service.parts.rules import CheckItem
from service.parts.schemas import FixedFeature, PrintSettings
from service.parts.tables import VersionRow
from service.recipients.rules import ADULT_AGE, ASSENT_FROM_AGE, ConsentKind, Purpose
from service.recipients.tables import ConsentRow, RecipientRow, SuitabilityRow
from service.requests.rules import RequestKind
from service.requests.tables import RequestRow
from service.volunteers.tables import PrinterRow


def facts_of(work: Work, row: BuildRow, *, held: bool = False) -> Facts:
    """All that the gate looks at for a build; `held` still until the act is done that leans on it."""
    if held:
        _hold(work, row)
    person = work.session.get_one(RecipientRow, row.recipient_id, populate_existing=True)
    rules = set(
        work.session.scalars(
            sa.select(SiteRuleRow.rule).where(SiteRuleRow.site_id == row.site_id, SiteRuleRow.ended_on.is_(None))
        )
    )
    asked = work.session.get_one(RequestRow, row.request_id)
    rows = items_of(work, row.id)
    files = _files(work, rows)
    met = open_on(work, {each.version_id for each in rows if each.version_id is not None}, row.id, used_lots(row))
    accepted = work.session.scalars(sa.select(AcceptanceRow.about).where(AcceptanceRow.build_id == row.id))
    return Facts(
        items=tuple(_items(work, row, rows, files)),
        missing_consents=tuple(_missing_consents(work, person)),
        prescription_lacks=_prescription_lacks(person),
        legal_basis=SiteRule.LEGAL_BASIS in rules,
        first_device=asked.kind is RequestKind.FIRST_DEVICE,
        suitability=work.session.scalar(_newest_note(row.recipient_id)),
        suitability_rule=SiteRule.SUITABILITY in rules,
        latex_allergy=person.latex_allergy,
        skin_allergies=person.skin_allergies,
        age_months=months_between(person.birth_date, work.today),
        notices=tuple(
            NoticeFacts(f"Safety notice {each.id} is open on {what}: {each.why}", each.version_id is not None)
            for each, what in met
        ),
        bench=_bench(work, row),
        accepted=frozenset(why for about in accepted for why in about),
    )


def needs_of(work: Work, row: BuildRow) -> list[CheckItem]:
    """What the versions of a build's parts ask to have looked at on the bench."""
    files = _files(work, items_of(work, row.id))
    return [CheckItem(each) for version in files.values() for each in version.checks]


def limits_of(work: Work, site_id: int) -> dict[str, Limit]:
    """The limits of a site: its own, or the usual ones."""
    rows = work.session.scalars(sa.select(CheckLimitRow).where(CheckLimitRow.site_id == site_id))
    own = {row.item: row for row in rows}
    return {
        item: Limit(own[item].value, usual.unit, usual.at_least, own[item].source) if item in own else usual
        for item, usual in LIMITS.items()
    }


def months_between(birth_date: date, day: date) -> int:
    """Completed months of age."""
    return (day.year - birth_date.year) * 12 + day.month - birth_date.month - (day.day < birth_date.day)


def _items(work: Work, row: BuildRow, rows: Sequence[BuildItemRow], files: dict[int, VersionRow]) -> list[ItemFacts]:
    lots = _lots(work, row)
    used = versions_used(work, list(files))
    found = []
    for item in rows:
        file = files.get(item.version_id or 0)
        version = used.get(item.version_id or 0)
        instead = f"Make {version.successor_name} instead." if version and version.successor_name else ""
        found.append(
            ItemFacts(
                name=part_called(item.kind, item.digit),
                kind=item.kind,
                printed=item.version_id is not None,
                material=item.material,
                version_name=version.name if version else "",
                state=version.state if version else None,
                instead=instead,
                out_of_limits=tuple(_out_of_limits(item, file)) if file else (),
                small=_may_be_small(item, file) if file else False,
                lots=tuple(lots[item.id]),
            )
        )
    return found


def _out_of_limits(item: BuildItemRow, file: VersionRow) -> list[str]:
    """The fixed features that come out too small or too large at the item's scales, and a wall that is too thin."""
    across, along = item.scale_across or 1.0, item.scale_along or item.scale_across or 1.0
    features = features_at([FixedFeature.model_validate(each) for each in file.features], across, along)
    found = [each.sentence for each in features if not each.passes]
    thinnest = file.geometry.get("thinnest_wall_mm")
    settings = PrintSettings.model_validate(file.print_settings)
    # A wall lies anywhere in the part, so the smaller of the two scales is taken.
    wall = wall_at(None if thinnest is None else thinnest * min(across, along), settings.nozzle_mm)
    return found if wall.whole is not False else [*found, wall.sentence]


def _may_be_small(item: BuildItemRow, file: VersionRow) -> bool:
    """Whether it may fit the small-parts cylinder at its scales; errs towards yes where that was not proved."""
    small = SmallPart.model_validate(file.geometry["small_part"])
    return min(item.scale_across or 1.0, item.scale_along or item.scale_across or 1.0) < small.not_from_scale


def _lots(work: Work, row: BuildRow) -> defaultdict[int, list[LotFacts]]:
    uses = used_lots(row).with_only_columns(UseRow.item_id, LotRow).join(LotRow, LotRow.id == UseRow.lot_id)
    found: defaultdict[int, list[LotFacts]] = defaultdict(list)
    for item_id, lot in work.session.execute(uses.order_by(LotRow.id)).all():
        called = lot_words(lot.what, lot.colour, lot.maker, lot.batch)
        each = LotFacts(called, lot.what, lot.state, lot.latex_free, lot.skin_contact)
        if each not in found[item_id]:
            found[item_id].append(each)
    return found


def _files(work: Work, rows: Sequence[BuildItemRow]) -> dict[int, VersionRow]:
    wanted = {each.version_id for each in rows if each.version_id is not None}
    found = sa.select(VersionRow).where(VersionRow.id.in_(wanted)).execution_options(populate_existing=True)
    return {row.id: row for row in work.session.scalars(found)} if wanted else {}


def _hold(work: Work, row: BuildRow) -> None:
    """Hold still what a build leans on: who withdraws a consent, a version or a lot meanwhile waits until it is done.

    Then a notice that is opened finds what was fitted, and what was fitted knew of every consent.
    """
    versions = [each.version_id for each in items_of(work, row.id) if each.version_id is not None]
    lots = used_lots(row).with_only_columns(UseRow.lot_id)
    printers = sa.select(PrintRow.printer_id).where(PrintRow.build_id == row.id)
    for held in (
        sa.select(RecipientRow.id).where(RecipientRow.id == row.recipient_id),
        sa.select(ConsentRow.id).where(ConsentRow.recipient_id == row.recipient_id).order_by(ConsentRow.id),
        sa.select(VersionRow.id).where(VersionRow.id.in_(versions)).order_by(VersionRow.id),
        sa.select(LotRow.id).where(LotRow.id.in_(lots)).order_by(LotRow.id),
        sa.select(PrinterRow.id).where(PrinterRow.id.in_(printers)).order_by(PrinterRow.id),
    ):
        work.session.execute(held.with_for_update(read=True))


def _missing_consents(work: Work, person: RecipientRow) -> list[str]:
    standing = sa.select(ConsentRow.kind, ConsentRow.purpose).where(
        ConsentRow.recipient_id == person.id, ConsentRow.withdrawn_on.is_(None)
    )
    given = {(each.kind, each.purpose) for each in work.session.execute(standing)}
    needed = {
        "consent to keeping records": (ConsentKind.CONSENT, Purpose.RECORDS),
        "consent to the device": (ConsentKind.CONSENT, Purpose.DEVICE),
    }
    if ASSENT_FROM_AGE <= age_on(person.birth_date, work.today) < ADULT_AGE:
        needed["assent of the child to the device"] = (ConsentKind.ASSENT, Purpose.DEVICE)
    return [words for words, each in needed.items() if each not in given]


def _prescription_lacks(person: RecipientRow) -> tuple[str, ...]:
    parts = {
        "who prescribed it": person.prescriber_name,
        "their profession": person.prescriber_profession,
        "their registration": person.prescriber_registration,
        "the day": person.prescribed_on,
    }
    return tuple(words for words, given in parts.items() if not given)


def _newest_note(recipient_id: int) -> sa.Select[Any]:
    of_person = sa.select(SuitabilityRow.verdict).where(SuitabilityRow.recipient_id == recipient_id)
    return of_person.order_by(SuitabilityRow.noted_on.desc(), SuitabilityRow.id.desc()).limit(1)


def _bench(work: Work, row: BuildRow) -> BenchFacts | None:
    """The newest bench check of what the build is made of now."""
    signed = sa.select(CheckRow).where(
        CheckRow.build_id == row.id, CheckRow.kind == CheckKind.BENCH, CheckRow.round == row.round
    )
    check = work.session.scalars(signed.order_by(CheckRow.id.desc()).limit(1)).first()
    if check is None:
        return None
    gauged = work.session.scalar(
        sa.select(FindingRow.result).where(FindingRow.check_id == check.id, FindingRow.item == GAUGED)
    )
    return BenchFacts(
        passed=check.passed,
        by_maker=check.by_account_id is None or check.by_account_id in makers(work, row),
        gauged=gauged is Result.PASS,
        signed_by=check.signed_by,
    )
