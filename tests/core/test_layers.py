"""Plan + View -> Drawing: what each overlay layer holds."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from striderule.camera.lens import pixels_from_stage
from striderule.camera.placing import view_named, views_of
from striderule.camera.solids import solids_of
from striderule.draw.drawing import Area, Dot, Label, Line, Ring
from striderule.draw.font import ascent, covers, descent, text_width
from striderule.draw.labelling import NotePlacer, key_words
from striderule.draw.layers import STILL_LAYERS, ShotDrawings, drawing_of
from striderule.draw.marks import LEAST_MOVE, smooth_path
from striderule.draw.palette import ORANGE, SKY_BLUE, WHITE, YELLOW, Palette
from striderule.draw.puppet_outline import PuppetOutlines
from striderule.draw.raster import render
from striderule.errors import ModelError
from striderule.model.seeds import starter_paths
from striderule.model.shot import LAYERS, Overlay, Shot
from striderule.model.shotfile import load_shot
from striderule.model.view import BUILT_IN_VIEWS, CameraSetup, View
from striderule.model.walk import Hips
from striderule.solve import FootState, Plan, solve

STARTERS: dict[str, Shot] = {name: load_shot(path) for name, path in starter_paths().items()}
PLANS: dict[str, Plan] = {name: solve(shot) for name, shot in STARTERS.items()}
HERON = PLANS["heron"]


def heron(cameras: tuple[CameraSetup, ...] = (), **walk) -> Plan:
    shot = STARTERS["heron"]
    return solve(replace(shot, walk=replace(shot.walk, **walk), cameras=cameras))


def places(items) -> np.ndarray:
    """Every coordinate of the items, (n, 2)."""
    found = [np.zeros((0, 2))]
    for item in items:
        if isinstance(item, Line):
            found.append(item.points)
        elif isinstance(item, Area):
            found.extend(item.rings)
        else:
            found.append(np.array([(item.x, item.y)]))
    return np.concatenate(found)


def of_kind(layer, kind) -> list:
    return [item for item in layer.items if isinstance(item, kind)]


def pixels_of(drawing) -> np.ndarray:
    return render(drawing.layers, drawing.width, drawing.height).rgba8()


@pytest.mark.parametrize("name", STARTERS)
def test_every_layer_of_every_view_has_finite_places_not_far_outside_the_frame(name):
    plan = PLANS[name]
    for view in views_of(plan):
        drawings = ShotDrawings(plan, view, Overlay(ghosts_before=3, ghosts_after=2))
        for pose in (0, 7, plan.poses - 1):
            drawing = drawings.drawing(pose)
            assert [layer.name for layer in drawing.layers] == list(LAYERS)
            for layer in drawing.layers:
                at = places(layer.items)
                assert np.isfinite(at).all()
                if len(at):
                    assert at.min() > -70
                    assert (at < (view.width + 70, view.height + 70)).all()
            for layer in ("target", "pose", "labels", "floor", "arcs"):
                assert drawing.layer(layer).items, (view.name, layer)


def test_the_target_is_a_ring_around_the_reference_point_open_for_more_than_8_pixels():
    view = view_named(HERON, "three-quarter-front")
    drawings = ShotDrawings(HERON, view)
    for pose in range(HERON.poses):
        layer = drawings.layer("target", pose)
        (ring,) = of_kind(layer, Ring)
        assert (ring.x, ring.y) == pytest.approx(pixels_from_stage(view, HERON.reference_mm[pose])[0], abs=1e-9)
        opening = ring.radius - ring.ink.width / 2 - ring.ink.halo
        assert 2 * opening >= 8
        for tick in of_kind(layer, Line):
            assert np.hypot(*(tick.points - (ring.x, ring.y)).T).min() > ring.radius + ring.ink.width / 2
        assert places(of_kind(layer, Line)).mean(axis=0) == pytest.approx((ring.x, ring.y), abs=1e-9)


def test_no_line_of_another_layer_but_arcs_and_floor_crosses_the_rings_open_centre():
    for name in ("side-on", "head-on", "high"):
        drawings = ShotDrawings(HERON, view_named(HERON, name), Overlay(ghosts_before=2, ghosts_after=2))
        for pose in (0, 9, 14):
            (ring,) = of_kind(drawings.layer("target", pose), Ring)
            for layer in ("pose", "ghosts", "spacing"):
                for line in of_kind(drawings.layer(layer, pose), Line):
                    points = np.concatenate([line.points, line.points[:1]]) if line.closed else line.points
                    fine = smooth_line(points)
                    assert np.hypot(*(fine - (ring.x, ring.y)).T).min() > ring.radius - 0.5, (name, layer)


def smooth_line(points: np.ndarray) -> np.ndarray:
    share = np.linspace(0, 1, 20)[:, None, None]
    return (points[:-1] + share * np.diff(points, axis=0)).reshape(-1, 2)


def test_a_reference_point_off_the_frame_or_behind_the_camera_has_no_ring():
    aside = CameraSetup("aside", (0.0, -600.0, 200.0), (900.0, -600.0, 200.0))
    away = CameraSetup("away", (0.0, -600.0, 200.0), (0.0, -900.0, 200.0))
    plan = heron((aside, away))
    for name in ("aside", "away"):
        drawings = ShotDrawings(plan, view_named(plan, name))
        assert drawings.layer("target", 0).items == ()
        assert not of_kind(drawings.layer("spacing", 0), Line)


def test_a_camera_inside_the_puppet_draws_finite_lines_that_the_raster_can_paint():
    inside = CameraSetup("inside", (60.0, 0.0, 150.0), (300.0, 10.0, 120.0), 18.0)
    plan = heron((inside,))
    drawings = ShotDrawings(plan, view_named(plan, "inside"), Overlay(ghosts_before=2, ghosts_after=2))
    for pose in (0, 4, 9):
        drawing = drawings.drawing(pose)
        assert np.isfinite(np.concatenate([places(layer.items) for layer in drawing.layers])).all()
        pixels_of(drawing)


def test_a_bent_lens_bends_every_layer():
    straight = view_named(HERON, "side-on")
    bent = replace(straight, distortion=(-0.2, 0.05, 0.001, -0.001, 0.0))
    drawings = ShotDrawings(HERON, bent)
    (ring,) = of_kind(drawings.layer("target", 3), Ring)
    assert (ring.x, ring.y) == pytest.approx(pixels_from_stage(bent, HERON.reference_mm[3])[0])
    for name in ("pose", "floor", "arcs"):
        here, there = places(drawings.layer(name, 3).items), places(ShotDrawings(HERON, straight).layer(name, 3).items)
        assert len(here) >= len(there)
        assert np.isfinite(here).all()
        assert abs(here[:, 0].min() - there[:, 0].min()) > 0.3


def test_spacing_shows_a_tick_per_neighbour_pose_fainter_with_distance_across_the_track():
    view = view_named(HERON, "side-on")
    drawings = ShotDrawings(HERON, view, Overlay(neighbours=3))
    width = Palette(1.0).mark.width
    at = pixels_from_stage(view, HERON.reference_mm)[0]
    ticks = [item for item in drawings.layer("spacing", 12).items if item.ink.width == width]
    centres = np.array([tick.points.mean(axis=0) for tick in ticks])
    assert np.allclose(centres[np.argsort(centres[:, 0])], at[[9, 10, 11, 13, 14, 15]])
    alphas = {round(tick.points.mean(axis=0)[0]): tick.ink.alpha for tick in ticks}
    by_offset = [alphas[round(at[12 + k, 0])] for k in (1, 2, 3)]
    assert by_offset == sorted(by_offset, reverse=True)
    assert len(set(by_offset)) == 3
    for tick in ticks:
        assert abs(np.diff(tick.points, axis=0)[0, 0]) < abs(np.diff(tick.points, axis=0)[0, 1])
    first = [item for item in drawings.layer("spacing", 0).items if item.ink.width == width]
    assert len(first) == 3


def test_the_track_is_solid_where_the_puppet_comes_from_and_dashed_where_it_goes():
    drawings = ShotDrawings(HERON, view_named(HERON, "side-on"))
    (ring,) = of_kind(drawings.layer("target", 12), Ring)
    for line in of_kind(drawings.layer("spacing", 12), Line):
        if len(line.points) > 2:
            assert (line.ink.dash is None) == (line.points[:, 0].mean() < ring.x)


def test_spacing_marks_that_would_touch_are_left_out():
    drawings = ShotDrawings(HERON, view_named(HERON, "head-on"))
    width = Palette(1.0).mark.width
    ticks = [item for item in drawings.layer("spacing", 12).items if item.ink.width == width]
    assert len(ticks) < 6
    step = np.hypot(*np.diff(pixels_from_stage(view_named(HERON, "head-on"), HERON.reference_mm)[0], axis=0).T)
    assert step.max() < LEAST_MOVE


def test_a_leg_that_nothing_hides_is_one_closed_outline_and_one_fill():
    drawings = ShotDrawings(HERON, view_named(HERON, "side-on"))
    for pose in range(HERON.poses):
        layer = drawings.layer("pose", pose)
        near = [line for line in of_kind(layer, Line) if line.ink.colour == SKY_BLUE]
        fills = [area for area in of_kind(layer, Area) if area.colour == SKY_BLUE]
        assert 1 <= len(near) <= 3  # cut by the ring's window at the hip and nowhere else
        ends = places(near)[:0] if near[0].closed else np.concatenate([line.points[[0, -1]] for line in near])
        (ring,) = of_kind(drawings.layer("target", pose), Ring)
        assert (np.hypot(*(ends - (ring.x, ring.y)).T) < ring.radius + 3).all()
        assert len(fills) == 1
        assert len(fills[0].rings) == 1


def test_near_and_far_leg_differ_in_colour_weight_and_fill():
    layer = ShotDrawings(HERON, view_named(HERON, "side-on")).layer("pose", 0)
    near = next(line for line in of_kind(layer, Line) if line.ink.colour == SKY_BLUE)
    far = next(line for line in of_kind(layer, Line) if line.ink.colour == ORANGE)
    assert near.ink.width > far.ink.width
    fills = {area.colour: area.alpha for area in of_kind(layer, Area)}
    assert fills[SKY_BLUE] > fills[ORANGE]
    assert layer.items.index(far) < layer.items.index(near)


def test_a_near_leg_stays_the_near_leg_through_the_whole_shot():
    for name in BUILT_IN_VIEWS:
        drawings = ShotDrawings(HERON, view_named(HERON, name))
        hips = pixels_from_stage(view_named(HERON, name), HERON.hip_mm)
        right = HERON.legs.index("right")
        for pose in (0, 5, 11):
            fill = next(area for area in of_kind(drawings.layer("pose", pose), Area) if area.colour == SKY_BLUE)
            middle = fill.rings[0].mean(axis=0)[0]
            if name != "head-on":
                assert hips[1][pose, right] < hips[1][pose, 1 - right]
            else:
                assert np.argmin(np.abs(hips[0][pose, :, 0] - middle)) == 1 - HERON.swing_leg[0]


@pytest.mark.parametrize("name", ["side-on", "three-quarter-front", "head-on", "high"])
def test_a_left_first_walk_from_the_left_is_the_mirror_of_a_right_first_walk_from_the_right(name):
    layers = ("floor", "arcs", "ghosts", "pose", "spacing", "target")
    pictures = {}
    for foot in ("right", "left"):
        plan = heron((CameraSetup(name, side=foot, resolution=(960, 540)),), first_foot=foot)
        pictures[foot] = pixels_of(drawing_of(plan, view_named(plan, name), 8, layers=layers)).astype(int)
    assert pictures["right"][..., 3].max() > 200
    if name == "head-on":  # one camera on the track for both sides
        assert np.abs(pictures["right"] - pictures["left"][:, ::-1])[..., 3].mean() < 0.2
    apart = np.abs(pictures["right"][..., 3] - pictures["left"][:, ::-1, 3])
    assert np.percentile(apart, 99.99) <= 2


def test_ghosts_fade_with_distance_and_those_to_come_are_dashed():
    drawings = ShotDrawings(HERON, view_named(HERON, "side-on"), Overlay(ghosts_before=3, ghosts_after=1))
    lines = [line for line in of_kind(drawings.layer("ghosts", 14), Line) if line.ink.colour != WHITE]
    solid = {round(line.ink.alpha, 2) for line in lines if line.ink.dash is None}
    dashed = {round(line.ink.alpha, 2) for line in lines if line.ink.dash}
    assert solid == {0.8, 0.55, 0.35}
    assert dashed == {0.8}
    assert not of_kind(
        ShotDrawings(HERON, view_named(HERON, "side-on"), Overlay(ghosts_before=0)).layer("ghosts", 5), Line
    )
    assert drawings.layer("ghosts", 0).items
    assert all(line.ink.dash for line in of_kind(drawings.layer("ghosts", 0), Line))


def test_a_ghost_that_lies_under_the_pose_itself_is_left_out():
    """A planted, flat foot does not move from pose to pose: its ghost's sole is not drawn again."""
    plan, view = HERON, view_named(HERON, "side-on")
    drawings = ShotDrawings(plan, view)
    both = (plan.state[1:] == FootState.PLANTED) & (plan.state[:-1] == FootState.PLANTED)
    toes = pixels_from_stage(view, plan.toe_mm)[0][..., 0]
    apart = np.abs(toes[1:, 0] - toes[1:, 1]) > 60
    pose, leg = (int(k) for k in np.argwhere(both & apart[:, None])[0])
    pose += 1
    heel, toe = pixels_from_stage(view, np.stack([plan.heel_mm[pose, leg], plan.toe_mm[pose, leg]]))[0]
    sole = np.linspace(heel, toe, 30)[5:-5]
    near = places(of_kind(drawings.layer("ghosts", pose), Line))
    colour = SKY_BLUE if leg == plan.legs.index("right") else ORANGE
    mine = places([line for line in of_kind(drawings.layer("ghosts", pose), Line) if line.ink.colour == colour])
    assert len(near)
    if len(mine):
        assert np.hypot(*(mine[:, None] - sole).transpose(2, 0, 1)).min() > 1.0


