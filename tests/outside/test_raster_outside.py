"""The raster against exact pixel areas computed by Shapely (GEOS), and its PNG files against Pillow.

Errors are in 255ths over the pixels that an edge crosses, measured on the canvas before it is rounded to bytes.
"""

from __future__ import annotations

import io

import numpy as np
import pytest
import shapely
import shapely.ops
from PIL import Image

from striderule.draw import png, raster
from striderule.draw.drawing import Area, Dot, Ink, Item, Layer, Line, Ring
from striderule.draw.tiles import SIDE

SIZE = 64
WHITE = (1.0, 1.0, 1.0)
PIXELS = shapely.box(
    *(np.stack(np.meshgrid(np.arange(SIZE), np.arange(SIZE)), axis=0)[k % 2] + (-0.5, 0.5)[k // 2] for k in range(4))
)


def coverage(*items: Item) -> np.ndarray:
    """Opacity (SIZE, SIZE) of items on an empty picture."""
    canvas = raster.render([Layer("only", items)], SIZE, SIZE)
    cells = np.zeros((SIZE // SIDE, SIDE, SIZE // SIDE, SIDE))
    row, column = canvas.tile // (SIZE // SIDE), canvas.tile % (SIZE // SIDE)
    cells[row, :, column] = 1 - canvas.light[:, 3].reshape(-1, SIDE, SIDE)
    return cells.reshape(SIZE, SIZE)


def areas(shape: shapely.Geometry) -> np.ndarray:
    """The exact area of a shape within each pixel."""
    outline = shape.boundary
    shapely.prepare([shape, outline])
    down, across = np.indices((SIZE, SIZE))
    area = shapely.contains_xy(shape, across, down).astype(float)
    edge = shapely.intersects(outline, PIXELS)
    area[edge] = shapely.area(shapely.intersection(PIXELS[edge], shape))
    return area


def errors(shape: shapely.Geometry, *items: Item) -> tuple[float, float]:
    """Mean and greatest error in 255ths over edge pixels; every other pixel must be right to a tenth."""
    want, got = areas(shape), coverage(*items)
    error = np.abs(want - got) * 255
    edge = ((want > 1e-6) & (want < 1 - 1e-6)) | ((got > 1e-6) & (got < 1 - 1e-6))
    assert error[~edge].max() < 0.1
    return float(error[edge].mean()), float(error.max())


def stroke(points: np.ndarray, width: float, closed: bool = False) -> shapely.Geometry:
    line = shapely.LinearRing(points) if closed else shapely.LineString(points)
    return line.buffer(width / 2, quad_segs=90, cap_style="round", join_style="round")


def many(case, count: int = 10) -> tuple[float, float]:
    """Mean of the means and the worst of all over random cases."""
    found = np.array([case(np.random.default_rng(seed)) for seed in range(count)])
    return float(found[:, 0].mean()), float(found[:, 1].max())


@pytest.mark.parametrize("width", [0.8, 1.2, 1.4, 2.4, 3.2, 7.2])
def test_the_flanks_of_a_straight_line_have_exact_areas(width):
    def case(random):
        turn, middle = random.uniform(0, 2 * np.pi), random.uniform(28, 36, 2)
        way = np.array((np.cos(turn), np.sin(turn))) * 200
        points = np.array((middle - way, middle + way))
        return errors(stroke(points, width), Line(points, Ink(WHITE, width)))

    mean, worst = many(case)
    assert mean < 0.01
    assert worst < 0.1


@pytest.mark.parametrize(
    ("width", "mean_limit", "worst_limit"), [(1.2, 2.0, 26), (2.4, 0.8, 14), (3.2, 0.6, 10), (7.2, 0.3, 5)]
)
def test_round_ends_are_close_to_exact_areas(width, mean_limit, worst_limit):
    def case(random):
        points = 32 + random.uniform(-6, 6, (2, 2))
        return errors(stroke(points, width), Line(points, Ink(WHITE, width)))

    mean, worst = many(case, 24)
    assert mean < mean_limit
    assert worst < worst_limit


@pytest.mark.parametrize("width", [1.2, 2.4, 3.2, 7.2])
def test_joins_are_close_to_exact_areas(width):
    """Bends up to a right angle, ends outside the frame. The worst is the one pixel inside the bend, where the
    greater of two partial areas stands for both: at most a quarter of 255."""

    def case(random):
        turn, bend = random.uniform(0, 2 * np.pi), random.uniform(-np.pi / 2, np.pi / 2)
        ways = np.array(((-np.cos(turn), -np.sin(turn)), (0, 0), (np.cos(turn + bend), np.sin(turn + bend))))
        points = random.uniform(28, 36, 2) + 60 * ways
        return errors(stroke(points, width), Line(points, Ink(WHITE, width)))

    mean, worst = many(case, 24)
    assert mean < 0.2
    assert worst < 64


def test_a_finely_divided_curve_is_as_smooth_as_the_curve():
    def case(random):
        t = np.linspace(0, 5.5, 80)
        points = np.column_stack((32 + 22 * np.cos(t), 32 + 14 * np.sin(t))) + random.uniform(-1, 1, 2)
        return errors(stroke(points, 3.2), Line(points, Ink(WHITE, 3.2)))

    mean, worst = many(case, 10)
    assert mean < 0.7
    assert worst < 16


@pytest.mark.parametrize("radius", [0.3, 1.0, 2.0, 4.0, 15.0])
def test_dots_have_exact_areas(radius):
    def case(random):
        x, y = random.uniform(25, 39, 2)
        return errors(shapely.Point(x, y).buffer(radius, quad_segs=2000), Dot(x, y, radius, Ink(WHITE, 1.0)))

    assert many(case)[1] < 0.05


@pytest.mark.parametrize(("radius", "width"), [(1.0, 3.0), (4.0, 2.4), (8.0, 2.4), (20.0, 1.2)])
def test_rings_have_exact_areas_and_stand_where_they_should(radius, width):
    def case(random):
        x, y = random.uniform(28, 36, 2)
        shape = shapely.Point(x, y).buffer(radius + width / 2, quad_segs=2000)
        if radius > width / 2:
            shape = shape.difference(shapely.Point(x, y).buffer(radius - width / 2, quad_segs=2000))
        ring = Ring(x, y, radius, Ink(WHITE, width))
        got = coverage(ring)
        down, across = np.indices(got.shape)
        centroid = np.array(((got * across).sum(), (got * down).sum())) / got.sum()
        assert np.abs(centroid - (x, y)).max() < 0.01
        return errors(shape, ring)

    assert many(case)[1] < 0.05


def test_a_ring_of_ten_thousand_pixels_passes_the_frame_where_geometry_says():
    x, y, radius = 10031.3, 40.7, 10000.0
    shape = (
        shapely.Point(x, y)
        .buffer(radius + 1, quad_segs=20000)
        .difference(shapely.Point(x, y).buffer(radius - 1, quad_segs=20000))
    )
    mean, worst = errors(shape, Ring(x, y, radius, Ink(WHITE, 2.0)))
    assert mean < 1.0
    assert worst < 1.5


def test_filled_polygons_have_exact_areas():
    def case(random):
        turn = np.sort(random.uniform(0, 2 * np.pi, 12))
        points = 32 + np.column_stack((np.cos(turn), np.sin(turn))) * random.uniform(12, 30, 12)[:, None]
        return errors(shapely.Polygon(points).buffer(0), Area((points,), WHITE, 1.0))

    mean, worst = many(case)
    assert mean < 0.01
    assert worst < 0.05


def test_a_fill_with_a_hole_that_leaves_the_frame_on_all_sides_has_exact_areas():
    turn = np.linspace(0, 2 * np.pi, 30, endpoint=False)
    circle = np.column_stack((np.cos(turn), np.sin(turn)))
    outer, hole = 32.3 + circle * 40, 30.1 + circle[::-1] * 9
    shape = shapely.Polygon(outer, [hole])
    assert errors(shape, Area((outer, hole), WHITE, 1.0))[1] < 0.05


def test_a_rectangle_with_level_edges_across_many_tiles_has_exact_areas():
    corners = np.array(((2.25, 11.4), (60.75, 11.4), (60.75, 43.1), (2.25, 43.1)))
    assert errors(shapely.Polygon(corners), Area((corners,), WHITE, 1.0))[1] < 0.05


def test_a_halo_reaches_just_so_far_beyond_the_line():
    points = np.array(((10.3, 12.1), (50.2, 47.9)))
    ink = Ink(WHITE, 3.0, alpha=0.0, halo=2.0, halo_alpha=1.0)
    mean, worst = errors(stroke(points, 7.0), Line(points, ink))
    assert mean < 1.0
    assert worst < 8


def test_dashes_begin_at_the_lines_start_and_run_on_over_corners():
    points = np.array(((8.2, 50.3), (8.2, 12.6), (52.9, 12.6)))
    line = shapely.LineString(points)
    starts = np.arange(0, line.length, 13.0)
    shape = shapely.union_all(
        [shapely.ops.substring(line, s, min(s + 8.0, line.length)).buffer(1.25, quad_segs=90) for s in starts]
    )
    mean, worst = errors(shape, Line(points, Ink(WHITE, 2.5, dash=(8.0, 5.0))))
    assert mean < 2.0
    assert worst < 20


@pytest.mark.parametrize("channels", [3, 4])
@pytest.mark.parametrize("blank", [0.0, 0.5, 1.0])
def test_pillow_reads_the_same_pixels_that_were_written(channels, blank):
    random = np.random.default_rng(3)
    pixels = random.integers(0, 256, (75, 53, channels), np.uint8)
    pixels[random.uniform(size=75) < blank] = 0
    with Image.open(io.BytesIO(png.encode(pixels))) as picture:
        picture.load()
        assert picture.mode == ("RGB", "RGBA")[channels - 3]
        assert np.array_equal(np.asarray(picture), pixels)


@pytest.mark.parametrize("mode", ["RGB", "RGBA"])
def test_a_png_that_pillow_filtered_is_read_the_same(mode):
    down, across = np.indices((40, 61))
    waves = 128 + 90 * np.sin(across / 7.0)[..., None] * np.cos(down[..., None] / 5.0 + np.arange(len(mode)))
    pixels = (waves + np.random.default_rng(0).integers(0, 5, waves.shape)).astype(np.uint8)
    file = io.BytesIO()
    Image.fromarray(pixels).save(file, "PNG")
    assert np.array_equal(png.decode(file.getvalue()), pixels)
