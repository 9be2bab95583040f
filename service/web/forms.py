"""Forms: what a browser posted becomes a command, and a refused form comes back with everything that was typed."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from typing import Annotated, Any, TypeVar

from fastapi import Depends, Request
from pydantic import BaseModel, ValidationError
from starlette.datastructures import FormData

from service.kit.errors import Conflict, Doubted, Invalid
from service.web.form_token import check_form_token
from service.web.validation import as_invalid

C = TypeVar("C", bound=BaseModel)


UNTOUCHED: dict[str, Any] = {"typed": {}, "problems": {}, "problem": None, "doubts": ()}
"""What a form's template needs beside its own context when nobody has typed anything yet."""


class FormAgain(Exception):
    """A form that was refused: raised, not returned, so that the transaction rolls back; then shown again."""

    def __init__(self, template: str, context: dict[str, Any]) -> None:
        super().__init__(template)
        self.template = template
        self.context = context


async def _posted(request: Request) -> FormData:
    form = await request.form(max_fields=500)
    check_form_token(request, form)
    return form


Posted = Annotated[FormData, Depends(_posted)]
"""The fields of a posted form, its token checked."""


def filled(form: FormData) -> dict[str, str]:
    """The text fields that hold something, lines ended plainly; an empty field is one that was not given."""
    return {
        name: value.strip().replace("\r\n", "\n")
        for name, value in form.items()
        if isinstance(value, str) and value.strip() and name != "form_token"
    }


def command(kind: type[C], values: Mapping[str, Any]) -> C:
    """Read values into a command; raises Invalid naming every wrong field."""
    try:
        return kind.model_validate(values)
    except ValidationError as error:
        raise as_invalid(error) from error


@contextmanager
def shown_again(template: str, form: FormData, context: Callable[[], dict[str, Any]]) -> Iterator[None]:
    """Inside this block a refusal brings the form back, filled in as it was, with what to do beside each field.

    The template gets `typed` (field → text), `problems` (field → sentence), `problem` (a sentence for the whole
    form, or None) and `doubts` (sentences to confirm).
    """
    try:
        yield
    except (Invalid, Conflict) as refusal:
        doubts = refusal.doubts if isinstance(refusal, Doubted) else ()
        typed = {name: value for name, value in form.multi_items() if isinstance(value, str)}
        again = {
            "typed": typed,
            "problems": {each.field: each.message for each in refusal.fields},
            "problem": None if refusal.fields or doubts else refusal.detail,
            "doubts": doubts,
        }
        raise FormAgain(template, {**context(), **again}) from refusal
