"""Painting a drawing: order, alpha, halos, dashes, clipping and refusals. Exact areas are checked in tests/outside."""

from __future__ import annotations

import dataclasses
import itertools

import numpy as np
import pytest

from striderule.draw import lettering, raster
from striderule.draw.drawing import Area, Dot, Ink, Item, Label, Layer, Line, Ring
from striderule.errors import GeometryError

RED, GREEN, BLUE, WHITE = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0), (1.0, 1.0, 1.0)
SQUARE = np.array(((3.5, 3.5), (19.5, 3.5), (19.5, 19.5), (3.5, 19.5)))


def painted(*items: Item, size: tuple[int, int] = (40, 30), start: raster.Canvas | None = None) -> np.ndarray:
    return raster.render([Layer("only", items)], *size, start).rgba8()


def line(*points: tuple[float, float], closed: bool = False, **ink) -> Line:
    return Line(np.array(points, dtype=float), Ink(**({"colour": WHITE, "width": 2.0} | ink)), closed)


def busy(seed: int = 0, width: float = 120.0, height: float = 90.0) -> tuple[Item, ...]:
    """Some of everything, partly outside a picture of that size."""
    random = np.random.default_rng(seed)
    ink = Ink(RED, 2.4, 0.8, 2.0, 0.7)
    items: list[Item] = []
    for _ in range(6):
        spread = random.uniform(-20, 20, (5, 2)) + random.uniform(0, 1, 2) * (width, height)
        x, y = spread[0]
        items += [
            Area((spread,), BLUE, 0.3),
            Line(spread, ink),
            Line(spread + 9, ink, closed=True),
            Ring(x, y, 8.0, ink),
            Line(spread - 5, dataclasses.replace(ink, dash=(6.0, 4.0))),
            Dot(y, x, 3.0, ink),
            Label(f"Pose {x:.1f}\u00b0", x, y, 18.0, ink),
        ]
    return tuple(items)


def test_a_picture_without_items_is_all_zeros_in_the_asked_size():
    picture = painted(size=(13, 7))
    assert picture.shape == (7, 13, 4)
    assert picture.dtype == np.uint8
    assert not picture.any()


def test_colour_is_zero_wherever_alpha_is_zero():
    picture = painted(*busy(), size=(120, 90))
    assert picture[picture[..., 3] == 0].sum() == 0
    assert 0 < (picture[..., 3] > 0).mean() < 1


def test_pixel_nought_nought_is_centred_on_the_origin():
    """A dot of radius half a pixel at (0, 0) covers pi / 4 of the first pixel and nothing else."""
    picture = painted(Dot(0.0, 0.0, 0.5, Ink(RED, 0.0)))
    assert picture[0, 0].tolist() == [255, 0, 0, 200]
    assert picture[..., 3].astype(int).sum() == 200


def test_a_square_on_pixel_sides_fills_whole_pixels_with_straight_colour():
    picture = painted(Area((SQUARE,), (0.2, 0.4, 0.6), 0.5))
    assert (picture[4:20, 4:20] == (51, 102, 153, 128)).all()
    picture[4:20, 4:20] = 0
    assert not picture.any()


def test_a_later_item_covers_an_earlier_one_whatever_their_kinds():
    area, ring = Area((SQUARE,), RED, 1.0), Ring(11.0, 11.0, 4.0, Ink(GREEN, 3.0))
    label = Label("-", 8.0, 11.0 + 18 * 5.6 / 19.6, 18.0, Ink(BLUE, 3.0))
    assert painted(area, ring, label)[11, 11].tolist() == [0, 0, 255, 255]
    assert painted(label, ring, area)[11, 11].tolist() == [255, 0, 0, 255]
    assert painted(area, ring)[11, 7].tolist() == [0, 255, 0, 255]
    assert painted(ring, area)[11, 7].tolist() == [255, 0, 0, 255]


def test_layers_are_painted_from_the_first_to_the_last():
    layers = [Layer("low", (Area((SQUARE,), RED, 1.0),)), Layer("high", (Area((SQUARE,), GREEN, 1.0),))]
    assert raster.render(layers, 40, 30).rgba8()[10, 10].tolist() == [0, 255, 0, 255]


