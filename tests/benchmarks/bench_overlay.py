"""What an overlay picture costs: run by hand, `python tests/benchmarks/bench_overlay.py`.

Per picture at 1080p, drawn, encoded and written: the flat picture of all layers, and every layer by itself as well; in
a shot of 25 poses and in one of 997. Wall and processor milliseconds, one thread and two.
"""

from __future__ import annotations

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


def main() -> None:
    shot = load_shot(starter_paths()["heron"])
    worst = 0.0
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
            told = f"{wall:.1f} ms wall, {busy:.1f} ms processor, {two:.1f} ms with two threads"
            print(f"{what}, {plan.poses} poses: {told}")
        worst = max(worst, costs[1] / costs[0])
    print(f"a long shot costs {worst:.2f} times a short one's picture")
    if worst > 1.25:
        sys.exit("a picture of a long shot costs more than one of a short shot")


if __name__ == "__main__":
    main()
