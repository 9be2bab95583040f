"""A photograph, decoded within bounds and written anew; `plain` is called in a process that may die."""

from __future__ import annotations

import io
import warnings
from typing import Final

import numpy as np
from PIL import Image, ImageCms, ImageOps, JpegImagePlugin, UnidentifiedImageError

from service.kit.unfit import Unfit

MOST_BYTES: Final = 15_000_000
"""A telephone's largest photographs have some 10 MB."""

MOST_PIXELS: Final = 60_000_000
"""Fifty million come from the best telephones; decoded, that many take 180 MB."""

LONGEST_PX: Final = 1600
"""The longer side of what is kept: enough to see a crack."""

SHORTEST_PX: Final = 40
"""A picture narrower than this shows nothing."""

MOST_TIMES_AS_LONG: Final = 20
"""A picture longer than so many times its width is a strip on which nothing is seen once it is made smaller."""

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
        warnings.simplefilter("ignore")  # odd notes beside a picture do not cost the picture
        warnings.simplefilter("error", Image.DecompressionBombWarning)
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
        opened = _opened(content, kind)
    except (UnidentifiedImageError, OSError, SyntaxError) as error:
        raise Unfit(_DAMAGED) from error
    if opened.width * opened.height > MOST_PIXELS:
        raise Unfit(f"This photograph has more than {MOST_PIXELS // 1_000_000} million dots. Send a smaller one.")
    if min(opened.size) < SHORTEST_PX:
        raise Unfit("This picture is too small to see anything on it. Send a larger one.")
    if max(opened.size) > MOST_TIMES_AS_LONG * min(opened.size):
        raise Unfit("This picture is a thin strip. Send a photograph that is not cut so narrow.")
    if getattr(opened, "n_frames", 1) != 1:
        raise Unfit("This picture moves. Send a photograph that stands still.")
    # JPEG decodes at a fraction of its size: most of the work for a large photograph is never done.
    opened.draft("RGB", (LONGEST_PX, LONGEST_PX))
    opened.load()
    coloured = _in_usual_colours(_upright(opened), opened.info.get("icc_profile"))
    coloured.thumbnail((LONGEST_PX, LONGEST_PX))
    # A fresh picture of the dots alone: nothing that came with the file comes along.
    fresh = Image.new("RGB", coloured.size)
    fresh.paste(coloured)
    return fresh


def _opened(content: bytes, kind: str) -> Image.Image:
    """The first picture of a JPEG: many telephones hang a second one on, for depth or brightness; it does not move."""
    if kind == "JPEG":
        return JpegImagePlugin.JpegImageFile(io.BytesIO(content))
    return Image.open(io.BytesIO(content), formats=[kind])


def _upright(picture: Image.Image) -> Image.Image:
    """Turned as its notes say; notes that cannot be read cost the turn, not the photograph."""
    try:
        return ImageOps.exif_transpose(picture)
    except Exception:  # noqa: BLE001 a damaged note meets any fault there is in its reader
        return picture


def _in_usual_colours(picture: Image.Image, profile: bytes | None) -> Image.Image:
    """In sRGB, on white where it can be seen through."""
    if picture.mode.startswith("I"):  # sixteen bits of grey, of which the upper eight are seen
        picture = Image.fromarray((np.asarray(picture).astype(np.int64).clip(0, 65_535) >> 8).astype(np.uint8))
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
