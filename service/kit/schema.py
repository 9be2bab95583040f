"""What every command and every view has in common."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict


class Command(BaseModel):
    """Something somebody asks for. Unknown names are refused: a misspelt field must not be lost in silence."""

    model_config = ConfigDict(
        extra="forbid", frozen=True, str_strip_whitespace=True, allow_inf_nan=False, str_max_length=4000
    )


class View(BaseModel):
    """Something the register answers."""

    model_config = ConfigDict(frozen=True)
