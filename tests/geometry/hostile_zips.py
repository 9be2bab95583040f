"""3MF files whose zip lies, hides or swells, whatever is drawn in it."""

from __future__ import annotations

import random
import stat
import struct
import zipfile
from collections.abc import Callable

from tests.geometry.files import box, model_xml, relationships_xml, stl, text_stl, three_mf, zipped

MODEL = "3D/3dmodel.model"
LOCAL, CENTRAL, END = b"PK\x03\x04", b"PK\x01\x02", b"PK\x05\x06"


def _patched(content: bytes, at: int, pattern: str, *values: int) -> bytes:
    changed = bytearray(content)
    struct.pack_into(pattern, changed, at, *values)
    return bytes(changed)


def _central(content: bytes, name: str = MODEL) -> int:
    """Where the line of an entry begins in the zip's table of contents."""
    return content.rindex(name.encode()) - 46


def _says_of_its_size(size: int, pad: str = "") -> bytes:
    content = three_mf(model_xml() + pad)
    return _patched(content, _central(content) + 24, "<I", size)


def _ten_gigabytes() -> bytes:
    """Sizes in a zip64 field, as they are where four bytes do not hold them."""
    content = three_mf()
    at = _central(content)
    name_end = at + 46 + len(MODEL)
    field = struct.pack("<HHQ", 1, 8, 10 * 2**30)
    content = _patched(content, at + 24, "<I", 0xFFFFFFFF)
    content = _patched(content, at + 30, "<H", len(field))
    content = content[:name_end] + field + content[name_end:]
    end = content.rindex(END)
    size = struct.unpack_from("<I", content, end + 12)[0]
    return _patched(content, end + 12, "<I", size + len(field))


def _flag(bit: int) -> bytes:
    content = three_mf()
    content = _patched(content, _central(content) + 8, "<H", bit)
    return _patched(content, content.index(MODEL.encode()) - 24, "<H", bit)


def _bomb() -> bytes:
    return three_mf(model_xml() + " " * 40_000_000)


def _bomb_in_many() -> bytes:
    """Each entry modest, all together far too much."""
    return three_mf(more={f"3D/Other/{n}.txt": bytes(3_900_000) for n in range(140)}, level=1)


def _overlapping() -> bytes:
    """Many lines in the table of contents, all for the same packed bytes."""
    content = three_mf(more={"big.txt": random.Random(3).randbytes(1000).hex() * 1000})
    end = content.rindex(END)
    start = _central(content, "big.txt")
    line = content[start:end]
    names = [b"%07d" % n for n in range(600)]
    lines = b"".join(line.replace(b"big.txt", name) for name in names)
    total = struct.unpack_from("<H", content, end + 8)[0] + len(names)
    size = struct.unpack_from("<I", content, end + 12)[0] + len(lines)
    ending = _patched(_patched(content[end:], 8, "<HH", total, total), 12, "<I", size)
    return content[:end] + lines + ending


def _zip64_lie() -> bytes:
    """A zip64 end that says there are 2^60 entries in 2^60 bytes."""
    content = three_mf()
    end = content.rindex(END)
    record = struct.pack("<4sQHHIIQQQQ", b"PK\x06\x06", 44, 45, 45, 0, 0, 2**60, 2**60, 2**60, 2**60)
    locator = struct.pack("<4sIQI", b"PK\x06\x07", 0, end, 1)
    return content[:end] + record + locator + _patched(content[end:], 8, "<HHII", 0xFFFF, 0xFFFF, 2**32 - 1, 2**32 - 1)


def _link() -> bytes:
    link = zipfile.ZipInfo("3D/other.model")
    link.create_system, link.external_attr = 3, (stat.S_IFLNK | 0o777) << 16
    return zipped([("_rels/.rels", relationships_xml("/3D/other.model")), (link, "/etc/passwd"), (MODEL, model_xml())])


def _named(name: str) -> bytes:
    """An entry with this name, which the zip library itself would not write."""
    placeholder = "n" * len(name)
    return three_mf(more={placeholder: "x"}).replace(placeholder.encode(), name.encode("latin-1"))


def _twice() -> bytes:
    other = model_xml(items="")
    return zipped([(MODEL, model_xml()), ("3D/3DMODEL.model", other)])


def _wrong_checksum() -> bytes:
    content = three_mf()
    return _patched(content, _central(content) + 16, "<I", 0)


