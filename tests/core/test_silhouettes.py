"""Hulls, unions of convex pieces, and lines that pieces hide."""

from __future__ import annotations

import numpy as np
import pytest

from striderule.draw.silhouettes import (
    Covers,
    hull_of_discs,
    hull_of_points,
    outline_outside,
    union_outline,
    visible_runs,
)

SQUARE = np.array([(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)])
TINY = 1e-7


def area_of(ring) -> float:
    after = np.roll(ring, -1, axis=0)
    return 0.5 * float((ring[:, 0] * after[:, 1] - ring[:, 1] * after[:, 0]).sum())


def length(rings) -> float:
    return sum(float(np.hypot(*(ring - np.roll(ring, 1, axis=0)).T).sum()) for ring in rings)


def inside(points, piece):
    along = np.roll(piece, -1, axis=0) - piece
    apart = points[:, None] - piece
    return (along[:, 0] * apart[..., 1] - along[:, 1] * apart[..., 0] > 0).all(axis=1)


def winding(points, rings):
    """Turns of all rings together around each point."""
    turns = np.zeros(len(points))
    for ring in rings:
        a = ring - points[:, None]
        b = np.roll(ring, -1, axis=0) - points[:, None]
        turns += np.arctan2(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0], (a * b).sum(axis=-1)).sum(axis=1)
    return np.rint(turns / (2 * np.pi)).astype(int)


def test_the_hull_of_a_limb_touches_both_its_discs_and_holds_nothing_more():
    ring = hull_of_discs(np.array((0.0, 0.0)), np.array((30.0, 40.0)), 9.0, 4.0, 0.01)
    turn = np.linspace(0, 2 * np.pi, 720, endpoint=False)
    way = np.stack([np.cos(turn), np.sin(turn)])
    support = np.maximum(9.0, np.array((30.0, 40.0)) @ way + 4.0)
    reached = (ring @ way).max(axis=0)
    assert (reached <= support + 1e-9).all()
    assert (support - reached).max() < 0.011
    assert area_of(ring) > 0


@pytest.mark.parametrize(("second", "other"), [((2.0, 0.0), 3.0), ((0.0, 0.0), 8.0), ((5.0, 0.0), 3.0)])
def test_a_disc_inside_the_other_leaves_one_full_disc(second, other):
    ring = hull_of_discs(np.array((0.0, 0.0)), np.array(second), 8.0, other, 0.01)
    assert np.hypot(*ring.T) == pytest.approx(8.0)
    assert area_of(ring) == pytest.approx(np.pi * 64, rel=5e-3)


def test_hulls_of_points_in_a_line_or_in_one_place_have_no_corners_to_fill():
    assert len(hull_of_points(np.array([(0.0, 0), (1, 1), (2, 2)]))) == 2
    assert len(hull_of_points(np.zeros((4, 2)))) == 1
    assert np.array_equal(hull_of_points(np.array([*SQUARE, (5.0, 5.0), (5.0, 0.0)])), SQUARE)


def test_two_squares_side_by_side_become_one_outline_without_the_line_between_them():
    rings = union_outline([SQUARE, SQUARE + np.array((10.0, 0.0))], TINY)
    assert len(rings) == 1
    assert length(rings) == pytest.approx(60)
    assert sum(map(area_of, rings)) == pytest.approx(200)


def test_a_shared_edge_on_the_same_side_is_drawn_once():
    rings = union_outline([SQUARE, SQUARE * (0.5, 1.0)], TINY)
    assert length(rings) == pytest.approx(40)
    assert len(union_outline([SQUARE, SQUARE, SQUARE], TINY)) == 1


def test_pieces_apart_stay_apart_and_a_piece_inside_another_vanishes():
    assert len(union_outline([SQUARE, SQUARE + 50.0], TINY)) == 2
    assert length(union_outline([SQUARE, SQUARE * 0.2 + 3.0], TINY)) == pytest.approx(40)


