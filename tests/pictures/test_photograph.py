"""Of a photograph its picture is kept, the right way up, and nothing else; what is none is refused in words."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image, ImageCms

from service.geometry import reading
from service.kit.unfit import Unfit
from service.pictures.photograph import LONGEST_PX, MOST_BYTES, plain
from tests.pictures.taken import DAMAGED_NOTES, SECRET, encoded, hostile, scene, with_a_second_picture, with_secrets

KINDS = ("JPEG", "PNG", "WEBP")


def shown(jpeg: bytes) -> Image.Image:
    opened = Image.open(io.BytesIO(jpeg))
    assert opened.format == "JPEG"
    opened.load()
    return opened


@pytest.mark.parametrize("kind", KINDS)
def test_nothing_but_the_picture_comes_through(kind):
    content = with_secrets(kind)
    assert SECRET.encode() in content
    assert Image.open(io.BytesIO(content)).getexif().get_ifd(0x8825)
    made, width, height = plain(content)
    assert SECRET.encode() not in made
    assert b"Exif" not in made
    picture = shown(made)
    assert picture.size == (width, height) == (400, 300)
    assert not picture.getexif()
    assert set(picture.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
    assert made.endswith(b"\xff\xd9")


@pytest.mark.parametrize("kind", KINDS)
def test_it_is_the_right_way_up(kind):
    made, width, height = plain(with_secrets(kind, turned=6))  # held upright: turn it a quarter to the right
    assert (width, height) == (300, 400)
    brightness = np.asarray(shown(made).convert("L"))
    assert brightness[50, 150] < 60
    assert brightness[350, 150] > 180


def test_a_large_one_becomes_smaller_in_proportion():
    _, width, height = plain(encoded(scene(4000, 3000), "JPEG"))
    assert (width, height) == (LONGEST_PX, LONGEST_PX * 3 // 4)


@pytest.mark.parametrize("mode", ["L", "LA", "P", "RGBA", "CMYK", "1", "I;16"])
def test_whatever_its_colours_it_can_be_seen(mode):
    made = scene().convert("I").convert("I;16") if mode == "I;16" else scene().convert(mode)
    picture = shown(plain(encoded(made, "JPEG" if mode == "CMYK" else "PNG"))[0])
    assert picture.mode == "RGB"


def test_sixteen_bits_of_grey_stay_grey():
    grey = Image.fromarray(np.full((300, 400), 128 * 256, np.uint16))
    brightness = np.asarray(shown(plain(encoded(grey, "PNG"))[0]).convert("L"))
    assert abs(brightness.mean() - 128) < 2


def test_a_second_picture_that_a_telephone_hung_on_is_left_behind():
    content = with_a_second_picture()
    with Image.open(io.BytesIO(content)) as opened:
        assert getattr(opened, "n_frames", 1) == 2
    made, width, height = plain(content)
    assert (width, height) == (400, 300)
    assert made.count(b"\xff\xd8\xff") == 1


@pytest.mark.parametrize("content", DAMAGED_NOTES.values(), ids=DAMAGED_NOTES)
def test_damaged_notes_do_not_cost_the_photograph(content):
    assert plain(content)[1:] == (400, 300)


def test_what_can_be_seen_through_lies_on_white():
    clear = Image.new("RGBA", (100, 100), (0, 0, 0, 0))
    assert np.asarray(shown(plain(encoded(clear, "PNG"))[0])).min() > 250


def test_colours_of_another_profile_are_said_in_the_usual_one():
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    made = plain(encoded(scene(), "JPEG", icc_profile=profile))[0]
    assert "icc_profile" not in shown(made).info
    broken = plain(encoded(scene(), "JPEG", icc_profile=b"no profile at all"))[0]
    assert shown(broken).size == (400, 300)


def test_a_file_that_is_too_large_is_not_even_opened():
    with pytest.raises(Unfit, match="more than 15 MB"):
        plain(b"\xff\xd8\xff" + bytes(MOST_BYTES))


def test_there_are_more_than_fifty_ways_to_be_no_photograph():
    assert len(hostile()) > 50


@pytest.mark.parametrize("content", hostile().values(), ids=hostile())
def test_what_is_no_photograph_is_refused_in_words(content):
    with pytest.raises(Unfit, match=r"[Ss]end|Choose"):
        reading.photograph(content)


@pytest.mark.parametrize("hung_on", [b"<script>alert(1)</script>", b"PK\x03\x04 a zip", b"%PDF-1.7"])
def test_what_is_hung_on_to_a_photograph_is_gone(hung_on):
    for kind in KINDS:
        assert hung_on not in plain(encoded(scene(), kind) + hung_on)[0]