def test_a_foot_out_of_reach_has_a_dashed_straight_leg_and_a_note_with_the_gap():
    plan = heron(hips=Hips(240.0, 239.0, 242.0, 243.0))
    pose, leg = (int(k) for k in np.argwhere(plan.gap_mm > 1)[0])
    view = view_named(plan, "side-on")
    drawings = ShotDrawings(plan, view)
    dashed = [line for line in of_kind(drawings.layer("pose", pose), Line) if line.ink.dash]
    assert dashed
    labels = [label.text for label in of_kind(drawings.layer("labels", pose), Label)]
    assert f"{plan.legs[leg]} foot {plan.gap_mm[pose, leg]:.1f} mm out of reach" in labels
    hip, knee, ankle = (points[pose, leg] for points in (plan.hip_mm, plan.knee_mm, plan.ankle_mm))
    assert np.linalg.norm(np.cross(knee - hip, ankle - hip)) < 1e-6 * np.linalg.norm(ankle - hip) ** 2
    assert all(not line.ink.dash for line in of_kind(ShotDrawings(HERON, view).layer("pose", 4), Line))
    assert not_overlapping(of_kind(drawings.layer("labels", pose), Label))


def test_a_gap_that_nobody_could_see_is_neither_dashed_nor_told():
    gaps = np.zeros_like(HERON.gap_mm)
    gaps[4, 0] = 0.04
    drawings = ShotDrawings(replace(HERON, gap_mm=gaps), view_named(HERON, "side-on"))
    assert all(not line.ink.dash for line in of_kind(drawings.layer("pose", 4), Line))
    assert not any("out of reach" in label.text for label in of_kind(drawings.layer("labels", 4), Label))


