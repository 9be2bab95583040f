"""What the pages of versions show beside the views themselves."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any

from fastapi import Depends, Request

from service.access.permissions import May
from service.access.work import Work
from service.kit.errors import Invalid
from service.kit.schema import Id
from service.parts import downloads, posted, queries
from service.parts.answers import VersionView
from service.parts.browsing import Filled, FilledChange
from service.parts.rules import PartKind, release_problem
from service.parts.schemas import AtScale
from service.recipients.queries import seen_recipient
from service.web.edge import frame, reads
from service.web.forms import command

NO_SCALES = {"scale_across": "1", "scale_along": "1", "case": ""}


@reads
def seen_page(work: Work, version: Id) -> dict[str, Any]:
    """A version, and whom it is private to."""
    return _of(work, queries.version(work, version))


SeenPage = Annotated[dict[str, Any], Depends(seen_page)]


def figured(request: Request, this: VersionView) -> dict[str, Any]:
    """A version in figures at the scales in the address; at its own size where they cannot be, saying why."""
    asked = {name: request.query_params.get(name) or usual for name, usual in NO_SCALES.items()}
    wanted, problems = AtScale(), {}
    try:
        wanted = command(AtScale, {name: asked[name].replace(",", ".") for name in AtScale.model_fields})
    except Invalid as wrong:
        problems = {each.field: each.message for each in wrong.fields}
    return {"asked": asked, "problems": problems, "figures": downloads.figures(frame(request), this, wanted)}


def new_version(work: Work, design_id: int) -> dict[str, Any]:
    """The form of a design's next version."""
    design = queries.design(work, design_id)
    before = design.newest and queries.version(work, design.newest.id)
    return {"design": design, "shape": None, "person": None, "draft": None, "before": before}


def new_socket(work: Work, case_number: str, shape_id: int) -> dict[str, Any]:
    """The form of the next socket made from a shape."""
    shape = queries.may_add_socket_version(work, case_number, shape_id)
    newest = next(iter(shape.versions), None)
    before = newest and queries.version(work, newest.id)
    person = seen_recipient(work, case_number)
    return {"design": None, "shape": shape, "person": person, "draft": None, "before": before}


def begun(context: dict[str, Any]) -> dict[str, Any]:
    """A form that nobody has typed into: as the version before was, or with what is usual for its kind."""
    design, before = context["design"], context["before"]
    if before is not None:
        typed = posted.carried(before)
    else:
        typed = posted.first(design.kind if design else PartKind.SOCKET, design.interface if design else "")
    return {"typed": typed, **_room(typed), "kept": None}


def as_it_was(sent: Filled[Any]) -> dict[str, Any]:
    """What a form that comes back needs beside what was typed."""
    texts = {name: value for name, value in sent.form.items() if isinstance(value, str)}
    return {**_room(texts), "kept": sent.kept}


def old_version(draft: VersionView, person: Any = None) -> dict[str, Any]:
    """The form of a draft, filled in as it is."""
    typed = posted.typed(draft)
    others = {"design": None, "shape": None, "person": person, "before": None, "kept": None}
    return {**others, "draft": draft, "typed": typed, **_room(typed)}


def as_it_was_changed(work: Work, version_id: int, sent: FilledChange) -> dict[str, Any]:
    """The form of a draft that comes back."""
    seen = _of(work, queries.version(work, version_id))
    return {**old_version(seen["version"], seen["person"]), **as_it_was(sent)}


def deciding(work: Work, version_id: int) -> dict[str, Any]:
    """The forms that release or withdraw a version: what stands in the way, and what could take its place."""
    this = queries.may_release(work, version_id)
    problem = release_problem(this.state, closed=this.geometry.watertight)
    return {**_of(work, this), "not_released": problem, "successors": queries.possible_successors(work, version_id)}


def _room(texts: Mapping[str, str]) -> dict[str, Any]:
    return {"rows": posted.rows_in(texts), "spare": posted.SPARE_ROWS}


def _of(work: Work, this: VersionView) -> dict[str, Any]:
    sees = this.case_number is not None and work.actor.can(May.SEE_CASES)
    return {"version": this, "person": seen_recipient(work, this.case_number or "") if sees else None}
