"""From parts on a limb back to the builds they came from and who signed for them. Part of another act."""

from __future__ import annotations

from collections.abc import Collection

import sqlalchemy as sa

from service.access.work import Work
from service.builds.tables import BuildItemRow, BuildPartRow, BuildRow
from service.gate.checklists import CheckKind
from service.gate.tables import CheckRow
from service.handovers.passport import MadeBy


def origins(work: Work, parts: Collection[int]) -> dict[int, MadeBy]:
    """The build of each part, with the newest bench check that its last round passed; without one, nobody signed."""
    rows = work.session.execute(
        sa.select(BuildPartRow.part_id, BuildRow.id, CheckRow.signed_by, CheckRow.checked_on)
        .join(BuildItemRow, BuildItemRow.id == BuildPartRow.item_id)
        .join(BuildRow, BuildRow.id == BuildItemRow.build_id)
        .outerjoin(
            CheckRow,
            sa.and_(
                CheckRow.build_id == BuildRow.id,
                CheckRow.kind == CheckKind.BENCH,
                CheckRow.round == BuildRow.round,
                CheckRow.passed.is_(True),
            ),
        )
        .where(BuildPartRow.part_id.in_(parts))
        .order_by(CheckRow.id)
    ).all()
    return {part: MadeBy(build=build, signed_by=by, signed_on=on) for part, build, by, on in rows}