def box_of(label: Label) -> tuple[float, float, float, float]:
    return (
        label.x,
        label.y - ascent(label.size),
        label.x + text_width(label.text, label.size),
        label.y + descent(label.size),
    )


def not_overlapping(labels) -> bool:
    boxes = [box_of(label) for label in labels]
    return not any(
        a[0] < b[2] and a[2] > b[0] and a[1] < b[3] and a[3] > b[1] for k, a in enumerate(boxes) for b in boxes[:k]
    )


@pytest.mark.parametrize("name", STARTERS)
@pytest.mark.parametrize("resolution", [(1920, 1080), (1080, 1920)])
def test_the_block_stands_in_one_corner_clear_of_the_puppet_and_of_the_edge_in_every_picture(name, resolution):
    shot = replace(STARTERS[name], cameras=tuple(CameraSetup(view, resolution=resolution) for view in BUILT_IN_VIEWS))
    plan = solve(shot)
    for view in views_of(plan):
        drawings = ShotDrawings(plan, view)
        corners = set()
        for pose in range(0, plan.poses, 4):
            labels = of_kind(drawings.layer("labels", pose), Label)
            assert len(labels) == 4
            corners.add(tuple((label.x, label.y) for label in labels))
            puppet = places(drawings.layer("pose", pose).items)
            low, high = puppet.min(axis=0), puppet.max(axis=0)
            assert not_overlapping(labels)
            for label in labels:
                left, top, right, bottom = box_of(label)
                assert min(left, top) > 5
                assert right < view.width - 5
                assert bottom < view.height - 5
                assert right < low[0] or left > high[0] or bottom < low[1] or top > high[1], (view.name, pose)
                assert label.size * 1080 / view.height >= 22
                assert covers(label.text)
        assert len(corners) == 1


