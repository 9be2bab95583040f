"""The zip a 3MF travels in: opened only after it was looked over from outside, and read with bounds.

Nothing is ever unpacked to a disk. What an entry says of its size is no more than a promise: reading stops there, and
the checksum finds out who lied.
"""

from __future__ import annotations

import io
import re
import stat
import zipfile
import zlib
from collections.abc import Iterator

from service.geometry import limits
from service.kit.unfit import Unfit

CHUNK = 256 * 1024
_ENTRY = b"PK\x01\x02"  # how each line of a zip's table of contents begins
_DAMAGED = "This 3MF is damaged: the zip it is packed in cannot be read to its end. Save it again, and send all of it."
_READABLE = {zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED}
_BAD_NAME = re.compile(r'(^|/)\.\.?(/|$)|^[/\\]|[\\:*?"<>|]|[\x00-\x1f\x7f]|//')


class Package:
    """A 3MF's entries by name; names are one whether written large or small, as in the packaging standard."""

    def __init__(self, content: bytes) -> None:
        # Counted before the table of contents is read: each entry in it would cost ten times its own size.
        if content.count(_ENTRY) > limits.MOST_ENTRIES:
            raise Unfit(
                f"There are more than {limits.MOST_ENTRIES:,} entries in this 3MF; a part needs a handful. Export the "
                "part alone, without the rest of the project."
            )
        try:
            self._zip = zipfile.ZipFile(io.BytesIO(content))
            entries = self._zip.infolist()
        except (zipfile.BadZipFile, ValueError, NotImplementedError, OverflowError, EOFError, OSError) as error:
            raise Unfit(_DAMAGED) from error
        self._entries: dict[str, zipfile.ZipInfo] = {}
        for entry in entries:
            _look_at(entry)
            name = entry.filename.lower()
            if name in self._entries:
                raise Unfit(
                    "Two entries of this 3MF have the same name, so programs would not agree which one to print. "
                    "Save it again from the program it was drawn in."
                )
            self._entries[name] = entry
        if sum(entry.file_size for entry in entries) > limits.MOST_UNPACKED:
            raise Unfit(
                f"Unpacked, this 3MF would be more than {limits.MOST_UNPACKED // 2**20} MB. Export the part alone, "
                "with a coarser mesh and without pictures."
            )

    def __contains__(self, name: str) -> bool:
        return name.lower() in self._entries

    def names(self) -> Iterator[str]:
        """The names of all entries, as they are written."""
        return (entry.filename for entry in self._entries.values())

    def chunks(self, name: str, most: int) -> Iterator[bytes]:
        """An entry's content, a piece at a time, `most` bytes of it at most; raises Unfit when there is more."""
        entry = self._entries[name.lower()]
        if entry.file_size > most:
            raise Unfit(
                f"An entry of this 3MF would be {entry.file_size / 2**20:,.0f} MB when unpacked, which is more than is "
                f"read ({most // 2**20} MB). Export the part alone, with a coarser mesh."
            )
        left = entry.file_size
        try:
            with self._zip.open(entry) as unpacked:
                while chunk := unpacked.read(CHUNK):
                    left -= len(chunk)
                    yield chunk
        except (
            zipfile.BadZipFile,
            zlib.error,
            NotImplementedError,
            RuntimeError,
            EOFError,
            ValueError,
            OSError,
        ) as error:
            raise Unfit(_DAMAGED) from error
        if left:
            raise Unfit(_DAMAGED)


def _look_at(entry: zipfile.ZipInfo) -> None:
    """What is wrong with an entry before any of it is unpacked."""
    if entry.flag_bits & 0x41:
        raise Unfit("This 3MF is locked with a password. Save it without one; it is kept where only staff can see it.")
    if _BAD_NAME.search(entry.orig_filename):
        raise Unfit(
            "An entry of this 3MF has a name that would lead out of its own folder, or that no 3MF may have. No "
            "program for drawing parts writes that: do not open the file, and ask whoever sent it where it is from."
        )
    if stat.S_ISLNK(entry.external_attr >> 16):
        raise Unfit("An entry of this 3MF is a link to another file. Save the part again from where it was drawn.")
    if entry.compress_type not in _READABLE:
        raise Unfit("This 3MF is packed in a way that a 3MF must not be. Save it again from where it was drawn.")
    packed = max(entry.compress_size, 1)
    if entry.file_size > limits.PACKED_ANYHOW and entry.file_size > limits.MOST_TIMES_SMALLER * packed:
        raise Unfit(
            f"An entry of this 3MF says that it unpacks to {entry.file_size / packed:,.0f} times its size, which no "
            "drawing does. It is damaged or meant to do damage, and was not opened."
        )
