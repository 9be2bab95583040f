"""A body that is read once it is known whether the act may be done: a refusal outranks what is wrong with it."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any, TypeVar

from fastapi import Depends, Request
from pydantic import BaseModel

from service.kit.errors import Invalid
from service.web.forms import command

C = TypeVar("C", bound=BaseModel)


@dataclass(frozen=True)
class SentBody:
    """What was sent, unread."""

    content: bytes

    def loosely(self) -> Mapping[str, Any]:
        """The object that was sent, or an empty one where it cannot be read."""
        try:
            read = json.loads(self.content or b"{}")
        except (ValueError, RecursionError):
            return {}
        return read if isinstance(read, dict) else {}

    def read(self, kind: type[C]) -> C:
        """What was sent as a command; raises Invalid for what cannot be read, or holds what cannot be."""
        try:
            values = json.loads(self.content or b"{}")
        except (ValueError, RecursionError):
            raise Invalid.at("body", "This is not valid JSON. Nothing was stored; send it again.") from None
        if not isinstance(values, dict):
            raise Invalid.at("body", "Send a JSON object, with the header Content-Type: application/json")
        return command(kind, values)


async def _sent(request: Request) -> SentBody:
    return SentBody(await request.body())


Sent = Annotated[SentBody, Depends(_sent)]
"""The body of a request, unread."""


def body_of(kind: type[BaseModel]) -> dict[str, Any]:
    """How such a body is described to programs."""
    schema = written_out(kind.model_json_schema())
    return {"requestBody": {"required": True, "content": {"application/json": {"schema": schema}}}}


def written_out(schema: dict[str, Any]) -> dict[str, Any]:
    """A schema with what it refers to put in place: nothing outside the body is to be looked up."""
    named = schema.pop("$defs", {})

    def whole(part: Any) -> Any:
        if isinstance(part, list):
            return [whole(each) for each in part]
        if not isinstance(part, dict):
            return part
        if "$ref" in part:
            beside = {name: each for name, each in part.items() if name != "$ref"}
            return {**whole(named[part["$ref"].rpartition("/")[2]]), **beside}
        return {name: whole(each) for name, each in part.items()}

    return whole(schema)  # type: ignore[no-any-return]
