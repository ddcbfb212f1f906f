"""What an overlay picture costs: run by hand, `uv run tests/benchmarks/bench_overlay.py`.

Per picture at 1080p, drawn, encoded and written: the flat picture of all layers, and every layer by itself as well; in
a shot of 25 poses and in one of 997. Wall and processor milliseconds, one thread and two. Beside it, in the same run,
what Blender's Workbench needs to render and write a frame of the same walk at the same size without anti-aliasing.
"""

from __future__ import annotations

import math
import sys
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

from striderule.camera.placing import view_named
from striderule.export.overlay_options import OverlayOptions, overlay_options
from striderule.export.overlays import write_overlays
from striderule.model.seeds import starter_paths
from striderule.model.shot import LAYERS
from striderule.model.shotfile import load_shot
from striderule.solve import Plan, solve

PICTURES = 24


def measured(plan: Plan, options: OverlayOptions, each: Callable = map) -> tuple[float, float]:
    """(wall, processor) milliseconds a picture of PICTURES pictures, the view's preparation left out."""
    view = view_named(plan, "side-on")
    from striderule.draw.layers import ShotDrawings

    drawings = ShotDrawings(plan, view)

    def painter(pose: int):
        return drawings.drawing(pose, LAYERS)

    with tempfile.TemporaryDirectory() as folder:
        start, busy = time.perf_counter(), time.process_time()
        write_overlays(Path(folder), plan, [view], options, lambda *_: painter, each=each)
        return (time.perf_counter() - start) / PICTURES * 1e3, (time.process_time() - busy) / PICTURES * 1e3


def workbench_ms(plan: Plan) -> float:
    """Wall milliseconds of one 1080p frame of the plan's own scene, without anti-aliasing; the quickest of some."""
    import bpy

    from striderule_blender import compat, scene
    from striderule_blender.scene import studio

    bpy.ops.wm.read_factory_settings(use_empty=True)
    stage = bpy.context.scene
    view = view_named(plan, "side-on")
    scene.build(stage, plan, [view], scene.SceneSettings(1, 0))
    scene.look_through(stage, scene.camera_of(stage, view.name))
    studio.light(stage)
    compat.still_output(stage)
    stage.display.render_aa = "OFF"
    took: list[float] = []
    with tempfile.TemporaryDirectory() as folder:
        stage.render.filepath = str(Path(folder) / "frame.png")
        for frame in range(1, 13):
            stage.frame_set(frame)
            start = time.perf_counter()
            bpy.ops.render.render(write_still=True)
            took.append(time.perf_counter() - start)
    return min(took) * 1e3


def main() -> None:
    shot = load_shot(starter_paths()["heron"])
    worst, flat = 0.0, math.inf
    for what, chosen in (("flat picture of all layers", ()), ("flat picture and each layer by itself", LAYERS)):
        costs: list[float] = []
        for steps in (4, 166):
            plan = solve(replace(shot, walk=replace(shot.walk, steps=steps)))
            first = plan.poses // 2 - PICTURES // 2 + 1
            options = replace(
                overlay_options(plan.shot, poses=f"{first}-{first + PICTURES - 1}"), layers=chosen, flat=LAYERS
            )
            wall, busy = min(measured(plan, options) for _ in range(3))
            with ThreadPoolExecutor(2) as pool:
                two, _ = min(measured(plan, options, pool.map) for _ in range(2))
            costs.append(busy)
            if not chosen:
                flat = min(flat, wall)
            told = f"{wall:.1f} ms wall, {busy:.1f} ms processor, {two:.1f} ms with two threads"
            print(f"{what}, {plan.poses} poses: {told}")
        worst = max(worst, costs[1] / costs[0])
    print(f"a long shot costs {worst:.2f} times a short one's picture")
    frame = workbench_ms(solve(shot))
    print(f"Workbench, rendered and written: {frame:.0f} ms wall; the flat picture costs 1/{frame / flat:.1f} of it")
    if worst > 1.25:
        sys.exit("a picture of a long shot costs more than one of a short shot")
    if flat > 0.25 * frame:
        sys.exit("a picture costs more than a quarter of Workbench's frame")


if __name__ == "__main__":
    main()
