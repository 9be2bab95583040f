"""Files that are broken, lie, or mean harm, made by code: under the name each is sent by, the maker of its content.

`BAD` says beside each what its sender must be told, as a regular expression; `HOSTILE` is what others need of it.
"""

from __future__ import annotations

from collections.abc import Callable

from tests.geometry.hostile_models import BAD_MODELS
from tests.geometry.hostile_stl import BAD_STL
from tests.geometry.hostile_zips import BAD_ZIPS

BAD: dict[str, tuple[Callable[[], bytes], str]] = {**BAD_STL, **BAD_ZIPS, **BAD_MODELS}

HOSTILE: dict[str, Callable[[], bytes]] = {name: maker for name, (maker, _) in BAD.items()}
