"""Files go out here: as they were sent, or made for printing at two scales, after the session has closed.

The routes of programs and of pages answer the same; only what a request shows of who sent it differs.
"""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import Response

from service.access.work import Work
from service.geometry import reading
from service.geometry.answers import Format
from service.kit.errors import Conflict
from service.kit.schema import Id
from service.kit.unfit import Unfit
from service.parts import actions, queries
from service.parts.answers import FileView, GeometryAtScale, VersionView
from service.parts.at_scale import at_scale
from service.parts.schemas import AtScale, ToPrint, WantedFile
from service.parts.upload import stored
from service.web.edge import Frame, frame, reads, writes

router = APIRouter()

MEDIA_TYPES = {Format.STL: "model/stl", Format.THREE_MF: "model/3mf"}
PRINTED: dict[int | str, dict[str, Any]] = {
    200: {"description": "A 3MF in mm.", "content": {"model/3mf": {"schema": {"type": "string", "format": "binary"}}}}
}
AS_SENT: dict[int | str, dict[str, Any]] = {
    200: {
        "description": "The file as it was sent.",
        "content": {media: {"schema": {"type": "string", "format": "binary"}} for media in MEDIA_TYPES.values()},
    }
}


@writes
def to_print(work: Work, version: Id, wanted: Annotated[WantedFile, Query()]) -> ToPrint:
    """What to make; taking it is on record."""
    return actions.take_file(work, version, wanted)


@reads
def seen_version(work: Work, version: Id) -> VersionView:
    """A version the actor may see."""
    return queries.version(work, version)


@reads
def shape_file(work: Work, case_number: str, shape: Id) -> FileView:
    """The file of a shape in a case the actor may see."""
    return queries.shape(work, case_number, shape).file


SeenVersion = Annotated[VersionView, Depends(seen_version)]
Made = Annotated[ToPrint, Depends(to_print)]
OfShape = Annotated[FileView, Depends(shape_file)]


def printed(request: Request, wanted: ToPrint) -> Response:
    """The 3MF at the scales asked for."""
    content = stored(frame(request).files, wanted.sha256)
    try:
        made = reading.scaled(
            content, wanted.format, wanted.unit, wanted.axis, wanted.across, wanted.along, wanted.metadata
        )
    except Unfit as problem:
        raise Conflict(problem.message) from problem
    return _attached(made, Format.THREE_MF, wanted.name)


def as_sent(request: Request, file: FileView, name: str) -> Response:
    """A file as it was sent, under a name of ours: the sender's could hold anything."""
    return _attached(stored(frame(request).files, file.sha256), file.format, f"{name}.{file.format.value}")


def figures(held: Frame, this: VersionView, wanted: AtScale) -> GeometryAtScale:
    """A version in figures at two scales: those on record at its own size, else of the scaled mesh."""
    found, across, along = this.geometry, wanted.scale_across, wanted.scale_along
    if (across, along) != (1, 1):
        content = stored(held.files, this.file.sha256)
        try:
            found = reading.at_scale(
                content, this.file.format, this.file.unit, this.axis, this.inside, across=across, along=along
            )
        except Unfit as problem:
            raise Conflict(problem.message) from problem
    return at_scale(this, found, across, along)


@router.get("/parts/versions/{version}/file")
def file(request: Request, wanted: Made) -> Response:
    """A version's file at two scales."""
    return printed(request, wanted)


@router.get("/parts/versions/{version}/original")
def original(request: Request, this: SeenVersion) -> Response:
    """A version's file as it was sent."""
    return as_sent(request, this.file, f"version-{this.id}")


@router.get("/recipients/{case_number}/shapes/{shape}/file")
def shape_original(request: Request, shape: Id, file: OfShape) -> Response:
    """A shape's file as it was sent."""
    return as_sent(request, file, f"shape-{shape}")


@router.get("/parts/versions/{version}/picture")
def picture(request: Request, this: SeenVersion) -> Response:
    """A version drawn from three sides."""
    return _drawn(request, this.file)


@router.get("/recipients/{case_number}/shapes/{shape}/picture")
def shape_picture(request: Request, file: OfShape) -> Response:
    """A shape drawn from three sides."""
    return _drawn(request, file)


def _drawn(request: Request, file: FileView) -> Response:
    return Response(stored(frame(request).files, file.picture_sha256), media_type="image/svg+xml")


def _attached(content: bytes, kind: Format, name: str) -> Response:
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return Response(content, media_type=MEDIA_TYPES[kind], headers=headers)