def test_two_half_opaque_fills_mix_as_one_painted_over_the_other():
    picture = painted(Area((SQUARE,), RED, 0.5), Area((SQUARE,), GREEN, 0.5))
    assert picture[10, 10].tolist() == [85, 170, 0, 191]


def test_an_areas_hole_runs_the_other_way_and_the_same_way_leaves_none():
    inner = np.array(((7.5, 7.5), (13.5, 7.5), (13.5, 13.5), (7.5, 13.5)))
    assert painted(Area((SQUARE, inner[::-1]), RED, 1.0))[10, 10, 3] == 0
    assert painted(Area((SQUARE, inner), RED, 1.0))[10, 10, 3] == 255


def test_alpha_does_not_add_up_where_a_line_crosses_or_retraces_itself():
    crossing = line((5, 5), (30, 25), (30, 5), (5, 25), (30, 5), alpha=0.5, width=3.0)
    assert painted(crossing)[..., 3].max() == 128


def test_a_halo_lies_under_its_line_and_over_earlier_items():
    low = Area((np.array(((-1.0, -1.0), (41, -1), (41, 31), (-1, 31))),), RED, 1.0)
    picture = painted(low, line((-5, 15), (45, 15), width=3.0, halo=2.0, halo_alpha=0.5))
    assert picture[15, 20].tolist() == [255, 255, 255, 255]
    assert picture[12, 20].tolist() == [128, 0, 0, 255]
    assert picture[18, 20].tolist() == [128, 0, 0, 255]
    assert picture[10, 20].tolist() == [255, 0, 0, 255]


def test_a_halo_has_its_own_colour():
    picture = painted(line((-5, 15), (45, 15), width=3.0, halo=2.0, halo_alpha=1.0, halo_colour=BLUE))
    assert picture[12, 20].tolist() == [0, 0, 255, 255]


def test_the_halo_of_a_dot_and_of_a_ring_reaches_as_far_as_that_of_a_line():
    ink = Ink(WHITE, 2.0, 1.0, 3.0, 1.0)
    assert painted(Dot(15.0, 15.0, 4.0, ink))[15, 21].tolist() == [0, 0, 0, 255]
    assert painted(Dot(15.0, 15.0, 4.0, ink))[15, 23, 3] == 0
    across = painted(Ring(15.0, 15.0, 8.0, ink))[15]
    assert across[[20, 25]].tolist() == [[0, 0, 0, 255]] * 2
    assert across[23].tolist() == [255, 255, 255, 255]
    assert across[[18, 28], 3].tolist() == [0, 0]
    assert ((across[[19, 27], 3] > 100) & (across[[19, 27], 3] < 160)).all()


@pytest.mark.parametrize("points", [((10, 10),), ((10, 10), (10, 10)), ((10, 10), (10, 10), (10, 10))])
@pytest.mark.parametrize("closed", [False, True])
def test_a_line_of_one_place_is_a_dot_of_its_width(points, closed):
    got = painted(line(*points, closed=closed, width=6.0, halo=2.0, halo_alpha=0.5))
    assert np.array_equal(got, painted(Dot(10.0, 10.0, 3.0, Ink(WHITE, 0.0, 1.0, 2.0, 0.5))))


def test_equal_points_within_a_line_change_nothing():
    assert np.array_equal(
        painted(line((5, 5), (5, 5), (30, 20), (30, 20), (8, 25))), painted(line((5, 5), (30, 20), (8, 25)))
    )


def test_a_closed_line_has_its_last_side():
    corners = ((5, 5), (30, 5), (30, 25), (5, 25))
    assert painted(line(*corners))[15, 5, 3] == 0
    assert painted(line(*corners, closed=True))[15, 5, 3] == 255
    assert np.array_equal(painted(line(*corners, closed=True)), painted(line(*corners, corners[0])))


