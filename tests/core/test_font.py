"""The stroke font: what it covers, its measures, and that its signs cannot be taken for one another."""

from __future__ import annotations

import itertools
import string

import numpy as np
import pytest

from striderule.draw import font, lettering, raster
from striderule.draw.drawing import Ink, Label, Layer

PRINTABLE = "".join(chr(code) for code in range(32, 127))
SIGNS = "\u00b0\u00b7\u00b1\u2013\u2014\u00d7\u2192\u00b5\u00df\u2212\u2026\u2264\u2265"
ACCENTED = "äöüÄÖÜàéêëîñõçÇåÅÉøØ"


def points(text: str, size: float = 19.6) -> np.ndarray:
    return np.concatenate([stroke.points for stroke in font.strokes(text, size)])


def shape(text: str, size: float) -> np.ndarray:
    """Opacity of one text, 0..1, on a small picture."""
    label = Label(text, 8.0, 40.0, size, Ink((1, 1, 1), font.stroke_width(size)))
    return raster.render([Layer("a", (label,))], 64, 64).rgba8()[..., 3] / 255


@pytest.mark.parametrize("text", [PRINTABLE, SIGNS, ACCENTED, ""])
def test_ascii_the_trades_signs_and_western_accents_have_shapes(text):
    assert font.covers(text)


def test_an_unknown_character_is_an_empty_box_as_high_as_a_capital():
    assert not font.covers("knee \u4e2d")
    assert np.ptp(points("\u4e2d"), axis=0) == pytest.approx([8, 14])


def test_every_shape_of_a_character_is_its_own_at_reading_size():
    """Two pictures of 20 px differ by more than one and a half fully opaque pixels."""
    shapes = {one: shape(one, 20.0) for one in PRINTABLE[1:] + SIGNS[:3] + SIGNS[5:6] + SIGNS[7:9]}
    near = {
        first + second
        for first, second in itertools.combinations(shapes, 2)
        if np.abs(shapes[first] - shapes[second]).sum() < 1.5
    }
    assert near == set()


@pytest.mark.parametrize("pair", ["0O", "0o", "1l", "1I", "lI", "5S", "8B", "2Z", "6b", "9g", "uv", "\u00d7x"])
@pytest.mark.parametrize("size", [15.0, 20.0, 28.0, 40.0])
def test_signs_that_are_easily_mistaken_differ_by_a_tenth_of_their_ink(pair, size):
    first, second = (shape(one, size) for one in pair)
    assert np.abs(first - second).sum() > 0.1 * (first.sum() + second.sum())


def test_nought_has_a_bar_inside_and_a_capital_o_is_empty():
    middle = np.array((4.2, -7.0))
    assert np.abs(points("0") - middle).sum(axis=1).min() < 4
    assert np.abs(points("O") - np.array((5.3, -7.0))).sum(axis=1).min() > 5


def test_a_capital_is_as_high_as_the_size_says_and_stands_on_the_base_line():
    for one in "HAEMZ017":
        y = points(one, 28.0)[:, 1]
        assert y.max() == pytest.approx(0, abs=1e-9)
        assert -y.min() == pytest.approx(20.0) == font.ascent(28.0)


def test_no_letter_reaches_lower_than_the_descent():
    assert max(points(one, 28.0)[:, 1].max() for one in string.ascii_letters) == pytest.approx(font.descent(28.0))


def test_digits_are_equally_wide_so_that_changing_numbers_stand_still():
    assert len({round(font.text_width(one + "|", 20.0), 9) for one in string.digits}) == 1


def test_a_texts_width_is_that_of_its_strokes_and_grows_with_size():
    assert font.text_width("Hamb", 20.0) == pytest.approx(points("Hamb", 20.0)[:, 0].max())
    assert font.text_width("Hamb", 40.0) == pytest.approx(2 * font.text_width("Hamb", 20.0))
    assert font.text_width("", 20.0) == 0
    assert font.text_width("a b", 20.0) > font.text_width("ab", 20.0)


def test_every_character_stays_within_its_own_width():
    for one in PRINTABLE[1:] + SIGNS:
        x = points(one)[:, 0]
        assert x.min() >= -1e-9
        assert x.max() == pytest.approx(font.text_width(one, 19.6))


def test_an_accent_keeps_its_letters_width_and_stands_above_it():
    for plain, marked in (("a", "\u00e4"), ("A", "\u00c4"), ("e", "\u00e9"), ("i", "\u00ee"), ("n", "\u00f1")):
        assert font.text_width(marked + "|", 20.0) == font.text_width(plain + "|", 20.0)
        assert points(marked)[:, 1].min() < (-12.0 if plain.islower() else -16.0)


def test_dots_are_wider_than_strokes_and_of_one_point():
    dots = [stroke for stroke in font.strokes("i.:", 20.0) if len(stroke.points) == 1]
    assert len(dots) == 4
    assert {stroke.factor for stroke in dots} == {font.DOT_FACTOR}


def test_a_space_has_no_strokes():
    assert font.strokes("  ", 20.0) == []


@pytest.mark.parametrize(
    ("size", "width", "halo"), [(24.0, 2.2, 2.0), (8.0, 1.2, 1.0), (22.5, 2.0, 2.5), (7.3, 0.8, 0.7)]
)
def test_a_character_looks_the_same_whatever_it_is_made_with(size, width, halo):
    """Else a resumed export would end with other bytes than one in one go."""
    keys = [(one, phase, size, width, halo) for one in "oObpdQ08%&gµ" for phase in range(4)]
    alone = [lettering._stroked([key])[0] for key in keys]
    for order in (range(len(keys)), range(len(keys) - 1, -1, -1), range(1, len(keys), 3)):
        for number, sprite in zip(order, lettering._stroked([keys[one] for one in order]), strict=True):
            assert (sprite.left, sprite.top) == (alone[number].left, alone[number].top)
            np.testing.assert_array_equal(sprite.cover, alone[number].cover)
