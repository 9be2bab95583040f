"""A photograph, decoded within bounds and written anew; `plain` is called in a process that may die."""

from __future__ import annotations

import io
import warnings
from typing import Final

from PIL import Image, ImageCms, ImageOps, UnidentifiedImageError

from service.kit.unfit import Unfit

MOST_BYTES: Final = 15_000_000
"""A telephone's largest photographs have some 10 MB."""

MOST_PIXELS: Final = 60_000_000
"""Fifty million come from the best telephones; decoded, that many take 180 MB."""

LONGEST_PX: Final = 1600
"""The longer side of what is kept: enough to see a crack."""

SHORTEST_PX: Final = 40
"""A picture narrower than this shows nothing."""

QUALITY: Final = 82

_BEGINNINGS = ((b"\xff\xd8\xff", "JPEG"), (b"\x89PNG\r\n\x1a\n", "PNG"), (b"RIFF", "WEBP"))
_HEIF = (b"ftypheic", b"ftypheix", b"ftypmif1", b"ftypmsf1", b"ftyphevc", b"ftypavif")

_NO_PICTURE = "This is not a photograph that can be read. Send it as a JPEG, a PNG or a WebP."
_DAMAGED = "This photograph is damaged, so it was not kept. Take it again, or send another one."
_NOT_YET = (
    "This photograph is in a form that only some telephones read. Take a screenshot of it and send that, or set your "
    "camera to JPEG."
)


def plain(content: bytes) -> tuple[bytes, int, int]:
    """A JPEG of the picture and nothing else, at most `LONGEST_PX` wide or high, and its width and height in pixels.

    Raises Unfit for what is no photograph, damaged, or too large.
    """
    kind = _kind(content)
    with warnings.catch_warnings():
        warnings.simplefilter("error")  # what Pillow finds odd about a file is reason enough to leave it
        try:
            drawn = _decoded(content, kind)
        except Unfit:
            raise
        except Exception as error:  # a damaged file meets any fault there is in a decoder
            raise Unfit(_DAMAGED) from error
    written = io.BytesIO()
    drawn.save(written, "JPEG", quality=QUALITY, optimize=True, exif=b"", icc_profile=None)
    return written.getvalue(), drawn.width, drawn.height


def _kind(content: bytes) -> str:
    """The format by its first bytes alone; what the file is called says nothing."""
    if not content:
        raise Unfit("This photograph is empty. Choose it once more.")
    if len(content) > MOST_BYTES:
        most = MOST_BYTES // 1_000_000
        raise Unfit(f"This photograph has more than {most} MB, which is too large. Send a smaller one.")
    if content[4:12] in _HEIF:
        raise Unfit(_NOT_YET)
    for beginning, kind in _BEGINNINGS:
        if content.startswith(beginning) and (kind != "WEBP" or content[8:12] == b"WEBP"):
            return kind
    raise Unfit(_NO_PICTURE)


def _decoded(content: bytes, kind: str) -> Image.Image:
    Image.MAX_IMAGE_PIXELS = MOST_PIXELS
    try:
        opened = Image.open(io.BytesIO(content), formats=[kind])
    except (UnidentifiedImageError, OSError) as error:
        raise Unfit(_DAMAGED) from error
    if opened.width * opened.height > MOST_PIXELS:
        raise Unfit(f"This photograph has more than {MOST_PIXELS // 1_000_000} million dots. Send a smaller one.")
    if min(opened.size) < SHORTEST_PX:
        raise Unfit("This picture is too small to see anything on it. Send a larger one.")
    if getattr(opened, "n_frames", 1) != 1:
        raise Unfit("This picture moves. Send a photograph that stands still.")
    # JPEG decodes at a fraction of its size: most of the work for a large photograph is never done.
    opened.draft("RGB", (LONGEST_PX, LONGEST_PX))
    opened.load()
    upright = ImageOps.exif_transpose(opened)
    coloured = _in_usual_colours(upright, opened.info.get("icc_profile"))
    coloured.thumbnail((LONGEST_PX, LONGEST_PX))
    # A fresh picture of the dots alone: nothing that came with the file comes along.
    fresh = Image.new("RGB", coloured.size)
    fresh.paste(coloured)
    return fresh


def _in_usual_colours(picture: Image.Image, profile: bytes | None) -> Image.Image:
    """In sRGB, on white where it can be seen through."""
    if picture.mode in {"RGBA", "LA", "PA"} or "transparency" in picture.info:
        picture = picture.convert("RGBA")
        ground = Image.new("RGBA", picture.size, "white")
        picture = Image.alpha_composite(ground, picture)
    if profile and picture.mode in {"RGB", "CMYK", "L"}:
        try:
            theirs = ImageCms.ImageCmsProfile(io.BytesIO(profile))
            converted = ImageCms.profileToProfile(picture, theirs, ImageCms.createProfile("sRGB"), outputMode="RGB")
        except (ImageCms.PyCMSError, OSError):
            return picture.convert("RGB")  # a broken profile costs true colours, not the photograph
        return converted if converted is not None else picture.convert("RGB")
    return picture.convert("RGB")
