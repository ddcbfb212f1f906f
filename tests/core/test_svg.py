"""A drawing as SVG: well formed, complete, in painter's order, and the same text every time."""

from __future__ import annotations

import dataclasses
import re
from xml.etree import ElementTree

import numpy as np
import pytest

from striderule.draw import svg
from striderule.draw.drawing import Area, Dot, Drawing, Ink, Item, Label, Layer, Line, Ring
from striderule.errors import GeometryError

SVG = "{http://www.w3.org/2000/svg}"
INK = Ink((1.0, 0.5, 0.0), 2.0, 0.8, 1.5, 0.6)
PLAIN = Ink((1.0, 1.0, 1.0), 2.0)
BEND = np.array(((1.0, 2.0), (30.25, 4.0), (7.0, 20.0)))


def elements(*items: Item) -> list[ElementTree.Element]:
    root = ElementTree.fromstring(svg.document(Drawing(64, 48, (Layer("only", items),))))
    return list(root[0])


def test_the_view_box_puts_nought_at_the_centre_of_the_first_pixel():
    root = ElementTree.fromstring(svg.document(Drawing(64, 48, ())))
    assert root.tag == SVG + "svg"
    assert root.attrib["viewBox"] == "-0.5 -0.5 64 48"
    assert (root.attrib["width"], root.attrib["height"]) == ("64", "48")


def test_there_is_one_group_a_layer_in_order_with_the_layers_name():
    root = ElementTree.fromstring(
        svg.document(Drawing(64, 48, (Layer("low", ()), Layer('a<&"b', (Dot(1, 2, 3, INK),)))))
    )
    assert [group.attrib["id"] for group in root] == ["low", 'a<&"b']
    assert [len(group) for group in root] == [0, 2]


def test_a_lines_halo_comes_first_and_is_wider_on_both_sides():
    halo, core = elements(Line(BEND, INK))
    assert halo.attrib["d"] == core.attrib["d"] == "M1 2L30.25 4L7 20"
    assert (halo.attrib["stroke-width"], core.attrib["stroke-width"]) == ("5", "2")
    assert (halo.attrib["stroke"], core.attrib["stroke"]) == ("#000000", "#ff8000")
    assert (halo.attrib["stroke-opacity"], core.attrib["stroke-opacity"]) == ("0.6", "0.8")


def test_a_line_without_halo_is_one_path_and_a_closed_one_ends_in_z():
    (core,) = elements(Line(BEND, PLAIN, closed=True))
    assert core.attrib["d"] == "M1 2L30.25 4L7 20Z"
    assert "stroke-opacity" not in core.attrib


def test_dashes_are_those_of_the_drawing():
    assert elements(Line(BEND, dataclasses.replace(PLAIN, dash=(6.0, 4.5))))[0].attrib["stroke-dasharray"] == "6 4.5"
    assert "stroke-dasharray" not in elements(Line(BEND, dataclasses.replace(PLAIN, dash=(6.0, 0.0))))[0].attrib


def test_an_area_is_one_path_with_all_its_rings():
    (area,) = elements(Area((BEND, BEND[::-1] + 0.0625), (0.0, 0.0, 1.0), 0.28))
    assert area.attrib["d"].count("M") == area.attrib["d"].count("Z") == 2
    assert (area.attrib["fill"], area.attrib["fill-opacity"]) == ("#0000ff", "0.28")


def test_dots_rings_and_lines_of_one_place_are_circles():
    assert [one.attrib["r"] for one in elements(Dot(3, 4, 5, INK))] == ["6.5", "5"]
    assert [one.attrib["stroke-width"] for one in elements(Ring(3, 4, 5, INK))] == ["5", "2"]
    assert [one.attrib["r"] for one in elements(Line(np.array(((3.0, 4.0),)), INK))] == ["2.5", "1"]


def test_a_label_is_strokes_with_its_text_as_title():
    (group,) = elements(Label("h\u00fcft < 12.5\u00b0", 3.4, 40.0, 20.0, INK))
    assert group[0].tag == SVG + "title"
    assert group[0].text == "h\u00fcft < 12.5\u00b0"
    halo, core = group[1], group[2]
    assert (halo.attrib["opacity"], core.attrib["opacity"]) == ("0.6", "0.8")
    assert [one.tag for one in core] == [SVG + "path", *[SVG + "circle"] * 3]


def test_a_label_stands_on_the_same_whole_pixel_as_in_a_picture():
    first, second = (elements(Label("l", x, 40.0, 20.0, PLAIN))[0][1][0].attrib["d"] for x in (3.4, 2.6))
    assert first == second
    assert first.startswith("M3 ")


def test_what_cannot_be_seen_is_left_out():
    clear = Ink((1.0, 1.0, 1.0), 2.0, alpha=0.0)
    assert (
        elements(
            Line(BEND, clear),
            Dot(1, 1, 1, clear),
            Area((BEND,), (1, 1, 1), 0.0),
            Line(np.zeros((0, 2)), INK),
            Area((), (1, 1, 1), 1.0),
            Label("", 1, 1, 9, INK),
        )
        == []
    )


def test_numbers_have_at_most_three_places_and_no_minus_nought():
    text = svg.document(Drawing(64, 48, (Layer("a", (Line(np.array(((-1e-9, 1 / 3), (1e7, -2.0))), PLAIN),)),)))
    assert "M0 0.333L10000000 -2" in text
    assert not re.search(r"e[+-]?\d", re.sub(r"[a-z-]+=", "", text.split("<path")[1]))


def test_a_text_with_signs_that_xml_forbids_is_still_well_formed():
    (group,) = elements(Label("a\x00\x1b\ufffe\ud800b", 3.0, 40.0, 20.0, PLAIN))
    assert group[0].text == "a\ufffd\ufffd\ufffd\ufffdb"


def test_the_same_drawing_gives_the_same_text_with_plain_line_ends():
    drawing = Drawing(64, 48, (Layer("a", (Line(BEND, INK), Label("x", 1, 2, 20, INK))),))
    assert svg.document(drawing) == svg.document(drawing)
    assert "\r" not in svg.document(drawing)
    assert svg.document(drawing).endswith("</svg>\n")


@pytest.mark.parametrize("place", [float("nan"), float("inf")])
def test_numbers_that_are_not_finite_are_refused(place):
    for item in (
        Line(np.array(((1.0, place), (2, 2))), INK),
        Dot(place, 1, 1, INK),
        Ring(1, place, 1, INK),
        Label("a", place, 1, 9, INK),
        Area((np.array(((1.0, place),)),), (1, 1, 1), 1.0),
    ):
        with pytest.raises(GeometryError):
            elements(item)