def test_the_block_tells_frame_pose_key_and_moves():
    labels = [item.text for item in drawing_of(HERON, view_named(HERON, "side-on"), 16).layer("labels").items]
    assert labels[0] == "frame 17 · pose 17"
    assert labels[1] == "up · step 3"
    assert labels[2] == "along 213.3 mm (+13.3)"
    up, step = (
        HERON.reference_mm[16, 2] - HERON.reference_mm[0, 2],
        HERON.reference_mm[16, 2] - HERON.reference_mm[15, 2],
    )
    assert labels[3] == f"up {up:+.1f} mm ({step:+.1f})"
    twos = solve(replace(STARTERS["heron"], frames_per_pose=2))
    first = drawing_of(twos, view_named(twos, "side-on"), 16).layer("labels").items[0]
    assert isinstance(first, Label)
    assert first.text == "frames 33-34 · pose 17"
    start = [item.text for item in drawing_of(HERON, view_named(HERON, "side-on"), 0).layer("labels").items]
    assert start[2:] == ["along 0.0 mm (0.0)", "up 0.0 mm (0.0)"]


def test_in_betweens_are_counted_within_their_run():
    keys = ("contact", "in-between", "in-between", "passing", "in-between", "contact")
    assert key_words(keys) == ["contact", "in-between 1 of 2", "in-between 2 of 2", "passing", "in-between", "contact"]


