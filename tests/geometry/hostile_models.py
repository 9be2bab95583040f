"""3MF files in a sound zip, with XML that attacks or a model that cannot be."""

from __future__ import annotations

from collections.abc import Callable

from service.geometry.model_part import PRODUCTION
from tests.geometry.files import box, model_xml, object_xml, three_mf, vertices_xml

Maker = Callable[[], bytes]


def _model(*arguments: str, **named: str) -> Maker:
    return lambda: three_mf(model_xml(*arguments, **named))


def _with_dtd(dtd: str, use: str = "") -> Maker:
    return lambda: three_mf(f'<?xml version="1.0"?>\n<!DOCTYPE model {dtd}>' + _body(use))


def _body(use: str) -> str:
    return model_xml(attributes=f' unit="millimeter" note="{use}"').partition("\n")[2]


def _laughs() -> str:
    lines = (f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' for n in range(1, 12))
    return f'[<!ENTITY a0 "ha">{"".join(lines)}]'


def _face(a: object, b: object, c: object) -> str:
    mesh = f'<vertices>{vertices_xml(box())}</vertices><triangles><triangle v1="{a}" v2="{b}" v3="{c}"/></triangles>'
    return object_xml(inner=f"<mesh>{mesh}</mesh>")


def _corner(attributes: str) -> str:
    return object_xml().replace('<vertex x="40.0" y="30.0" z="100.0"/>', f"<vertex {attributes}/>")


def _made_from(*numbers: object, times: int = 1) -> str:
    components = "".join(f'<component objectid="{number}"/>' for number in numbers)
    return f"<components>{components * times}</components>"


def _tower(levels: int, times: int) -> str:
    """Each object made from the one before it, several times over."""
    objects = [object_xml(number=1)]
    objects += [object_xml(number=n, inner=_made_from(n - 1, times=times)) for n in range(2, levels + 1)]
    return "".join(objects)


def _many_triangles() -> bytes:
    """One object of 1,200 triangles, put on the plate 1,900 times."""
    mesh = object_xml().replace("</triangles>", '<triangle v1="0" v2="1" v3="3"/>' * 1188 + "</triangles>")
    return three_mf(model_xml(mesh, '<item objectid="1"/>' * 1900))


def _requires(namespace: str) -> Maker:
    return _model(attributes=f' unit="millimeter" xmlns:q="{namespace}" requiredextensions="q"')


def _elsewhere(path: str, other: str | None) -> Maker:
    component = f'<components><component objectid="1" p:path="{path}"/></components>'
    model = model_xml(object_xml(number=2, inner=component), '<item objectid="2"/>')
    model = model.replace("<model ", f'<model xmlns:p="{PRODUCTION}" ', 1)
    return lambda: three_mf(model, {} if other is None else {path.lstrip("/"): other})


def _item(transform: str) -> Maker:
    return _model("", f'<item objectid="1" transform="{transform}"/>')


def _beside(kind: str) -> str:
    return object_xml() + object_xml(number=2, more=f' type="{kind}"')


_BROKEN = r"not well-formed"
_NUMBER = r"something that is not a number"
_TWO = '<item objectid="1"/><item objectid="2"/>'
_3MF = "http://schemas.microsoft.com/3dmanufacturing/"

BAD_MODELS: dict[str, tuple[Maker, str]] = {
    "billion_laughs.3mf": (_with_dtd(_laughs(), "&a11;"), r"document type or entities"),
    "one_long_entity.3mf": (_with_dtd(f'[<!ENTITY a "{"x" * 50_000}">]', "&a;" * 5000), r"document type or entities"),
    "reads_a_file.3mf": (_with_dtd('[<!ENTITY f SYSTEM "file:///etc/passwd">]', "&f;"), r"document type or entities"),
    "asks_the_web.3mf": (_with_dtd('SYSTEM "http://example.org/model.dtd"'), r"document type or entities"),
    "parameter_entity.3mf": (
        _with_dtd('[<!ENTITY % p SYSTEM "http://example.org/p">%p;]'),
        r"document type or entities",
    ),
    "entity_in_the_list.3mf": (
        lambda: three_mf(more={"_rels/.rels": f"<!DOCTYPE r {_laughs()}><r>&a11;</r>"}),
        r"document type or entities",
    ),
    "undeclared_entity.3mf": (lambda: three_mf(model_xml(object_xml(inner="&ha;"))), _BROKEN),
    "deep.3mf": (_model(object_xml(inner="<a>" * 200_000)), r"nested deeper"),
    "deep_corners.3mf": (_model(object_xml(inner='<vertex x="0" y="0" z="0">' * 100_000)), r"nested deeper"),
    "endless_value.3mf": (_model(object_xml(more=f' name="{"ab" * 1_500_000}"')), r"longer than a megabyte"),
    "endless_comment.3mf": (lambda: three_mf(model_xml() + f"<!-- {'ha ' * 800_000} -->"), r"longer than a megabyte"),
    "long_list.3mf": (lambda: three_mf(more={"_rels/.rels": " " * 2_000_000}), r"more than is read \(1 MB\)"),
    "no_xml.3mf": (lambda: three_mf("a part, 40 by 30 by 100 mm"), _BROKEN),
    "nothing_at_all.3mf": (lambda: three_mf(b" "), _BROKEN),
    "xml_cut_short.3mf": (lambda: three_mf(model_xml()[:-60]), _BROKEN),
    "two_roots.3mf": (lambda: three_mf(model_xml() + "<more/>"), _BROKEN),
    "not_utf8.3mf": (lambda: three_mf(model_xml().encode() + b"\xff\xfe"), _BROKEN),
    "unheard_of_encoding.3mf": (lambda: three_mf(model_xml().replace("UTF-8", "EBCDIC-9")), _BROKEN),
    "web_page.3mf": (lambda: three_mf("<html><body>Sign in</body></html>"), r"core standard"),
    "standard_of_its_own.3mf": (lambda: three_mf('<model xmlns="http://example.org/model"/>'), r"core standard"),
    "in_furlongs.3mf": (_model(attributes=' unit="furlong"'), r"unit that the standard does not know"),
    "hand_in_inches_said_mm.3mf": (
        _model(object_xml(box(1.5, 1.2, 7.1))),
        r"only 7\.1 mm.*In inches it would be 180 mm",
    ),
    "tower_in_feet.3mf": (_model(object_xml(box()), attributes=' unit="foot"'), r"30\.5 m long, which no part is"),
    "socket_in_inches.3mf": (
        _model(object_xml(box()), attributes=' unit="inch"'),
        r"2\.54 m at.*In millimetres it would",
    ),
    "empty_plate.3mf": (_model("", " "), r"nothing to print"),
    "object_without_mesh.3mf": (_model(object_xml(inner="<mesh/>")), r"nothing to print"),
    "corners_alone.3mf": (
        _model(object_xml(inner=f"<mesh><vertices>{vertices_xml(box())}</vertices></mesh>")),
        r"nothing to print",
    ),
    "supports_alone.3mf": (_model(object_xml(more=' type="support"')), r"nothing to print"),
    "support_beside.3mf": (_model(_beside("support"), _TWO), r"One object is marked.*left out"),
    "no_such_object.3mf": (_model("", '<item objectid="9"/>'), r"an object that is not in it"),
    "no_such_corner.3mf": (_model(_face(0, 1, 8)), r"uses corner 8, and there are 8"),
    "negative_corner.3mf": (_model(_face(0, 1, -1)), r"uses corner -1"),
    "half_a_corner.3mf": (_model(_face(0, 1, 1.5)), _NUMBER),
    "corner_of_five_thousand_digits.3mf": (_model(_face(0, 1, "9" * 5000)), _NUMBER),
    "corner_beyond_counting.3mf": (_model(_face(0, 1, "9" * 40)), r"uses corner 1,099,511,627,776"),
    "no_third_corner.3mf": (_model(_face(0, 1, 2).replace(' v3="2"', "")), r"lacks its v3"),
    "no_z.3mf": (_model(_corner('x="1" y="2"')), r"lacks its z"),
    "object_without_number.3mf": (_model(object_xml().replace(' id="1"', "")), r"lacks its id"),
    "item_of_nothing.3mf": (_model("", "<item/>"), r"lacks its objectid"),
    "place_not_a_number.3mf": (_model(_corner('x="nan" y="2" z="3"')), _NUMBER),
    "place_infinite.3mf": (_model(_corner('x="1e999" y="2" z="3"')), r"lie nowhere"),
    "place_at_the_edge_of_numbers.3mf": (
        _model(_corner('x="1.7e308" y="-1.7e308" z="3"')),
        r"more than a thousand kilometres long",
    ),
    "beyond_numbers_in_inches.3mf": (
        _model(_corner('x="1.7e308" y="-1.7e308" z="3"'), attributes=' unit="inch"'),
        r"lie nowhere",
    ),
    "place_in_words.3mf": (_model(_corner('x="left" y="2" z="3"')), _NUMBER),
    "place_with_comma.3mf": (_model(_corner('x="1,5" y="2" z="3"')), _NUMBER),
    "place_underscored.3mf": (_model(_corner('x="1_5" y="2" z="3"')), _NUMBER),
    "place_in_other_digits.3mf": (_model(_corner('x="\u0661\u0662" y="2" z="3"')), _NUMBER),
    "place_empty.3mf": (_model(_corner('x="" y="2" z="3"')), _NUMBER),
    "made_from_itself.3mf": (_model(object_xml(inner=_made_from(1))), r"made from itself"),
    "made_from_each_other.3mf": (
        _model(object_xml(inner=_made_from(2)) + object_xml(number=2, inner=_made_from(1))),
        r"made from itself",
    ),
    "tower_of_objects.3mf": (_model(_tower(500, 1), '<item objectid="500"/>'), r"far too deep"),
    "tower_of_tens.3mf": (_model(_tower(12, 10), '<item objectid="12"/>'), r"More than 2,000 pieces"),
    "tower_of_nothing.3mf": (
        _model(_tower(12, 10).replace("<triangle ", "<other "), '<item objectid="12"/>'),
        r"More than 2,000 pieces",
    ),
    "thousands_of_items.3mf": (_model("", '<item objectid="1"/>' * 5000), r"More than 2,000 pieces"),
    "thousands_of_objects.3mf": (
        _model("".join(object_xml(number=n, inner="") for n in range(12_000))),
        r"more than 10,000 objects",
    ),
    "millions_of_triangles.3mf": (_many_triangles, r"2,000,400 triangles|2,000,000 are the most"),
    "flattened.3mf": (_item("1 0 0 0 1 0 0 0 0 0 0 0"), r"flattens an object"),
    "shrunk_to_nothing.3mf": (_item("0 0 0 0 0 0 0 0 0 0 0 0"), r"flattens an object"),
    "thrown_far.3mf": (_item("1 0 0 0 1 0 0 0 1 1e300 0 0"), r"from its origin"),
    "grown_past_counting.3mf": (_item("1e200 0 0 0 1e200 0 0 0 1e200 0 0 0"), r"flattens|lie nowhere|which no part is"),
    "transform_of_nine.3mf": (_item("1 0 0 0 1 0 0 0 1"), r"9 numbers instead of 12"),
    "transform_not_a_number.3mf": (_item("nan 0 0 0 1 0 0 0 1 0 0 0"), _NUMBER),
    "one_number_twice.3mf": (_model(object_xml() + object_xml()), r"the same number"),
    "needs_beams.3mf": (_requires(_3MF + "beamlattice/2017/02"), r"without a lattice of beams"),
    "needs_a_key.3mf": (_requires(_3MF + "securecontent/2019/04"), r"without locked content"),
    "needs_who_knows_what.3mf": (_requires("http://example.org/secret"), r"an extension not known here"),
    "needs_the_undeclared.3mf": (_model(attributes=' requiredextensions="zz"'), r"an extension not known here"),
    "model_elsewhere.3mf": (_elsewhere("/3D/other.model", None), r"points to a model that is not in it"),
    "model_outside.3mf": (_elsewhere("/../../etc/passwd", None), r"points to a model that is not in it"),
    "mixed_units.3mf": (_elsewhere("/3D/other.model", model_xml(attributes=' unit="inch"')), r"in different units"),
    "beams_beside.3mf": (
        _model(object_xml().replace("</mesh>", f'<beamlattice xmlns="{_3MF}beamlattice/2017/02"/></mesh>')),
        r"beams beside its mesh",
    ),
}
