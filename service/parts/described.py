"""How requests that carry a file are described to programs: their bodies are read by hand, in `upload.py`."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel

PROBLEM = {"application/problem+json": {"schema": {"$ref": "#/components/schemas/Problem"}}}

FILE_RESPONSES: dict[int | str, dict[str, Any]] = {
    429: {
        "description": "Too many files are being read just now; Retry-After says when to try again.",
        "content": PROBLEM,
    }
}


def body_of(kind: type[BaseModel]) -> dict[str, Any]:
    """The body of a request: a file, and beside it a command as JSON."""
    schema = kind.model_json_schema()
    data = _written_out(schema, schema.pop("$defs", {}))
    said = {"type": "object", "required": ["file", "data"], "additionalProperties": False}
    said["properties"] = {
        "file": {"type": "string", "format": "binary", "description": "An STL or a 3MF."},
        "data": data,
    }
    as_json = {"schema": said, "encoding": {"data": {"contentType": "application/json"}}}
    return {"requestBody": {"required": True, "content": {"multipart/form-data": as_json}}}


def _written_out(schema: Any, named: dict[str, Any]) -> Any:
    """A schema with what it refers to put in place: nothing outside the body is to be looked up."""
    if isinstance(schema, list):
        return [_written_out(each, named) for each in schema]
    if not isinstance(schema, dict):
        return schema
    if "$ref" in schema:
        beside = {name: each for name, each in schema.items() if name != "$ref"}
        return {**_written_out(named[schema["$ref"].rpartition("/")[2]], named), **beside}
    return {name: _written_out(each, named) for name, each in schema.items()}
