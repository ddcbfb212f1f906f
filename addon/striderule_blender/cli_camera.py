"""The arguments of the commands about cameras: `board`, `calibrate`, `match` and `angles`."""

from __future__ import annotations

import argparse

from .cli_arguments import add_command, add_variant, lazily
from .cli_words import above_0, names, path

PAPERS = ("a4", "a3", "letter")


def add_camera_commands(commands: argparse._SubParsersAction) -> None:
    """In the order of --help."""
    _add_board(commands)
    _add_calibrate(commands)
    _add_match(commands)
    _add_angles(commands)


def _add_board(commands: argparse._SubParsersAction) -> None:
    command = add_command(
        commands, "board", "make the printed board that `match` and `calibrate` look for, at true scale"
    )
    command.add_argument("out", type=path, metavar="BOARD.pdf", help="the file to write")
    command.add_argument("--paper", choices=PAPERS, default="a3", help="default: a3")
    command.add_argument("--standing", action="store_true", help="the second sheet, which stands in the picture")
    command.add_argument("--replace", action="store_true", help="overwrite a file of other content")
    command.set_defaults(run=lazily("cli_board", "board"))


def _add_lens(command: argparse.ArgumentParser) -> None:
    lens = command.add_argument_group("the lens, where the still's EXIF data do not tell it")
    lens.add_argument("--lens-mm", type=above_0, metavar="MM", help="its focal length, not its 35 mm equivalent")
    lens.add_argument("--sensor", type=_pair, metavar="36x24", help="the sensor's width and height in mm")
    lens.add_argument("--focal-px", type=above_0, metavar="PX", help="the focal length in pixels of the still instead")


def _add_printed(command: argparse.ArgumentParser) -> None:
    command.add_argument("--printed", type=_pair, metavar="LONGxSHORT",
                         help="how long the board's two control rulers are on your print, in mm, the one along the "
                              "sheet's long side first")  # fmt: skip


def _add_calibrate(commands: argparse._SubParsersAction) -> None:
    command = add_command(commands, "calibrate", "make a lens file from 8 to 15 stills of the printed board")
    command.add_argument("stills", type=path, nargs="+", metavar="STILL",
                         help="pictures of the board, near and far, tilted every way, in every corner; focus and zoom "
                              "as they will be")  # fmt: skip
    command.add_argument("--out", type=path, required=True, metavar="LENS.toml", help="the lens file to write")
    command.add_argument("--board", choices=PAPERS, default="a3", help="paper of the board; default: a3")
    _add_printed(command)
    _add_lens(command)
    command.add_argument("--name", help="what the lens is called; default: as its file")
    command.add_argument("--replace", action="store_true", help="overwrite the file that --out names")
    command.set_defaults(run=lazily("cli_calibrate", "calibrate_lens"))


def _add_match(commands: argparse._SubParsersAction) -> None:
    command = add_command(
        commands, "match", "find the taking camera from a still: of clicked points, or of the printed board"
    )
    known = command.add_mutually_exclusive_group(required=True)
    known.add_argument("--points", type=path, metavar="FILE.csv",
                       help="columns name, x_mm, y_mm, z_mm, u_px, v_px, and if you like sigma_px, check")  # fmt: skip
    known.add_argument("--board", choices=PAPERS, help="the printed board lies on the floor; its paper")
    command.add_argument("--still", type=path, metavar="STILL", help="the picture that the camera took")
    command.add_argument("--size", type=_pair, metavar="6000x4000", help="size of the still, where there is no file")
    command.add_argument("--out", type=path, metavar="NAME.camera.toml",
                         help='the camera file to write; a shot names it: camera = "NAME.camera.toml"')  # fmt: skip
    command.add_argument("--picture", type=path, metavar="FILE.png", help="also draw how far the overlay may be off")
    command.add_argument("--json", type=path, metavar="FILE", help="also write the findings to this file")
    command.add_argument("--replace", action="store_true", help="overwrite the file that --out names")
    points = command.add_argument_group("clicked points")
    points.add_argument("--refine", choices=("corner", "dot"), help="move each click to the middle of what it lies on")
    points.add_argument("--click-px", type=above_0, default=0.5, metavar="PX",
                        help="how far a click is off, one standard deviation; default: 0.5")  # fmt: skip
    board = command.add_argument_group("the printed board")
    _add_printed(board)
    board.add_argument("--standing", action="store_true", help="the second sheet is in the picture too")
    board.add_argument("--at", type=_place, default=(0.0, 0.0), metavar="X,Y",
                       help="where its lower left corner lies, mm from the datum; default: on it")  # fmt: skip
    board.add_argument("--turn", type=_angle, default=0.0, metavar="DEG",
                       help="how far its long side is turned to the left of the walk; default: 0")  # fmt: skip
    _add_lens(command)
    command.add_argument("--lens", type=path, metavar="LENS.toml", help="a calibrated lens; only the place is solved")
    where = command.add_mutually_exclusive_group()
    where.add_argument("--shot", type=path, metavar="SHOT.toml", help="judge the error where this walk goes")
    where.add_argument("--volume", type=_volume, metavar="X,X,Y,Y,Z,Z",
                       help="judge it in this box of the stage, mm; write it as --volume=-80,...; default: around the "
                            "points")  # fmt: skip
    command.set_defaults(run=lazily("cli_match", "match"))