@pytest.mark.parametrize("step", [0.5, 2.0, 6.0, 20.0, 60.0])
def test_every_pixel_well_inside_a_crooked_line_is_full_and_every_one_well_outside_empty(step):
    """Against the plain distance from each pixel to each segment, worked out here one by one."""
    random = np.random.default_rng(7)
    down, across = np.indices((90, 100))
    for _ in range(12):
        points = random.uniform(20, 80, 2) + np.cumsum(random.normal(0, step, (14, 2)), axis=0)
        width, halo = random.uniform(1.5, 9), random.uniform(0.5, 5)
        distance = np.full((90, 100), np.inf)
        for start, end in itertools.pairwise((*points, points[0])):
            way = end - start
            share = np.clip(((across - start[0]) * way[0] + (down - start[1]) * way[1]) / (way @ way), 0, 1)
            distance = np.minimum(
                distance, np.hypot(across - start[0] - share * way[0], down - start[1] - share * way[1])
            )
        ink = Ink(WHITE, width, 1.0, halo, 1.0)
        picture = painted(Line(points, ink, closed=True), size=(100, 90))
        assert (picture[distance < width / 2 - 0.75] == 255).all()
        between = (distance > width / 2 + 0.75) & (distance < width / 2 + halo - 0.75)
        assert (picture[between] == (0, 0, 0, 255)).all()
        assert not picture[distance > width / 2 + halo + 0.75].any()


def test_dashes_alternate_along_the_line_and_their_ends_are_round():
    row = painted(line((0, 15), (39, 15), width=1.0, dash=(6.0, 6.0)))[15, :, 3]
    assert row[[3, 15, 27, 39]].min() > 200
    assert row[[9, 21, 33]].max() == 0


def test_dashes_survive_a_closed_line_and_a_start_far_outside():
    corners = ((5.0, 5.0), (34.0, 5.0), (34.0, 24.0), (5.0, 24.0))
    ring = painted(line(*corners, closed=True, width=2.0, dash=(5.0, 5.0)))[..., 3]
    assert 0.35 < ring[10:20, 4:7].mean() / painted(line(*corners, closed=True))[10:20, 4:7, 3].mean() < 0.9
    far = painted(line((-1e7, 15), (39, 15), width=1.0, dash=(6.0, 6.0)))[15, :, 3]
    assert far.max() > 200
    assert far.min() == 0


def test_a_dash_without_gaps_and_one_of_next_to_no_length_are_solid():
    solid = painted(line((3, 5), (36, 22)))
    assert np.array_equal(painted(line((3, 5), (36, 22), dash=(5.0, 0.0))), solid)
    assert np.array_equal(painted(line((3, 5), (36, 22), dash=(1e-9, 1e-9))), solid)


def test_dashes_of_no_length_are_dots():
    row = painted(line((0, 15), (40, 15), width=3.0, dash=(0.0, 8.0)))[15, :, 3]
    assert row[[0, 8, 16, 24, 32]].min() == 255
    assert row[[4, 12, 20]].max() == 0


def test_a_dashed_ring_has_gaps():
    ring = painted(Ring(15.0, 15.0, 10.0, Ink(WHITE, 2.0, dash=(4.0, 4.0))))[..., 3]
    whole = painted(Ring(15.0, 15.0, 10.0, Ink(WHITE, 2.0)))[..., 3]
    assert 0.4 < ring.sum() / whole.sum() < 0.9


@pytest.mark.parametrize("far", [1e3, 1e7, 1e12])
def test_a_line_through_the_frame_looks_the_same_however_far_its_ends_are(far):
    near = painted(line((-20, 15.25), (60, 15.25), halo=2.0, halo_alpha=0.5))
    assert np.array_equal(painted(line((-far, 15.25), (far, 15.25), halo=2.0, halo_alpha=0.5)), near)


def test_a_slanting_line_of_ten_million_pixels_passes_where_it_should():
    got = painted(line((-1e7, -1e7 + 4), (1e7, 1e7 + 4), width=3.0)).astype(int)
    assert np.abs(got - painted(line((-50, -46), (50, 54), width=3.0))).max() <= 1


def test_fills_with_corners_ten_million_pixels_off_cover_the_frame_exactly():
    corners = np.array(((-1e7, -1e7), (1e7, -1e7), (1e7, 1e7), (-1e7, 1e7)))
    assert (painted(Area((corners,), GREEN, 1.0)) == (0, 255, 0, 255)).all()
    half = painted(Area((corners * (1, 0.5) + (0, 5e6 + 9.5),), GREEN, 1.0))
    assert not half[:10].any()
    assert (half[10:] == (0, 255, 0, 255)).all()


