"""Files come in here. Each is read in a process of its own before the transaction of its act opens, never inside it.

Who sends it is asked first, as the use case would, so that nobody has a file read whom it would refuse. What is wrong
with a file is raised when the route asks for it: so a page can bring its form back, and a repeated request is answered
as before.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, Any, Generic, TypeVar

from fastapi import Depends, Request
from pydantic import BaseModel
from pydantic_core import from_json
from starlette.datastructures import FormData, UploadFile

from service.access.work import Work
from service.geometry import reading
from service.geometry.answers import Axis, Format, Inside, LengthUnit
from service.kit.errors import FieldError, Invalid, NotFound, Refusal
from service.kit.files import Files
from service.kit.schema import Id
from service.kit.unfit import Unfit
from service.parts import queries
from service.parts.answers import VersionView
from service.parts.keeping import READ_WITH, plain
from service.parts.schemas import AddShape, AddVersion, ChangeVersion, ReadFile
from service.web.edge import frame, reads
from service.web.forms import command

C = TypeVar("C", bound=BaseModel)
T = TypeVar("T")

FILE, DATA = "file", "data"
MOST_PARTS = 10  # of a request; more than two are refused in words, more than this unread
LONGEST_NAME = 120

SEND = 'Send multipart/form-data with two parts: "file", the STL or 3MF file, and "data", a JSON object.'
NO_FILE = "Send the file: an STL or a 3MF."
NO_UNIT = "An STL does not say what one unit of length in it is. Say so: mm, cm, m or in."
GONE = "This file is missing from the register's store, so nothing was done. Tell whoever looks after the register."


@dataclass(frozen=True, slots=True)
class Arrived:
    """A file that was sent, and what was said of it."""

    name: str
    content: bytes
    said: dict[str, Any]


class Sent(Generic[T]):
    """A command and its file, or what was wrong with them."""

    def __init__(self, both: T | Refusal) -> None:
        self._both = both

    def taken(self) -> T:
        """The command and its file; raises what was wrong with them."""
        if isinstance(self._both, Refusal):
            raise self._both
        return self._both


SentVersion = Sent[tuple[AddVersion, ReadFile]]
SentShape = Sent[tuple[AddShape, ReadFile]]
SentChange = tuple[ChangeVersion, ReadFile | None]


def take_in(files: Files, kind: type[C], arrived: Arrived | Refusal) -> Sent[tuple[C, ReadFile]]:
    """Read what was said into a command and the file as it asks; keep the file and its picture."""
    if isinstance(arrived, Refusal):
        return Sent(arrived)
    try:
        asked = command(kind, arrived.said)
        read_with = {name: getattr(asked, name) for name in READ_WITH if name in kind.model_fields}
        return Sent((asked, read_file(files, arrived.name, arrived.content, **read_with)))
    except Refusal as refusal:
        return Sent(refusal)


def read_file(
    files: Files,
    name: str,
    content: bytes,
    *,
    unit: LengthUnit | None,
    axis: Axis | None = None,
    inside: Inside | None = None,
) -> ReadFile:
    """Read a file in a process of its own, and keep it; raises Invalid for one that cannot be taken."""
    axis = axis or Axis()
    try:
        kind = reading.format_of(name, content)
        if kind is Format.STL and unit is None:
            raise Invalid.at("unit", NO_UNIT)
        found = reading.read(content, kind, unit, axis, inside)
    except Unfit as problem:
        raise Invalid.at(FILE, problem.message) from problem
    return ReadFile(
        name=name,
        sha256=files.put(content),
        size=len(content),
        format=kind,
        unit=found.unit,
        axis=axis,
        inside=inside,
        picture_sha256=files.put(found.picture_svg),
        geometry=found.geometry,
    )


def stored(files: Files, sha256: str) -> bytes:
    """A file that a row names; raises NotFound, with whom to tell, when the store has lost it."""
    try:
        return files.get(sha256)
    except FileNotFoundError as lost:
        raise NotFound(GONE) from lost


def plain_name(sent: str | None) -> str:
    """The name a file was sent under, without folders and marks that cannot be seen."""
    last = re.split(r"[\\/]", sent or "")[-1]
    return "".join(each for each in last if each.isprintable()).strip()[-LONGEST_NAME:] or "unnamed"


async def by_program(request: Request) -> Arrived | Refusal:
    """The two parts that a program sends, read off the request, or what is wrong with them."""
    if not request.headers.get("Content-Type", "").startswith("multipart/form-data"):
        return Invalid.at(FILE, SEND)
    async with request.form(max_files=MOST_PARTS, max_fields=MOST_PARTS) as form:
        files, data = form.getlist(FILE), form.getlist(DATA)
        wrong = [*_wrong_with_file(files), *_wrong_with_data(data), *_strangers(form)]
        if wrong:
            return Invalid(SEND, fields=tuple(wrong))
        (sent,) = files
        if not isinstance(sent, UploadFile):  # for the type's sake: it was looked at above
            return Invalid.at(FILE, NO_FILE)
        said = await data[0].read() if isinstance(data[0], UploadFile) else data[0]
        name, content = plain_name(sent.filename), await sent.read()
    try:
        values = from_json(said)
    except ValueError as problem:
        return Invalid.at(DATA, f"This is not valid JSON: {problem}")
    if not isinstance(values, dict):
        return Invalid.at(DATA, 'Send a JSON object, such as {"unit": "mm"}.')
    return Arrived(name, content, values)


def _wrong_with_file(files: Sequence[Any]) -> list[FieldError]:
    if len(files) > 1:
        return [FieldError(FILE, "Send one file at a time; none of these was taken.")]
    return [] if files and isinstance(files[0], UploadFile) else [FieldError(FILE, NO_FILE)]


def _wrong_with_data(data: Sequence[Any]) -> list[FieldError]:
    return (
        [] if len(data) == 1 else [FieldError(DATA, 'Send one part called "data" that says what the file is, as JSON.')]
    )


def _strangers(form: FormData) -> list[FieldError]:
    known = f'This name is not known here: the parts are called "{FILE}" and "{DATA}".'
    return [FieldError(name[:LONGEST_NAME], known) for name in form if name not in {FILE, DATA}]


ByProgram = Annotated[Arrived | Refusal, Depends(by_program)]


@reads
def may_add_version(work: Work, design: Id) -> None:
    """Refuse before a file is looked at."""
    queries.may_add_version(work, design)


@reads
def may_add_shape(work: Work, case_number: str) -> None:
    """Refuse before a file is looked at."""
    queries.may_add_shape(work, case_number)


@reads
def may_add_socket_version(work: Work, case_number: str, shape: Id) -> None:
    """Refuse before a file is looked at."""
    queries.may_add_socket_version(work, case_number, shape)


@reads
def draft(work: Work, version: Id) -> VersionView:
    """The draft that is to be changed."""
    return queries.may_change_version(work, version)


@reads
def socket_draft(work: Work, case_number: str, shape: Id, version: Id) -> VersionView:
    """The draft of a socket that is to be changed."""
    return queries.may_change_socket_version(work, case_number, shape, version)


def version_by_program(
    request: Request, _may: Annotated[None, Depends(may_add_version)], arrived: ByProgram
) -> SentVersion:
    """A version that a program sends."""
    return take_in(frame(request).files, AddVersion, arrived)


def shape_by_program(request: Request, _may: Annotated[None, Depends(may_add_shape)], arrived: ByProgram) -> SentShape:
    """A shape that a program sends."""
    return take_in(frame(request).files, AddShape, arrived)


def socket_version_by_program(
    request: Request, _may: Annotated[None, Depends(may_add_socket_version)], arrived: ByProgram
) -> SentVersion:
    """A socket version that a program sends."""
    return take_in(frame(request).files, AddVersion, arrived)


def read_again(files: Files, before: VersionView, asked: ChangeVersion) -> ReadFile | None:
    """The file of a draft, read as it is to be from now on; None when nothing of that changes."""
    stands = {name: getattr(before.file if name == "unit" else before, name) for name in READ_WITH}
    wanted = {**stands, **{name: value for name, value in asked.given.items() if name in READ_WITH}}
    if plain(list(wanted.values())) == plain(list(stands.values())):
        return None
    return read_file(files, before.file.name, stored(files, before.file.sha256), **wanted)


def change_by_program(
    request: Request, before: Annotated[VersionView, Depends(draft)], asked: ChangeVersion
) -> SentChange:
    """What a program changes of a draft, and its file where that had to be read again."""
    return asked, read_again(frame(request).files, before, asked)


def socket_change_by_program(
    request: Request, before: Annotated[VersionView, Depends(socket_draft)], asked: ChangeVersion
) -> SentChange:
    """What a program changes of a socket's draft, and its file where that had to be read again."""
    return asked, read_again(frame(request).files, before, asked)
