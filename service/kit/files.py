"""Files kept once each, under the hash of their content: in a folder, or in any store fsspec knows, such as S3.

A file is written before the row that names it, so no row ever lacks its file. What a refused act leaves behind is the
same content under the same name: harmless, and found again when it is sent again.
"""

from __future__ import annotations

import uuid
from hashlib import sha256

import fsspec


class Files:
    """A store of files; `url` is a folder, or an address fsspec can open, such as `s3://bucket/folder`."""

    def __init__(self, url: str) -> None:
        self._system, self._root = fsspec.core.url_to_fs(url)

    def put(self, content: bytes) -> str:
        """Keep the content unless it is there already; returns its SHA-256 in hex."""
        name = sha256(content).hexdigest()
        path = self._path(name)
        if not self._system.exists(path):
            self._system.makedirs(self._system._parent(path), exist_ok=True)  # noqa: SLF001 fsspec's only word for it
            # Written aside and moved: nobody ever reads half a file.
            aside = f"{path}.{uuid.uuid4().hex}"
            self._system.pipe_file(aside, content)
            self._system.mv(aside, path)
        return name

    def get(self, name: str) -> bytes:
        """The content under a hash; raises FileNotFoundError when it is gone."""
        found: bytes = self._system.cat_file(self._path(name))
        return found

    def remove(self, name: str) -> None:
        """Remove the content under a hash, if it is there."""
        if self._system.exists(self._path(name)):
            self._system.rm_file(self._path(name))

    def _path(self, name: str) -> str:
        return f"{self._root}/{name[:2]}/{name}"