def test_four_bars_around_a_hole_give_an_outline_and_a_hole_that_runs_the_other_way():
    bars = [
        np.array([(x, y), (x + w, y), (x + w, y + h), (x, y + h)], float)
        for x, y, w, h in ((0, 0, 30, 5), (0, 25, 30, 5), (0, 0, 5, 30), (25, 0, 5, 30))
    ]
    rings = union_outline(bars, TINY)
    assert sorted(round(area_of(ring)) for ring in rings) == [-400, 900]


def test_a_place_is_inside_the_union_exactly_where_it_is_inside_a_piece():
    random = np.random.default_rng(5)
    for _ in range(150):
        pieces = [hull_of_discs(*random.uniform(0, 100, (2, 2)), *random.uniform(2, 25, 2), 0.1) for _ in range(3)]
        pieces += [hull_of_points(random.integers(0, 10, (7, 2)) * 10.0) for _ in range(2)]
        pieces = [piece for piece in pieces if len(piece) > 2]
        places = random.uniform(-20, 120, (200, 2))
        true = np.any([inside(places, piece) for piece in pieces], axis=0)
        assert np.array_equal(winding(places, union_outline(pieces, TINY)) != 0, true)


def test_a_line_behind_a_piece_comes_back_in_two_runs_that_end_at_its_edge():
    runs = visible_runs([np.array([(-5.0, 5.0), (15.0, 5.0)])], False, Covers.of([SQUARE]), TINY)
    assert [run.places.tolist() for run in runs] == [[[-5, 5], [0, 5]], [[10, 5], [15, 5]]]


def test_a_line_behind_two_pieces_that_overlap_loses_their_union():
    covers = Covers.of([SQUARE, SQUARE + np.array((5.0, 0.0))])
    runs = visible_runs([np.array([(-5.0, 5.0), (25.0, 5.0)])], False, covers, TINY)
    assert [run.places.tolist() for run in runs] == [[[-5, 5], [0, 5]], [[15, 5], [25, 5]]]


def test_an_outline_is_hidden_wholly_by_its_own_pieces_and_not_at_all_by_pieces_elsewhere():
    assert visible_runs([SQUARE], True, Covers.of([SQUARE]), TINY) == []
    (run,) = visible_runs([SQUARE], True, Covers.of([SQUARE + 40.0]), TINY)
    assert run.closed
    assert visible_runs([], True, Covers.of([]), TINY) == []


def test_a_closed_outline_cut_once_is_one_run_whatever_its_first_corner():
    cover = Covers.of([np.array([(8.0, 4.0), (12.0, 4.0), (12.0, 6.0), (8.0, 6.0)])])
    for shift in range(4):
        (run,) = visible_runs([np.roll(SQUARE, shift, axis=0)], True, cover, TINY)
        assert not run.closed
        assert len(run.places) == 6
        assert sorted(map(tuple, run.places[[0, -1]].tolist())) == [(10, 4), (10, 6)]


def test_of_a_square_half_covered_the_other_half_is_left_and_of_one_that_nothing_covers_its_own_outline():
    rings = outline_outside([SQUARE], [SQUARE + np.array((4.0, 0.0)), SQUARE + 40.0], TINY)
    assert sum(map(area_of, rings)) == pytest.approx(40)
    for nothing in ([], [SQUARE + 40.0], [SQUARE[:0]]):
        (ring,) = outline_outside([SQUARE], nothing, TINY)
        assert np.array_equal(ring, SQUARE)
    assert sum(map(area_of, outline_outside([SQUARE], [SQUARE], TINY))) == pytest.approx(0)


def test_a_place_is_left_exactly_where_it_is_inside_a_piece_and_outside_all_that_cover_it():
    random = np.random.default_rng(11)
    for _ in range(150):
        first, second = (
            [hull_of_discs(*random.uniform(0, 60, (2, 2)), *random.uniform(2, 25, 2), 0.1) for _ in range(3)]
            for _ in range(2)
        )
        places = random.uniform(-20, 80, (200, 2))
        true = np.any([inside(places, a) for a in first], axis=0) & ~np.any([inside(places, b) for b in second], axis=0)
        turns = winding(places, outline_outside(first, second, TINY))
        assert np.array_equal(turns, true.astype(int))