def test_a_disc_and_a_ring_of_ten_million_pixels_cut_the_frame_in_a_straight_line():
    radius = 1e7
    dot = painted(Dot(20.0 - radius, 15.0, radius, Ink(GREEN, 0.0, 1.0, 4.0, 1.0)))
    assert (dot[:, :19] == (0, 255, 0, 255)).all()
    assert (dot[:, 21:24] == (0, 0, 0, 255)).all()
    assert not dot[:, 25:].any()
    ring = painted(Ring(20.0 - radius, 15.0, radius, Ink(GREEN, 3.0)))
    assert (ring[:, 20, 3] > 250).all()
    assert not ring[:, 23:].any()


def test_what_lies_outside_the_frame_leaves_no_tile_behind():
    items = (
        line((-50, -50), (-10, 90)),
        Area((SQUARE + 500,), RED, 1.0),
        Dot(-30.0, 10.0, 5.0, Ink(RED, 1.0)),
        Ring(20.0, 15.0, 300.0, Ink(RED, 2.0)),
        Label("far", 900.0, 10.0, 20.0, Ink(RED, 2.0)),
    )
    assert len(raster.render([Layer("out", items)], 40, 30).tile) == 0


@pytest.mark.parametrize("size", [(1, 1), (7, 5), (8, 8), (121, 83)])
def test_a_smaller_picture_is_a_cut_out_of_a_larger_one(size):
    width, height = size
    assert np.array_equal(painted(*busy(), size=size), painted(*busy(), size=(160, 120))[:height, :width])


def test_moving_everything_by_whole_pixels_moves_the_picture():
    def moved(item: Item) -> Item:
        match item:
            case Area():
                return dataclasses.replace(item, rings=tuple(ring + np.array((8, 16)) for ring in item.rings))
            case Line():
                return dataclasses.replace(item, points=item.points + np.array((8, 16)))
            case _:
                return dataclasses.replace(item, x=item.x + 8, y=item.y + 16)

    near = painted(*busy(), size=(200, 200)).astype(int)
    far = painted(*(moved(item) for item in busy()), size=(208, 216)).astype(int)
    assert np.abs(far[16:, 8:] - near)[8:, 8:].max() <= 1


def test_painting_on_a_started_canvas_gives_the_bytes_of_painting_all_at_once():
    first, second, third = (Layer(str(k), busy(k)) for k in range(3))
    whole = raster.render([first, second, third], 120, 90)
    start = raster.render([first], 120, 90)
    before = start.rgba8()
    step = raster.render([third], 120, 90, raster.render([second], 120, 90, start))
    assert np.array_equal(raster.render([second, third], 120, 90, start).rgba8(), whole.rgba8())
    assert np.array_equal(step.rgba8(), whole.rgba8())
    assert np.array_equal(start.rgba8(), before)
    assert np.array_equal(raster.over_backdrop(step, (0.3, 0.4, 0.5)), raster.over_backdrop(whole, (0.3, 0.4, 0.5)))


def test_painting_nothing_on_a_canvas_gives_that_canvas_back():
    start = raster.render([Layer("a", busy())], 120, 90)
    assert np.array_equal(raster.render([], 120, 90, start).rgba8(), start.rgba8())


def test_the_same_drawing_gives_the_same_bytes_with_and_without_kept_lettering():
    lettering.forget()
    one = painted(*busy(), size=(120, 90))
    assert np.array_equal(painted(*busy(), size=(120, 90)), one)
    lettering.forget()
    assert np.array_equal(
        painted(*reversed(busy()), *busy(), size=(120, 90)), painted(*reversed(busy()), *busy(), size=(120, 90))
    )


def test_a_label_looks_the_same_wherever_it_stands():
    ink = Ink(WHITE, 2.0, 1.0, 2.0, 0.7)
    one = painted(Label("Pose 3", 9.0, 30.0, 20.0, ink), size=(120, 60))
    two = painted(Label("Pose 3", 14.3, 43.4, 20.0, ink), size=(120, 60))
    assert np.array_equal(two[13:, 5:], one[:-13, :-5])
    assert one.any()