def test_the_block_goes_to_the_corner_that_the_puppet_leaves_free():
    camera = CameraSetup("tight", (-60.0, -700.0, 150.0), (150.0, 0.0, 60.0), 40.0)
    plan = heron((camera,))
    label = ShotDrawings(plan, view_named(plan, "tight")).layer("labels", 0).items[0]
    assert isinstance(label, Label)
    x, y = pixels_from_stage(view_named(plan, "tight"), plan.neck_mm)[0].mean(axis=0)
    assert (label.x < 960) != (x < 760) or (label.y < 540) != (y < 540)


def test_notes_never_cover_each_other_or_what_is_taken_and_are_dropped_where_there_is_no_room():
    view = view_named(HERON, "side-on")
    taken = (960.0, 520.0, 1040.0, 580.0)
    placer = NotePlacer(view, Palette(1.0), [taken])
    labels = [
        item
        for k in range(9)
        for item in placer.note(f"note {k}", np.array((1000.0, 550.0)))
        if isinstance(item, Label)
    ]
    assert len(labels) >= 4
    assert not_overlapping(labels)
    for label in labels:
        left, top, right, bottom = box_of(label)
        assert right < taken[0] or left > taken[2] or bottom < taken[1] or top > taken[3]
    full = NotePlacer(view, Palette(1.0), [(0.0, 0.0, 1920.0, 1080.0)])
    assert full.note("no room", np.array((1000.0, 550.0))) == []