def _add_angles(commands: argparse._SubParsersAction) -> None:
    command = add_command(commands, "angles", "judge every view: spacing on screen, hidden feet, focus; find an angle")
    command.add_argument("shot", type=path, metavar="SHOT", help="the shot file")
    add_variant(command)
    command.add_argument("--out", type=path, metavar="DIR", help="folder for angles.png and angles.csv")
    command.add_argument("--views", type=names, metavar="A,B", help="only these views")
    command.add_argument("--replace", action="store_true", help="overwrite files of other content")
    focus = command.add_argument_group("depth of field")
    focus.add_argument("--f-number", type=above_0, metavar="N", help="the aperture, as 5.6; judges what is sharp")
    focus.add_argument("--focus-mm", type=above_0, metavar="MM",
                       help="distance that is focused on; default: the puppet in the walk's middle")  # fmt: skip
    find = command.add_argument_group("find me an angle: as much along the walk as still reads")
    find.add_argument("--find", action="store_true", help="look for one, show it, and say what to put into the shot")
    find.add_argument("--azimuth", type=_two, default=(0.0, 75.0), metavar="FROM,TO",
                      help="degrees from side-on, + from ahead; default: 0,75")  # fmt: skip
    find.add_argument("--height", type=_two, default=(50.0, 600.0), metavar="FROM,TO",
                      help="of the lens over the floor, mm; default: 50,600")  # fmt: skip
    find.add_argument("--lenses", type=_lenses, default=(24.0, 35.0, 50.0, 85.0), metavar="MM,MM",
                      help="focal lengths to choose from; default: 24,35,50,85")  # fmt: skip
    find.add_argument("--least-px", type=above_0, default=2.0, metavar="PX", help="smallest move; default: 2")
    find.add_argument("--most-ratio", type=above_0, default=3.0, metavar="R",
                      help="largest spacing to smallest, along the shot; default: 3")  # fmt: skip
    command.set_defaults(run=lazily("cli_angles", "angles"))


def _two(words: str) -> tuple[float, ...]:
    low, high = _numbers(words, ",", 2, "two numbers, the least first, as 0,75", -100_000)
    if low > high:
        raise argparse.ArgumentTypeError(f"expected the least first, given {words[:40]!r}")
    return low, high


def _lenses(words: str) -> tuple[float, ...]:
    return _numbers(words, ",", words.count(",") + 1, "focal lengths of 1 to 2000 mm, as 35,50", 0.999)


def _numbers(words: str, separator: str, count: int, expected: str, least: float) -> tuple[float, ...]:
    try:
        values = tuple(float(part) for part in words.lower().split(separator))
    except ValueError:
        values = ()
    if len(values) != count or not all(least < one < 100_000 for one in values):
        raise argparse.ArgumentTypeError(f"expected {expected}, given {words[:60]!r}")
    return values


def _pair(words: str) -> tuple[float, ...]:
    return _numbers(words, "x", 2, "two numbers above 0 as 36x24", 0.0)


def _place(words: str) -> tuple[float, ...]:
    return _numbers(words, ",", 2, "two numbers in mm, along and to the left, as 120,-40", -100_000)


def _angle(words: str) -> float:
    return _numbers(words, ",", 1, "an angle in degrees", -100_000)[0]


def _volume(words: str) -> tuple[float, ...]:
    return _numbers(words, ",", 6, "six numbers in mm, least and greatest x, y and z, as 0,500,-80,80,0,250", -100_000)