def test_dots_that_share_a_tile_are_all_there():
    """Two dots of a diaeresis, and three of an ellipsis, lie within eight pixels."""
    ink = Ink(WHITE, 1.4)
    plain, marked = (
        painted(Label(text, 10.0, 25.0, 16.0, ink))[..., 3].astype(float).sum() for text in ("a", "\u00e4")
    )
    dot = painted(Label(".", 10.0, 25.0, 16.0, ink))[..., 3].astype(float).sum()
    assert marked - plain == pytest.approx(2 * dot, rel=0.02)
    assert painted(Label("\u2026", 10.0, 25.0, 12.0, ink))[..., 3].astype(float).sum() == pytest.approx(
        3 * dot, rel=0.05
    )


def test_rows_without_ink_are_marked_blank_and_none_with_ink_is():
    canvas = raster.render([Layer("a", (line((5, 20), (30, 28)),))], 40, 70)
    inked, picture = canvas.inked_rows(), canvas.rgba8()
    assert inked.shape == (70,)
    assert inked[picture.any(axis=(1, 2))].all()
    assert not inked[48:].any()


def test_over_a_backdrop_the_straight_picture_is_mixed_by_its_alpha():
    canvas = raster.render([Layer("a", busy())], 120, 90)
    straight = canvas.rgba8().astype(float)
    alpha = straight[..., 3:] / 255
    back = np.array((0.2, 0.5, 0.9))
    got = raster.over_backdrop(canvas, (0.2, 0.5, 0.9))
    assert got.shape == (90, 120, 3)
    assert np.abs(straight[..., :3] * alpha + back * 255 * (1 - alpha) - got).max() <= 1.6


def test_a_picture_of_24_million_pixels_makes_only_the_tiles_that_are_touched():
    canvas = raster.render([Layer("a", (line((10, 10), (5990, 3990), halo=2.0, halo_alpha=0.5),))], 6000, 4000)
    assert canvas.light.nbytes < 5e6
    assert canvas.inked_rows().all()


NAN = float("nan")


@pytest.mark.parametrize(
    "item",
    [
        line((1, 1), (NAN, 2)),
        line((1, 1), (float("inf"), 2)),
        line((1, 1), (2, 2), width=NAN),
        line((1, 1), (2, 2), width=-1.0),
        line((1, 1), (2, 2), halo=-1.0),
        line((1, 1), (2, 2), dash=(-1.0, 2.0)),
        line((1, 1), (2, 2), alpha=NAN),
        Line(np.zeros((3, 3)), Ink(RED, 1.0)),
        Area((np.array(((0.0, 0.0), (1.0, NAN), (3.0, 3.0))),), RED, 1.0),
        Area((np.zeros(4),), RED, 1.0),
        Area((SQUARE,), RED, NAN),
        Ring(NAN, 1.0, 2.0, Ink(RED, 1.0)),
        Ring(1.0, 1.0, -2.0, Ink(RED, 1.0)),
        Ring(1.0, 1.0, float("inf"), Ink(RED, 1.0)),
        Dot(1.0, NAN, 2.0, Ink(RED, 1.0)),
        Dot(1.0, 1.0, float("inf"), Ink(RED, 1.0)),
        Label("a", NAN, 1.0, 10.0, Ink(RED, 1.0)),
        Label("a", 1.0, 1.0, -10.0, Ink(RED, 1.0)),
        Label("a", 1.0, 1.0, 1e5, Ink(RED, 1.0)),
        Ring(1.0, NAN, 2.0, Ink(RED, 1.0, dash=(1.0, 2.0))),
    ],
)
def test_numbers_that_are_not_finite_and_negative_sizes_are_refused(item):
    with pytest.raises(GeometryError):
        painted(item)


def test_a_picture_of_no_size_and_a_canvas_of_another_size_are_refused():
    with pytest.raises(GeometryError, match="1 x 1"):
        raster.render([], 0, 10)
    with pytest.raises(GeometryError, match="40 x 30"):
        raster.render([], 41, 30, raster.Canvas.blank(40, 30))


def test_lines_without_points_and_areas_without_rings_paint_nothing():
    empty = np.zeros((0, 2))
    assert not painted(
        Line(empty, Ink(RED, 2.0)),
        Area((), RED, 1.0),
        Area((empty,), RED, 1.0),
        Label("", 5.0, 20.0, 20.0, Ink(RED, 2.0)),
        Label("  ", 5.0, 20.0, 20.0, Ink(RED, 2.0)),
    ).any()
