"""How requests that carry a file are described to programs: their bodies are read by hand, in `upload.py`."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel

from service.web.sent import written_out

PROBLEM = {"application/problem+json": {"schema": {"$ref": "#/components/schemas/Problem"}}}

FILE_RESPONSES: dict[int | str, dict[str, Any]] = {
    429: {
        "description": "Too many files are being read just now; Retry-After says when to try again.",
        "content": PROBLEM,
    }
}


def body_of(kind: type[BaseModel]) -> dict[str, Any]:
    """The body of a request: a file, and beside it a command as JSON."""
    said = {"type": "object", "required": ["file", "data"], "additionalProperties": False}
    said["properties"] = {
        "file": {"type": "string", "format": "binary", "description": "An STL or a 3MF."},
        "data": written_out(kind.model_json_schema()),
    }
    as_json = {"schema": said, "encoding": {"data": {"contentType": "application/json"}}}
    return {"requestBody": {"required": True, "content": {"multipart/form-data": as_json}}}
