"""REST face of designs, versions and shapes."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import Response

from service.access.work import Work
from service.kit.paging import Listing, Page
from service.kit.schema import Id
from service.parts import actions, downloads, queries
from service.parts.answers import DesignLine, DesignView, GeometryAtScale, ShapeView, VersionLine, VersionView
from service.parts.described import FILE_RESPONSES, body_of
from service.parts.downloads import AS_SENT, PRINTED, Made, OfShape, SeenVersion
from service.parts.schemas import (
    AddDesign,
    AddShape,
    AddVersion,
    AtScale,
    DesignFilter,
    NameSuccessor,
    Release,
    StrikeShape,
    Withdraw,
)
from service.parts.upload import (
    SentChange,
    SentShape,
    SentVersion,
    change_by_program,
    shape_by_program,
    socket_change_by_program,
    socket_version_by_program,
    version_by_program,
)
from service.web.edge import frame, reads, writes

router = APIRouter(tags=["parts"])


@router.post("/part-designs", status_code=201)
@writes
def add_design(work: Work, command: AddDesign) -> DesignView:
    """Record a design."""
    return actions.add_design(work, command)


@router.get("/part-designs")
@reads
def designs(work: Work, wanted: Annotated[DesignFilter, Query()]) -> Page[DesignLine]:
    """List designs by kind and name."""
    return queries.designs(work, wanted)


@router.get("/part-designs/{design}")
@reads
def design(work: Work, design: Id) -> DesignView:
    """One design."""
    return queries.design(work, design)


@router.post(
    "/part-designs/{design}/versions",
    status_code=201,
    responses=FILE_RESPONSES,
    openapi_extra=body_of(AddVersion),
)
@writes
def add_version(work: Work, design: Id, sent: Annotated[SentVersion, Depends(version_by_program)]) -> VersionView:
    """Add a version, as a draft, with its file."""
    return actions.add_version(work, design, *sent.taken())


@router.get("/part-designs/{design}/versions")
@reads
def versions(work: Work, design: Id, wanted: Annotated[Listing, Query()]) -> Page[VersionLine]:
    """The versions of a design, newest first."""
    return queries.versions(work, design, wanted)


@router.get("/part-versions/{version}")
@reads
def version(work: Work, version: Id) -> VersionView:
    """One version; a private one only with its case."""
    return queries.version(work, version)


@router.patch("/part-versions/{version}", responses=FILE_RESPONSES)
@writes
def change_version(work: Work, version: Id, sent: Annotated[SentChange, Depends(change_by_program)]) -> VersionView:
    """Change a draft; what is left out stays."""
    return actions.change_version(work, version, *sent)


@router.post("/part-versions/{version}/release")
@writes
def release(work: Work, version: Id, command: Release) -> VersionView:
    """Release a draft for printing: from now on it never changes."""
    return actions.release(work, version, command)


@router.post("/part-versions/{version}/withdraw")
@writes
def withdraw(work: Work, version: Id, command: Withdraw) -> VersionView:
    """Withdraw a version for good."""
    return actions.withdraw(work, version, command)


@router.post("/part-versions/{version}/successor")
@writes
def name_successor(work: Work, version: Id, command: NameSuccessor) -> VersionView:
    """Say what is printed instead of a withdrawn version."""
    return actions.name_successor(work, version, command)


@router.get("/part-versions/{version}/geometry", responses=FILE_RESPONSES)
def geometry(request: Request, this: SeenVersion, wanted: Annotated[AtScale, Query()]) -> GeometryAtScale:
    """A version in figures, also at other scales: then of the mesh as scaled."""
    return downloads.figures(frame(request), this, wanted)


@router.get("/part-versions/{version}/file", responses={**FILE_RESPONSES, **PRINTED}, response_class=Response)
def file(request: Request, wanted: Made) -> Response:
    """A version's file at two scales, to print."""
    return downloads.printed(request, wanted)


@router.get("/part-versions/{version}/original", responses=AS_SENT, response_class=Response)
def original(request: Request, this: SeenVersion) -> Response:
    """A version's file as it was sent."""
    return downloads.as_sent(request, this.file, f"version-{this.id}")


@router.post(
    "/recipients/{case_number}/shapes",
    status_code=201,
    responses=FILE_RESPONSES,
    openapi_extra=body_of(AddShape),
)
@writes
def add_shape(work: Work, case_number: str, sent: Annotated[SentShape, Depends(shape_by_program)]) -> ShapeView:
    """Record a cast or a scan of a limb, with its file."""
    return actions.add_shape(work, case_number, *sent.taken())


@router.get("/recipients/{case_number}/shapes")
@reads
def shapes(work: Work, case_number: str) -> Page[ShapeView]:
    """The shapes of a recipient's limbs, the newest first."""
    return Page(items=queries.shapes(work, case_number))


@router.get("/recipients/{case_number}/shapes/{shape}")
@reads
def shape(work: Work, case_number: str, shape: Id) -> ShapeView:
    """One shape, with the socket versions made from it."""
    return queries.shape(work, case_number, shape)


@router.get("/recipients/{case_number}/shapes/{shape}/file", responses=AS_SENT, response_class=Response)
def shape_file(request: Request, shape: Id, file: OfShape) -> Response:
    """A shape's file as it was sent."""
    return downloads.as_sent(request, file, f"shape-{shape}")


@router.post("/recipients/{case_number}/shapes/{shape}/strike")
@writes
def strike_shape(work: Work, case_number: str, shape: Id, command: StrikeShape) -> ShapeView:
    """Strike a shape through that was recorded by mistake."""
    return actions.strike_shape(work, case_number, shape, command)


@router.post(
    "/recipients/{case_number}/shapes/{shape}/versions",
    status_code=201,
    responses=FILE_RESPONSES,
    openapi_extra=body_of(AddVersion),
)
@writes
def add_socket_version(
    work: Work, case_number: str, shape: Id, sent: Annotated[SentVersion, Depends(socket_version_by_program)]
) -> VersionView:
    """Add a socket made from a shape, as a draft, with its file; it is private to the case."""
    return actions.add_socket_version(work, case_number, shape, *sent.taken())


@router.get("/recipients/{case_number}/shapes/{shape}/versions")
@reads
def socket_versions(work: Work, case_number: str, shape: Id) -> Page[VersionLine]:
    """The socket versions made from a shape, newest first."""
    return Page(items=queries.shape(work, case_number, shape).versions)


@router.patch("/recipients/{case_number}/shapes/{shape}/versions/{version}", responses=FILE_RESPONSES)
@writes
def change_socket_version(
    work: Work,
    case_number: str,
    shape: Id,
    version: Id,
    sent: Annotated[SentChange, Depends(socket_change_by_program)],
) -> VersionView:
    """Change the draft of a socket; what is left out stays."""
    command, file = sent
    return actions.change_socket_version(work, case_number, shape, version, command, file=file)