def test_floor_and_arcs_are_the_same_layer_in_every_picture_of_a_still_camera_alone():
    still = ShotDrawings(HERON, view_named(HERON, "high"))
    moving = ShotDrawings(HERON, view_named(HERON, "following"))
    for name in LAYERS:
        assert still.layer(name, 3).still == (name in STILL_LAYERS)
        assert not moving.layer(name, 3).still
    for name in STILL_LAYERS:
        assert still.layer(name, 3) is still.layer(name, 20)
        assert not np.array_equal(places(moving.layer(name, 3).items)[:5], places(moving.layer(name, 20).items)[:5])


def test_the_floor_shows_every_footprint_with_its_tie_down_and_toe_joint():
    layer = ShotDrawings(HERON, view_named(HERON, "high")).layer("floor", 0)
    prints = [one for one in HERON.stances if one.last >= 0 and one.first < HERON.poses]
    assert len(of_kind(layer, Area)) == len(of_kind(layer, Dot)) == len(prints)
    ties = np.array([(dot.x, dot.y) for dot in of_kind(layer, Dot)])
    for pose, leg in np.argwhere(HERON.state == FootState.PLANTED):
        tie = pixels_from_stage(view_named(HERON, "high"), HERON.tie_mm[pose, leg])[0]
        assert np.hypot(*(ties - tie).T).min() < 1e-6


def test_arcs_run_through_the_swinging_foots_ankle_with_a_mark_per_pose():
    view = view_named(HERON, "following")
    near = view_named(HERON, "side-on")
    layer = ShotDrawings(HERON, near).layer("arcs", 0)
    air = HERON.state == FootState.AIR
    ankles = pixels_from_stage(near, HERON.ankle_mm)[0][air]
    lines = places(of_kind(layer, Line))
    assert np.hypot(*(ankles[:, None] - lines).transpose(2, 0, 1)).min(axis=1).max() < 1e-6
    marks = places(of_kind(layer, Dot))
    gaps = np.hypot(*(ankles[:, None] - marks).transpose(2, 0, 1)).min(axis=1)
    assert (gaps < LEAST_MOVE).all()
    assert view.moving


def test_a_smooth_path_keeps_its_points_and_leaves_straight_lines_straight():
    points = np.random.default_rng(2).normal(size=(9, 2, 3))
    path = smooth_path(points, 5)
    assert np.allclose(path[::5], points)
    line = np.linspace((0.0, 0.0), (6.0, 3.0), 4)
    assert np.allclose(smooth_path(line)[:, 1], smooth_path(line)[:, 0] / 2)
    assert len(smooth_path(line[:2])) == 7
    assert len(smooth_path(line[:1])) == 1


