"""How long a busy overlay takes: 68 lines, 25 fills, 60 marks, 25 labels, halos under all but fills.

Run by name: `python tests/benchmarks/bench_raster.py`. Prints milliseconds of processor time a picture on one thread,
the best of several runs. canvas: painting alone. raster: painting and bytes. lettered: the same with other texts in
all labels. started: without the layer that stays, which is a canvas already. png: the file.
"""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np

from striderule.draw import png, raster
from striderule.draw.drawing import Area, Dot, Ink, Item, Label, Layer, Line, Ring
from striderule.draw.font import stroke_width


def busy(width: int, height: int, seed: int = 1) -> list[Layer]:
    """Legs, ghosts, paths, footprints, rings and labels strewn over the middle of a picture; sizes follow its
    height."""
    random = np.random.default_rng(seed)
    scale = height / 1080
    middle = np.array((width / 2, height / 2))

    def place() -> np.ndarray:
        return middle + random.uniform(-1, 1, 2) * (width * 0.42, height * 0.36)

    def ink(line: float, halo: float, alpha: float = 1.0) -> Ink:
        colour = tuple(float(one) for one in random.uniform(0.4, 1, 3))
        return Ink((colour[0], colour[1], colour[2]), line * scale, alpha, halo * scale, 0.7)

    items: list[Item] = []
    for _ in range(25):
        turn = np.sort(random.uniform(0, 2 * np.pi, 24))
        radius = random.uniform(25, 55, 24) * scale
        ring = place() + np.column_stack((np.cos(turn), np.sin(turn))) * radius[:, None]
        items.append(Area((ring,), (0.4, 0.7, 0.9), 0.28))
    for k in range(68):
        count = (3, 12, 40)[k % 3]
        steps = np.column_stack((np.full(count, 1.0), np.cumsum(random.normal(0, 0.4, count)))) * (240 * scale / count)
        items.append(Line(place() + np.cumsum(steps, axis=0), ink((3.2, 2.4, 1.6)[k % 3], 2.0, 0.9), closed=k % 9 == 0))
    for k in range(60):
        x, y = place()
        items.append(Ring(x, y, 8 * scale, ink(2.4, 2)) if k % 2 else Dot(x, y, 4 * scale, ink(2, 2)))
    labels: list[Item] = []
    for k in range(25):
        x, y = place()
        size = (20 if k else 28) * scale
        text = f"L{k} knee {random.uniform(0, 90):.1f}\u00b0"
        labels.append(Label(text, x, y, size, Ink((1, 1, 1), stroke_width(size), 1.0, 2 * scale, 0.7)))
    return [Layer("still", tuple(items[::2])), Layer("moving", tuple(items[1::2])), Layer("labels", tuple(labels))]


def best(work: Callable[[], object], times: int) -> float:
    """Milliseconds of the quickest of several runs."""
    taken: list[float] = []
    for _ in range(times):
        begin = time.process_time()
        work()
        taken.append(time.process_time() - begin)
    return min(taken) * 1e3


def measure(width: int, height: int, times: int) -> None:
    layers = busy(width, height)

    others = iter([busy(width, height, seed)[2] for seed in range(2, times + 2)])

    def fresh() -> None:
        raster.render([*layers[:2], next(others)], width, height).rgba8()

    ground = raster.render(layers[:1], width, height)
    canvas = raster.render(layers, width, height)
    pixels, inked = canvas.rgba8(), canvas.inked_rows()
    blank = 1 - pixels[..., 3].astype(bool).mean()
    size = len(png.encode(pixels, inked))
    taken = {
        "canvas": best(lambda: raster.render(layers, width, height), times),
        "raster": best(lambda: raster.render(layers, width, height).rgba8(), times),
        "lettered": best(fresh, times),
        "started": best(lambda: raster.render(layers[1:], width, height, ground).rgba8(), times),
        "png": best(lambda: png.encode(pixels, inked), times),
    }
    words = ", ".join(f"{name} {value:.1f}" for name, value in taken.items())
    print(f"{width} x {height} ({blank:.0%} blank, {size / 1e3:.0f} kB): {words} ms")


if __name__ == "__main__":
    for size in ((1920, 1080, 15), (3840, 2160, 6), (6000, 4000, 3)):
        measure(*size)