def _names_disagree() -> bytes:
    content = three_mf()
    at = content.index(MODEL.encode())
    return content[:at] + MODEL.upper().encode() + content[at + len(MODEL) :]


_OUT = r"lead out of its own folder"
_DAMAGED = r"is damaged"

BAD_ZIPS: dict[str, tuple[Callable[[], bytes], str]] = {
    "empty.3mf": (lambda: b"", r"is empty"),
    "zip_of_nothing.3mf": (lambda: END + bytes(18), r"no 3D model"),
    "stl_called.3mf": (lambda: stl(box()), r"is not packed as a 3MF"),
    "text_called.3mf": (lambda: text_stl(box()), r"is not packed as a 3MF"),
    "bare_xml.3mf": (lambda: model_xml().encode(), r"XML that is not packed"),
    "package_called.stl": (three_mf, r"is a zip inside"),
    "cut_short.3mf": (lambda: three_mf()[:-200], _DAMAGED),
    "only_the_start.3mf": (lambda: three_mf()[:60], _DAMAGED),
    "holiday_pictures.3mf": (lambda: zipped([("beach.txt", "sand")]), r"no 3D model.*Save it again"),
    "zipped_stl.3mf": (lambda: zipped([("part.stl", stl(box()))]), r"unpack the zip"),
    "zip_in_a_zip.3mf": (lambda: zipped([("inner/part.3mf", three_mf())]), r"unpack the zip"),
    "bomb.3mf": (_bomb, r"times its size"),
    "bomb_in_many.3mf": (_bomb_in_many, r"Unpacked, this 3MF would be more than 512 MB"),
    "overlapping.3mf": (_overlapping, r"Unpacked, this 3MF would be more"),
    "ten_gigabytes.3mf": (_ten_gigabytes, r"times its size"),
    "four_gigabytes.3mf": (lambda: _says_of_its_size(2**32 - 2), r"times its size"),
    "says_less_than_it_holds.3mf": (lambda: _says_of_its_size(100), r"cut short or altered|is damaged"),
    "says_more_than_it_holds.3mf": (lambda: _says_of_its_size(90_000), _DAMAGED),
    "thousands_of_entries.3mf": (
        lambda: three_mf(more={f"{n}.txt": "" for n in range(3000)}),
        r"more than 1,000 entries",
    ),
    "zip64_lie.3mf": (_zip64_lie, _DAMAGED),
    "locked.3mf": (lambda: _flag(0x1), r"password"),
    "locked_strongly.3mf": (lambda: _flag(0x41), r"password"),
    "packed_otherwise.3mf": (lambda: three_mf(packing=zipfile.ZIP_LZMA), r"must not be"),
    "climbs_out.3mf": (lambda: _named("../../../etc/cron.d/x"), _OUT),
    "climbs_out_inside.3mf": (lambda: _named("3D/../../outside.model"), _OUT),
    "from_the_root.3mf": (lambda: _named("/etc/passwd"), _OUT),
    "other_slashes.3mf": (lambda: _named("..\\..\\start.bat"), _OUT),
    "a_drive.3mf": (lambda: _named("C:/start.bat"), _OUT),
    "nul_in_a_name.3mf": (lambda: _named("3D/x.model\0.txt"), _OUT),
    "link.3mf": (_link, r"a link to another file"),
    "one_name_twice.3mf": (_twice, r"the same name"),
    "wrong_checksum.3mf": (_wrong_checksum, _DAMAGED),
    "names_disagree.3mf": (_names_disagree, _DAMAGED),
    "picture_and_zip.3mf": (lambda: b"\x89PNG\r\n\x1a\n" + three_mf(), r"is a picture"),
    "two_starts.3mf": (
        lambda: three_mf(
            more={"_rels/.rels": relationships_xml("/3D/3dmodel.model", "/3D/b.model"), "3D/b.model": "x"}
        ),
        r"two models to begin with",
    ),
    "starts_nowhere.3mf": (
        lambda: three_mf(more={"_rels/.rels": relationships_xml("/3D/elsewhere.model")}),
        r"no 3D model",
    ),
    "starts_on_the_web.3mf": (
        lambda: three_mf(more={"_rels/.rels": relationships_xml("http://example.org/part.model")}),
        r"no 3D model",
    ),
}