def test_widths_grow_with_the_height_of_the_picture():
    def inks(resolution):
        plan = heron((CameraSetup("side-on", resolution=resolution),))
        drawing = drawing_of(plan, view_named(plan, "side-on"), 4)
        return [item.ink for layer in drawing.layers for item in layer.items if not isinstance(item, Area | Label)]

    small, large = inks((1920, 1080)), inks((3840, 2160))
    assert {ink.width * 2 for ink in small} == {ink.width for ink in large}
    assert {ink.halo * 2 for ink in small} == {ink.halo for ink in large}


def test_a_picture_of_a_long_shot_holds_no_more_than_one_of_a_short_shot():
    for name in ("side-on", "following"):
        counts = []
        for steps in (8, 170):
            plan = heron(steps=steps)
            drawings = ShotDrawings(plan, view_named(plan, name))
            drawing = drawings.drawing(plan.poses // 2)
            counts.append(sum(len(layer.items) for layer in drawing.layers if not layer.still))
        assert counts[1] <= 1.3 * counts[0] + 10, name


def test_every_line_is_bright_on_a_dark_halo_in_colours_of_the_published_palette():
    """Okabe & Ito, Color Universal Design, 2008: sky blue 56B4E9, orange E69F00, yellow F0E442 (from memory)."""
    assert ["".join(f"{round(255 * c):02X}" for c in colour) for colour in (SKY_BLUE, ORANGE, YELLOW, WHITE)] == [
        "56B4E9",
        "E69F00",
        "F0E442",
        "FFFFFF",
    ]
    drawing = drawing_of(HERON, view_named(HERON, "three-quarter-front"), 9)
    for layer in drawing.layers:
        for item in layer.items:
            if isinstance(item, Area):
                # the quarters of the mark for the centre of mass are small and full
                assert item.alpha <= 0.3 or (layer.name == "weight" and np.ptp(item.rings[0]) < 400)
                continue
            assert item.ink.colour in (SKY_BLUE, ORANGE, YELLOW, WHITE)
            if item.ink.alpha > 0.25:  # the floor's faint grid has none
                assert item.ink.halo > 0
                assert item.ink.halo_colour == (0, 0, 0)


def test_layers_come_lowest_first_and_only_those_asked_for():
    drawing = drawing_of(HERON, view_named(HERON, "low"), 2, layers=("target", "floor"))
    assert [layer.name for layer in drawing.layers] == ["floor", "target"]
    assert drawing.layer("pose").items == ()


def test_an_unknown_layer_and_a_pose_that_is_not_there_are_refused():
    view = view_named(HERON, "side-on")
    with pytest.raises(ModelError, match="spacing"):
        drawing_of(HERON, view, 0, layers=("space",))
    for pose in (-1, HERON.poses):
        with pytest.raises(IndexError):
            drawing_of(HERON, view, pose)


def test_a_tiny_picture_is_drawn_without_complaint():
    plan = heron((CameraSetup("side-on", resolution=(16, 16)),))
    view: View = view_named(plan, "side-on")
    assert pixels_of(drawing_of(plan, view, 3)).shape == (16, 16, 4)


def test_a_planted_foot_s_ghost_stays_in_its_place_under_a_camera_that_moves():
    view = view_named(HERON, "following")
    outlines = PuppetOutlines(HERON, view, Palette(1.0))
    planted = (HERON.state[:-1] == FootState.PLANTED) & (HERON.state[1:] == FootState.PLANTED)
    soles = [(i, solid.leg) for i, solid in enumerate(solids_of(HERON)) if solid.part == "foot"]
    checked = 0
    for index, leg in soles:
        for pose in np.flatnonzero(planted[:, leg]):
            ghost, own = outlines.hull(index, pose, seen_from=pose + 1), outlines.hull(index, pose + 1)
            np.testing.assert_allclose(ghost, own, atol=1e-9)
            checked += 1
    assert checked > 20
