"""Photographs as telephones and worse take them."""

from __future__ import annotations

import io
import struct
import zlib
from random import Random

from PIL import Image

WHERE = b"Exif\x00\x00"
SECRET = "52 deg 22' 12.00\" N, kitchen"
"""What a telephone would write into a photograph; nothing of it may come through."""


def scene(width: int = 400, height: int = 300, mode: str = "RGB") -> Image.Image:
    """A picture whose left half is dark and whose right half is light, so that it can be seen which way up it is."""
    picture = Image.new("L", (width, height), 30)
    picture.paste(220, (width // 2, 0, width, height))
    return picture.convert(mode)


def encoded(picture: Image.Image, kind: str, **more: object) -> bytes:
    """A picture in a file of a kind."""
    written = io.BytesIO()
    picture.save(written, kind, **more)
    return written.getvalue()


def with_secrets(kind: str, *, turned: int = 1) -> bytes:
    """A photograph that tells where it was taken, in every way its format has."""
    picture = scene()
    exif = picture.getexif()
    exif[0x010F], exif[0x0112], exif[0x010E] = SECRET, turned, SECRET
    place = exif.get_ifd(0x8825)
    place[1], place[2], place[29] = "N", (52.0, 22.0, 12.0), SECRET
    more: dict[str, object] = {"exif": exif.tobytes()}
    if kind == "JPEG":
        more |= {"comment": SECRET.encode(), "xmp": SECRET.encode()}
    if kind == "WEBP":
        more |= {"xmp": SECRET.encode()}
    if kind == "PNG":
        from PIL.PngImagePlugin import PngInfo  # noqa: PLC0415 of this format alone

        told = PngInfo()
        told.add_text("Comment", SECRET)
        told.add_itxt("XML:com.adobe.xmp", SECRET)
        more["pnginfo"] = told
    return encoded(picture, kind, **more) + SECRET.encode()


def chunk(name: bytes, data: bytes) -> bytes:
    """A chunk of a PNG."""
    return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))


def bomb(width: int, height: int, *, honest: bool = True) -> bytes:
    """A PNG of a few kilobytes that says it is that large; `honest` ones hold all their dots."""
    header = struct.pack(">IIBBBBB", width, height, 1, 0, 0, 0, 0)
    row = bytes(1 + (width + 7) // 8)
    packer = zlib.compressobj(9)
    dots = b"".join(packer.compress(row) for _ in range(height if honest else 1)) + packer.flush()
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", dots) + chunk(b"IEND", b"")


def with_a_second_picture() -> bytes:
    """A JPEG with another one hung on and listed, as telephones keep depth or brightness (CIPA DC-007)."""
    return encoded(scene(), "MPO", save_all=True, append_images=[scene(80, 60)])


def with_damaged_notes(marker: bytes, notes: bytes) -> bytes:
    """A sound JPEG whose segment of notes cannot be read."""
    jpeg = encoded(scene(), "JPEG")
    return jpeg[:2] + marker + struct.pack(">H", len(notes) + 2) + notes + jpeg[2:]


DAMAGED_NOTES = {
    "EXIF of noise": with_damaged_notes(b"\xff\xe1", b"Exif\x00\x00" + bytes(range(3, 90))),
    "EXIF cut short": with_damaged_notes(b"\xff\xe1", b"Exif\x00\x00MM\x00\x2a\x00\x00\x00\x08\x00\x09\x01"),
    "EXIF of nothing": with_damaged_notes(b"\xff\xe1", b"Exif\x00\x00"),
    "a list of pictures that is none": with_damaged_notes(b"\xff\xe2", b"MPF\x00MM\x00\x2a\x00\x00\xff\xff"),
}

HTML = b"<!doctype html><script>alert(document.cookie)</script>"
SVG = b'<svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"/>'
MOVING = encoded(scene(), "GIF", save_all=True, append_images=[scene()])


def hostile() -> dict[str, bytes]:
    """More than fifty files that are no photograph to keep, by what is wrong with each."""
    jpeg, png, webp = (encoded(scene(), kind) for kind in ("JPEG", "PNG", "WEBP"))
    found = {
        "empty": b"",
        "a page": HTML,
        "a drawing that runs": SVG,
        "a drawing with a head": b'<?xml version="1.0"?>' + SVG,
        "a PDF": b"%PDF-1.7\n1 0 obj\n",
        "a zip": b"PK\x03\x04" + bytes(60),
        "a program": b"MZ" + bytes(200),
        "another program": b"\x7fELF" + bytes(200),
        "a script": b"#!/bin/sh\nrm -rf /\n",
        "plain words": b"It is the little finger.",
        "a picture that moves": MOVING,
        "a GIF": encoded(scene(), "GIF"),
        "a BMP": encoded(scene(), "BMP"),
        "a TIFF": encoded(scene(), "TIFF"),
        "an icon": encoded(scene(64, 64), "ICO"),
        "a PCX": encoded(scene(), "PCX"),
        "a TGA": encoded(scene(), "TGA"),
        "a PPM": encoded(scene(), "PPM"),
        "EPS": b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 50 50\n",
        "a photograph of another make": b"\x00\x00\x00\x18ftypheic" + bytes(200),
        "one more of those": b"\x00\x00\x00\x18ftypavif" + bytes(200),
        "only the beginning of a JPEG": b"\xff\xd8\xff",
        "only the head of a PNG": b"\x89PNG\r\n\x1a\n",
        "only the head of a WebP": b"RIFF\x00\x00\x00\x00WEBP",
        "a sound": b"RIFF\x24\x00\x00\x00WAVEfmt " + bytes(40),
        "a page that begins as a JPEG": b"\xff\xd8\xff\xe0" + HTML,
        "a page that begins as a PNG": b"\x89PNG\r\n\x1a\n" + HTML,
        "a page that begins as a WebP": b"RIFF\xff\x00\x00\x00WEBP" + HTML,
        "a page before a JPEG": HTML + jpeg,
        "a zip before a PNG": b"PK\x03\x04" + png,
        "a bomb": bomb(30_000, 30_000),
        "a bomb that lies": bomb(2**31 - 1, 2**31 - 1, honest=False),
        "a long bomb": bomb(60_000_001, 1),
        "a thread": encoded(scene(8000, 2), "PNG"),
        "a tape": bomb(40, 1_499_999),
        "a dot": encoded(scene(1, 1), "JPEG"),
        "a PNG without dots": b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", struct.pack(">IIBBBBB", 90, 90, 8, 2, 0, 0, 0)),
        "a PNG of no size": b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", struct.pack(">IIBBBBB", 0, 0, 8, 2, 0, 0, 0)),
        "a PNG whose colours are none": png[:25] + b"\x09" + png[26:],
        "a WebP that moves": encoded(scene(), "WEBP", save_all=True, append_images=[scene().rotate(180)]),
        "a PNG that moves": encoded(scene(), "PNG", save_all=True, append_images=[scene().rotate(180)]),
    }
    for name, whole in (("JPEG", jpeg), ("PNG", png), ("WebP", webp)):
        for share in (0.1, 0.3, 0.6):
            found[f"{share:.0%} of a {name}"] = whole[: int(len(whole) * share)]
        chance = Random(name)
        for number in range(3):
            spoilt = bytearray(whole)
            for at in (chance.randrange(12, len(whole) // 2) for _ in range(max(40, len(whole) // 4))):
                spoilt[at] ^= chance.randrange(1, 256)
            found[f"a {name} that was spoilt, {number}"] = bytes(spoilt)
    return found
