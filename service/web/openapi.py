"""The description of the API: bearer tokens, and every problem in the one shape it really has."""

from __future__ import annotations

from typing import Any

from fastapi import FastAPI
from fastapi.openapi.utils import get_openapi

from service.web.problems import BAR_SCHEMA, FIELD_PROBLEM_SCHEMA, PROBLEM_SCHEMA

INTRODUCTION = """The register's REST face.

Send `Authorization: Bearer <token>` (`handspan token EMAIL` prints one). Sizes are in mm, weight in kg, dates ISO 8601.
Lists answer `{"items": [...], "next": cursor or null}`. What is refused is answered as problem details (RFC 9457) that
say what to do. Send an `Idempotency-Key` with a POST or PATCH and it is done once, however often it arrives
within 30 days."""


def install(app: FastAPI) -> None:
    """Make the application describe itself so; made once, on first request."""

    def described() -> dict[str, Any]:
        if app.openapi_schema is None:
            app.openapi_schema = _description(app)
        return app.openapi_schema

    app.openapi = described  # type: ignore[method-assign]


def _description(app: FastAPI) -> dict[str, Any]:
    made = get_openapi(title=app.title, version=app.version, description=INTRODUCTION, routes=app.routes)
    parts = made.setdefault("components", {})
    schemas = parts.setdefault("schemas", {})
    for fastapis_own in ("HTTPValidationError", "ValidationError"):
        schemas.pop(fastapis_own, None)
    schemas |= {"Problem": PROBLEM_SCHEMA, "FieldProblem": FIELD_PROBLEM_SCHEMA, "Bar": BAR_SCHEMA}
    parts["securitySchemes"] = {"token": {"type": "http", "scheme": "bearer"}}
    made["security"] = [{"token": []}]
    for operations in made["paths"].values():
        for operation in operations.values():
            # FastAPI adds its own 422 media type beside ours; ours is the one that is sent.
            operation["responses"].get("422", {}).get("content", {}).pop("application/json", None)
    return made
