"""Overlay pictures read by Pillow, an independent reader of the PNG format."""

import numpy as np

from striderule.draw.drawing import Drawing, Ink, Layer, Ring
from striderule.draw.png import decode
from striderule.export.overlay_options import overlay_options
from striderule.export.overlays import write_overlays
from striderule.model.seeds import starter_paths
from striderule.model.shotfile import load_shot
from striderule.model.view import View
from striderule.solve import solve


def test_pillow_reads_the_same_pixels_and_finds_our_note(tmp_path):
    from PIL import Image

    plan = solve(load_shot(starter_paths()["heron"]))
    view = View("side-on", 80, 60, 100.0, 100.0, 39.5, 29.5, np.eye(3), np.zeros(3))
    ring = Layer("target", (Ring(30.0, 20.0, 8.0, Ink((1.0, 1.0, 1.0), 2.4, halo=2.0, halo_alpha=0.7)),))
    options = overlay_options(plan.shot, layers=("target",), poses="1")
    write_overlays(tmp_path, plan, [view], options, lambda *_: lambda _pose: Drawing(80, 60, (ring,)))
    path = tmp_path / "overlay" / "side-on" / "target" / "0001.png"
    with Image.open(path) as picture:
        picture.load()
        assert picture.mode == "RGBA"
        assert picture.text["Striderule"].startswith("picture=")
        assert np.array_equal(np.asarray(picture), decode(path.read_bytes()))
