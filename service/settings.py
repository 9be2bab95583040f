"""Typed settings, read from the environment (prefix `HANDSPAN_`) once and passed in from then on."""

from __future__ import annotations

import secrets
from pathlib import Path
from typing import Self
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from pydantic import Field, SecretStr, model_validator
from pydantic_settings import BaseSettings, SettingsConfigDict

from service.kit.errors import Misconfigured

SHORTEST_SECRET = 32
"""Characters; a signing key shorter than this can be guessed."""


class Settings(BaseSettings):
    """What an operator may set.

    `DATA` is a folder; database and files lie in it unless `DATABASE_URL` and `FILES_URL` say otherwise.

    `SKIN_…` are the limits of what is said about the skin: redness that goes within `FADES_MINUTES` is as it should be,
    after `LONG_MINUTES` the device stays off, and what need not be seen the same day is seen within so many working
    days. Source: common practice, after leaflets of upper-limb clinics and hospitals for children; not from a study or
    a standard. Their bounds are judgement. A clinician's plan for a person goes before them.

    Of what trustees are told, counts under `DISCLOSURE_THRESHOLD` are hidden and others rounded to the nearest
    `DISCLOSURE_BASE`; both can be made coarser, never finer. `COMPARISON_COST` is what a device costs elsewhere, shown
    beside the charity's own with `COMPARISON_SOURCE`, which says where that figure is from.
    """

    model_config = SettingsConfigDict(env_prefix="HANDSPAN_", frozen=True)

    data: Path = Path("var")
    database_url: str | None = None
    secret_key: SecretStr | None = None
    base_url: str = "http://127.0.0.1:8000"
    threads: int = Field(default=8, ge=1, le=64)
    embedded_worker: bool = True
    time_zone: str = "UTC"
    session_days: int = Field(default=7, ge=1, le=90)
    largest_body_bytes: int = Field(default=2_000_000, ge=10_000)
    files_url: str | None = None
    charity_name: str = "the charity"
    charity_phone: str = ""
    smtp_url: str | None = None
    mail_from: str = "register@localhost"
    mail_folder: Path | None = None
    largest_file_bytes: int = Field(default=60_000_000, ge=100_000)
    skin_fades_minutes: int = Field(default=20, ge=15, le=30)
    skin_long_minutes: int = Field(default=30, ge=20, le=60)
    skin_review_days: int = Field(default=2, ge=1, le=5)
    disclosure_threshold: int = Field(default=8, ge=8, le=50)
    disclosure_base: int = Field(default=5, ge=5, le=25)
    comparison_cost: float | None = Field(default=None, gt=0)
    comparison_source: str = ""

    @model_validator(mode="after")
    def _redness_is_long_after_it_should_fade(self) -> Self:
        if self.skin_long_minutes <= self.skin_fades_minutes:
            raise ValueError("HANDSPAN_SKIN_LONG_MINUTES must be more than HANDSPAN_SKIN_FADES_MINUTES.")
        return self

    @model_validator(mode="after")
    def _a_cost_to_compare_with_has_a_source(self) -> Self:
        if self.comparison_cost is not None and not self.comparison_source.strip():
            raise ValueError("HANDSPAN_COMPARISON_SOURCE must say where HANDSPAN_COMPARISON_COST is from.")
        return self

    @property
    def database(self) -> str:
        """The SQLAlchemy URL in use, always naming the driver we test with."""
        if self.database_url is None:
            return f"sqlite:///{(self.data / 'register.sqlite3').resolve()}"
        for bare in ("postgresql://", "postgres://"):
            if self.database_url.startswith(bare):
                return "postgresql+psycopg://" + self.database_url.removeprefix(bare)
        if not self.database_url.startswith(("sqlite:", "postgresql+psycopg:")):
            raise Misconfigured("HANDSPAN_DATABASE_URL must begin with postgresql:// or sqlite:///.")
        return self.database_url

    @property
    def files(self) -> str:
        """Where files are kept: a folder, or an address such as `s3://bucket/folder`."""
        return self.files_url or str((self.data / "files").resolve())

    @property
    def zone(self) -> ZoneInfo:
        """Where the register's day begins and ends; raises Misconfigured for a zone nobody knows."""
        try:
            return ZoneInfo(self.time_zone)
        except (ZoneInfoNotFoundError, ValueError) as error:
            raise Misconfigured("HANDSPAN_TIME_ZONE must name a time zone such as Europe/Dublin.") from error

    @property
    def secure_cookies(self) -> bool:
        """Cookies are marked Secure as soon as people reach the register over https."""
        return self.base_url.startswith("https://")

    def secret(self) -> bytes:
        """The signing key: from the environment, else from the data folder; there is no default.

        Raises Misconfigured when neither has one, or when it is too short to be safe.
        """
        if self.secret_key is not None:
            value = self.secret_key.get_secret_value()
        elif self._secret_file.exists():
            value = self._secret_file.read_text().strip()
        else:
            raise Misconfigured(
                "There is no signing secret. Set HANDSPAN_SECRET_KEY to a long random text "
                f'(python -c "import secrets; print(secrets.token_urlsafe(48))"), or put one in {self._secret_file}.'
            )
        if len(value) < SHORTEST_SECRET:
            raise Misconfigured(f"The signing secret is too short: it needs {SHORTEST_SECRET} characters or more.")
        return value.encode()

    def keep_generated_secret(self) -> None:
        """Write a fresh secret into the data folder unless one is set already; only `handspan demo` does this."""
        if self.secret_key is None and not self._secret_file.exists():
            self.data.mkdir(parents=True, exist_ok=True)
            self._secret_file.touch(mode=0o600)
            self._secret_file.write_text(secrets.token_urlsafe(48))

    @property
    def _secret_file(self) -> Path:
        return self.data / "secret"


def resource(name: str) -> Path:
    """The folder `templates`, `migrations` or `seed_data`: beside the package in a checkout, inside it in a wheel."""
    package = Path(__file__).resolve().parent
    beside = package.parent / name
    return beside if (package.parent / "pyproject.toml").exists() else package / "_bundled" / name
