"""Good files damaged by chance: whatever comes of them, it is a mesh or a refusal in words."""

from __future__ import annotations

import random
from collections.abc import Callable

import numpy as np
import pytest

from service.geometry.answers import LengthUnit
from service.geometry.mesh import Drawn
from service.geometry.stl import read_stl
from service.geometry.three_mf import read_three_mf
from service.geometry.units import in_mm
from service.kit.unfit import Unfit
from tests.geometry.files import box, model_xml, object_xml, stl, text_stl, three_mf, zipped

ROUNDS = 400

COMPONENTS = '<components><component objectid="1" transform="1 0 0 0 1 0 0 0 1 5 5 5"/></components>'
MODEL = model_xml(object_xml() + object_xml(number=2, inner=COMPONENTS), '<item objectid="1"/><item objectid="2"/>')


def damaged(content: bytes, chance: random.Random) -> bytes:
    """A few bytes changed, cut out, put in twice or swapped for what programs stumble over."""
    changed = bytearray(content)
    for _ in range(chance.randint(1, 4)):
        at = chance.randrange(len(changed) + 1)
        length = chance.choice([1, 1, 2, 4, 8, 50, 400])
        match chance.randrange(4):
            case 0:
                changed[at : at + length] = chance.randbytes(length)
            case 1:
                del changed[at : at + length]
            case 2:
                changed[at:at] = changed[at : at + length]
            case _:
                odd = [
                    b"\xff" * 4,
                    b"\0" * 4,
                    b"nan",
                    b"-1",
                    b"1e999",
                    b'"',
                    b"<",
                    b"&",
                    b"PK\x01\x02",
                    b"9" * 40,
                    b"\x80",
                ]
                changed[at : at + chance.choice([0, 1, 4])] = chance.choice(odd)
    return bytes(changed)


def model_damaged(content: bytes, chance: random.Random) -> bytes:
    """Damage inside of a sound zip."""
    return zipped([("3D/3dmodel.model", damaged(content, chance))])


KINDS: dict[str, tuple[Callable[[bytes], Drawn], bytes, Callable[[bytes, random.Random], bytes]]] = {
    "binary STL": (read_stl, stl(box()), damaged),
    "STL as text": (read_stl, text_stl(box()), damaged),
    "the zip of a 3MF": (read_three_mf, three_mf(), damaged),
    "the model of a 3MF": (read_three_mf, MODEL.encode(), model_damaged),
}


@pytest.mark.parametrize("kind", KINDS)
def test_a_damaged_file_is_a_mesh_or_a_refusal(kind: str) -> None:
    read, good, damage = KINDS[kind]
    chance = random.Random(11)
    taken = 0
    for _ in range(ROUNDS):
        content = damage(good, chance)
        try:
            mesh = in_mm(read(content), LengthUnit.MILLIMETRE)
        except Unfit:
            continue
        taken += 1
        assert np.isfinite(mesh.vertices).all()
        assert 0 <= mesh.faces.min() <= mesh.faces.max() < len(mesh.vertices)
    assert 0 < taken < ROUNDS  # some damage harms nothing, and some does
