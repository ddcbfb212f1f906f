"""The one place that knows Blender's versions (4.2 to 5.2) and the ways in which Blender can have loaded us."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import bpy
import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Channel = tuple[str, int, Floats]
"""(data path, array index, one value per key)."""

CONSTANT, LINEAR = 0, 1
"""Key interpolation, as keyframe_points.foreach_set takes it."""


def writable_folder(create: bool = False) -> Path:
    """The folder that Blender gives to this extension for its own files.

    From a checkout the package is no extension and Blender refuses with ValueError: then a folder of ours below the
    user's data files.
    """
    package = __package__ or ""
    try:
        return Path(bpy.utils.extension_path_user(package, create=create))
    except ValueError:
        return Path(bpy.utils.user_resource("DATAFILES", path="striderule", create=create))


def action_curves(action: Any, owner: Any) -> tuple[Any, Any]:
    """(F-curves of `action` that drive the data-block `owner`, their slot or None).

    Actions have slots, layers and channel bags from Blender 4.4 on; before, they hold F-curves themselves.
    """
    if not hasattr(action, "slots"):
        return action.fcurves, None
    slot = action.slots[0] if action.slots else action.slots.new(id_type=owner.id_type, name=owner.name)
    layer = action.layers[0] if action.layers else action.layers.new("Layer")
    strip = layer.strips[0] if layer.strips else layer.strips.new(type="KEYFRAME")
    return strip.channelbag(slot, ensure=True).fcurves, slot


def set_keys(curve: Any, frames: Floats, values: Floats, interpolation: int = CONSTANT) -> None:
    """Replace all keys of an F-curve. frames (n,) ascending, values (n,)."""
    points = curve.keyframe_points
    points.clear()
    points.add(len(frames))
    pairs = np.empty(2 * len(frames), np.float32)
    pairs[0::2], pairs[1::2] = frames, values
    points.foreach_set("co", pairs)
    points.foreach_set("interpolation", np.full(len(frames), interpolation, np.int32))
    curve.update()


def write_keys(owner: Any, action: Any, channels: list[Channel], frames: Floats, interpolation: int = CONSTANT) -> None:
    """Make `action` drive `owner` by exactly these channels, each with a key at every frame."""
    data = owner.animation_data or owner.animation_data_create()
    curves, slot = action_curves(action, owner)
    if data.action is not action:
        data.action = action
    if slot is not None and data.action_slot is not slot:
        data.action_slot = slot
    wanted = {(path, index) for path, index, _ in channels}
    for curve in list(curves):
        if (curve.data_path, curve.array_index) not in wanted:
            curves.remove(curve)
    for path, index, values in channels:
        set_keys(curves.find(path, index=index) or curves.new(path, index=index), frames, values, interpolation)


def follow_action(owner: Any, action: Any, frames: Floats, source_frames: Floats) -> None:
    """Play `action` on `owner` out of step with its own keys: at frames[i] show the action at source_frames[i].

    An NLA strip whose time is animated; a plain shift would be wrong wherever holds differ. frames ascending.
    """
    data = owner.animation_data or owner.animation_data_create()
    for track in list(data.nla_tracks):
        data.nla_tracks.remove(track)
    strip = data.nla_tracks.new().strips.new("follow", int(frames[0]), action)
    strip.extrapolation = "HOLD"
    strip.action_frame_start, strip.action_frame_end = float(source_frames.min()), float(source_frames.max())
    strip.frame_start, strip.frame_end = float(frames[0]), float(max(frames[-1], frames[0] + 1))
    if hasattr(strip, "action_slot") and action.slots:
        strip.action_slot = action.slots[0]
    strip.use_animated_time = True
    set_keys(strip.fcurves.find("strip_time"), frames, source_frames)


def still_output(scene: Any) -> None:
    """Make `scene` write 8-bit PNG without alpha."""
    image = scene.render.image_settings
    if hasattr(image, "media_type"):
        image.media_type = "IMAGE"
    image.file_format, image.color_mode, image.color_depth, image.compression = "PNG", "RGB", "8", 15


def video_output(scene: Any) -> None:
    """Make `scene` write H.264 in MP4 without sound."""
    image = scene.render.image_settings
    if hasattr(image, "media_type"):  # 5.0 and later; must come before the format
        image.media_type = "VIDEO"
    image.file_format, image.color_mode = "FFMPEG", "RGB"
    video = scene.render.ffmpeg
    video.format, video.codec, video.audio_codec = "MPEG4", "H264", "NONE"
    video.constant_rate_factor, video.ffmpeg_preset, video.gopsize = "HIGH", "GOOD", 12


def hold_picture(
    scene: Any, path: Path, channel: int, first: int, frames: int, offset: tuple[float, float] = (0.0, 0.0)
) -> None:
    """Show a picture in the sequencer of `scene` from frame `first` on for so many frames, over lower channels.

    offset: of the picture's centre from the film's, in pixels to the right and up; whole pixels are copied unchanged.
    """
    editor = scene.sequence_editor_create()
    strips = editor.strips if hasattr(editor, "strips") else editor.sequences
    strip = strips.new_image("picture", str(path), channel, first, fit_method="ORIGINAL")
    for _ in range(frames - 1):
        strip.elements.append(path.name)
    strip.blend_type = "ALPHA_OVER"
    strip.transform.filter = "NEAREST"
    strip.transform.offset_x, strip.transform.offset_y = offset
