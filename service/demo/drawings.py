"""The files of the demo: drawn by `seed_data/`, read like anybody's, ahead of the moment the story needs them.

Every file is read by a process of its own, so while the story is told here the next ones are read there.
"""

from __future__ import annotations

import json
import logging
import sys
from collections.abc import Iterable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from importlib import import_module
from importlib.util import module_from_spec, spec_from_file_location
from typing import Any

import structlog

from service.geometry.answers import Inside, LengthUnit
from service.kit.files import Files
from service.parts.schemas import ReadFile
from service.parts.upload import read_file
from service.settings import resource

_AT_ONCE = 2


@dataclass(frozen=True)
class Drawings:
    """Files that are being read."""

    _coming: dict[str, Future[ReadFile]]

    def of(self, event: dict[str, Any]) -> ReadFile:
        """The file that an event draws, once it is read."""
        return self._coming[_key(event)].result()


@contextmanager
def drawing(events: Iterable[dict[str, Any]], files: Files) -> Iterator[Drawings]:
    """Have the file of every event that draws one read and kept; those still waiting at the end are not read."""
    pool = ThreadPoolExecutor(_AT_ONCE)
    solids = _solids()
    try:
        with _fewer_words():
            wanted = {_key(event): event for event in events if "drawn" in event}
            yield Drawings({key: pool.submit(_read, solids, event, files) for key, event in wanted.items()})
    finally:
        pool.shutdown(cancel_futures=True)


@contextmanager
def _fewer_words() -> Iterator[None]:
    """Log warnings only: whoever makes a demo need not watch every file being read."""
    usual = structlog.get_config()["wrapper_class"]
    structlog.configure(wrapper_class=structlog.make_filtering_bound_logger(logging.WARNING))
    try:
        yield
    finally:
        structlog.configure(wrapper_class=usual)


def _read(solids: Any, event: dict[str, Any], files: Files) -> ReadFile:
    name, content = solids.drawn(event)
    inside = Inside.model_validate(event["inside"]) if "inside" in event else None
    return read_file(files, name, content, unit=LengthUnit.MILLIMETRE, inside=inside)


def _key(event: dict[str, Any]) -> str:
    return json.dumps([event.get(name) for name in ("drawn", "with", "format", "inside")])


def _solids() -> Any:
    """`seed_data.drawings`, which lies beside the service in a checkout and inside it in a wheel."""
    folder = resource("seed_data")
    if "seed_data" not in sys.modules:
        spec = spec_from_file_location("seed_data", folder / "__init__.py", submodule_search_locations=[str(folder)])
        if spec is None or spec.loader is None:
            raise FileNotFoundError(folder)
        sys.modules["seed_data"] = package = module_from_spec(spec)
        spec.loader.exec_module(package)
    return import_module("seed_data.drawings")
