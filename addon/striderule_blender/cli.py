"""The command line: `striderule check`, `prepare`, `read`, `compare`, `temper`, `retime`, `fit`, `holes`, `size`,
`range`, `weigh`, `sheets`, `board`, `calibrate`, `match`, `angles`, `starters`.

Blender is imported only by the parts of `prepare` and `compare` that write the scene and films.
"""

from __future__ import annotations

import argparse
import re
import sys
import traceback
from collections.abc import Sequence
from pathlib import Path

from striderule import __version__
from striderule.errors import StrideruleError
from striderule.model.shot import ARC_POINTS, LAYERS
from striderule.model.view import BUILT_IN_VIEWS
from striderule.paper.page import PAPERS_MM, SHEET_NAMES

from .cli_camera import add_camera_commands
from .cli_console import Console

_EPILOG = """exit codes:
  0    done; no finding makes the walk impossible
  1    the walk is impossible as it is planned; `prepare` has still drawn everything
  2    the shot file or an option is wrong; nothing was written
  3    something cannot be written
  70   a mistake in Striderule itself
  130  interrupted; what is there is whole, and the same command goes on from it

Findings and the last line go to standard output, progress and errors to standard error.
"""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; None = the process's own arguments. Returns the exit code."""
    try:
        chosen = parser().parse_args(arguments)
    except SystemExit as end:  # argparse has said why; Blender's own --command must go on living
        return end.code if isinstance(end.code, int) else 2
    console = Console(quiet=chosen.quiet)
    try:
        return chosen.run(chosen, console)
    except StrideruleError as error:
        console.error(str(error))
        return error.exit_code
    except KeyboardInterrupt:
        console.error("Interrupted. What is written is whole; the same command goes on from there.")
        return 130
    except Exception:  # noqa: BLE001 - nothing may end with 1, which says that the walk is impossible
        traceback.print_exc()
        console.error("This is a mistake in Striderule, not in your shot. Please report it with the lines above.")
        return 70


def parser() -> argparse.ArgumentParser:
    """The one parser, for a shell and for Blender's --command alike."""
    top = argparse.ArgumentParser(
        prog="striderule",
        description="Plan a walk for a jointed puppet: check it, and prepare the pictures to pose it by.",
        epilog=_EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    top.add_argument("--version", action="version", version=f"striderule {__version__}")
    commands = top.add_subparsers(metavar="COMMAND", required=True)
    _add_check(commands)
    _add_prepare(commands)
    _add_compare(commands)
    _add_read(commands)
    _add_temper(commands)
    _add_retime(commands)
    _add_fit(commands)
    _add_holes(commands)
    _add_size(commands)
    _add_range(commands)
    _add_weigh(commands)
    _add_sheets(commands)
    add_camera_commands(commands, _add_command, _path, _above_0)
    _add_starters(commands)
    return top


def _add_command(commands: argparse._SubParsersAction, name: str, purpose: str) -> argparse.ArgumentParser:
    command = commands.add_parser(
        name, help=purpose, description=purpose[0].upper() + purpose[1:] + ".", epilog=_EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )  # fmt: skip
    command.add_argument(
        "--quiet", action="store_true", help="no progress and no findings: errors and the last line only"
    )
    return command


def _add_shot(command: argparse.ArgumentParser) -> None:
    command.add_argument("shot", type=_path, metavar="SHOT", help="the shot file, such as seeds/heron.toml")
    _add_variant(command)
    command.add_argument("--json", type=_path, metavar="FILE", help="also write findings and counts to this file")


def _add_variant(command: argparse.ArgumentParser) -> None:
    command.add_argument("--variant", metavar="NAME", help="this variant of the shot instead of its main walk")


def _add_change(command: argparse.ArgumentParser) -> None:
    """A shot file that is changed, and where the changed one goes."""
    command.add_argument("shot", type=_path, metavar="SHOT", help="the shot file")
    command.add_argument("--out", type=_path, metavar="NEW.toml", help="the shot file to write; without it nothing is")
    command.add_argument("--replace", action="store_true", help="overwrite the file that --out names")


def _add_check(commands: argparse._SubParsersAction) -> None:
    command = _add_command(commands, "check", "plan the walk and say what is wrong with it, without Blender")
    _add_shot(command)
    command.set_defaults(run=_check)


def _check(chosen: argparse.Namespace, console: Console) -> int:
    from .cli_check import check

    return check(chosen, console)


def _add_prepare(commands: argparse._SubParsersAction) -> None:
    command = _add_command(commands, "prepare", "write overlay pictures, tables, the Blender scene and previews")
    _add_shot(command)
    command.add_argument(
        "--out", type=_path, required=True, metavar="DIR", help="folder for everything; made if missing"
    )
    command.add_argument("--replace", action="store_true", help="overwrite what was made from another shot")
    pictures = command.add_argument_group("overlay pictures")
    views = ", ".join(BUILT_IN_VIEWS)
    pictures.add_argument(
        "--views", type=_names, metavar="A,B", help=f"views, out of {views}, the shot's own, or every"
    )
    pictures.add_argument("--layers", type=_names, metavar="A,B",
                          help=f"layers to write, each by itself and together in `all`, out of {', '.join(LAYERS)}; "
                               "`all` = the flat picture alone")  # fmt: skip
    pictures.add_argument("--arcs", type=_names, metavar="A,B",
                          help=f"points whose arcs the layer arcs shows, out of {', '.join(ARC_POINTS)}")  # fmt: skip
    pictures.add_argument("--poses", metavar="9-20",
                          help="only these poses, from 1; no scene and no previews are written, so that many such "
                               "parts can be made side by side")  # fmt: skip
    pictures.add_argument("--per-pose", action="store_true", help="one picture per pose, not per film frame")
    pictures.add_argument("--first-number", type=_whole, metavar="N", help="number of the first picture")
    pictures.add_argument("--digits", type=_whole, metavar="N", help="digits in a picture's number")
    pictures.add_argument("--backdrop", metavar="COLOUR", help="none, black, white, grey or #rrggbb: opaque pictures")
    paper = command.add_argument_group("sheets for the set, in DIR/sheets")
    paper.add_argument("--no-sheets", action="store_true", help="no sheets")
    _add_paper(paper)
    blender = command.add_argument_group("Blender")
    blender.add_argument("--no-blend", action="store_true", help="no Blender scene")
    blender.add_argument("--no-preview", action="store_true", help="no previews")
    blender.add_argument("--preview-views", type=_names, metavar="A,B",
                         help="views that get a preview; default: side-on,three-quarter-front")  # fmt: skip
    blender.add_argument("--on-the-spot", action="store_true", help="also previews that walk on the spot")
    blender.add_argument("--block-through", action="store_true", help="also previews of the key poses alone, each held")
    command.set_defaults(run=_prepare)


def _prepare(chosen: argparse.Namespace, console: Console) -> int:
    from .cli_prepare import prepare

    return prepare(chosen, console)


def _add_paper(group: argparse._ActionsContainer) -> None:
    """How sheets are wanted."""
    group.add_argument("--paper", default="a4", metavar="SIZE", help=f"{', '.join(PAPERS_MM)}; default: a4")
    group.add_argument("--date", metavar="2026-11-25", help="the day that sheets bear; default: today")
    group.add_argument("--round", type=_above_0, default=0.5, metavar="MM",
                       help="what places are rounded to, 0.5 or 0.1; default: 0.5")  # fmt: skip
    group.add_argument("--minutes", type=_above_0, default=8.0, metavar="M",
                       help="minutes that a pose takes, for the time to shoot; default: 8")  # fmt: skip
    group.add_argument("--drill", type=_above_0, default=3.2, metavar="MM",
                       help="the hole for a tie-down's screw; default: 3.2, for M3")  # fmt: skip
    group.add_argument("--only", type=_names, metavar="A,B", help=f"sheets out of {', '.join(SHEET_NAMES)}")


def _add_compare(commands: argparse._SubParsersAction) -> None:
    command = _add_command(commands, "compare", "put walks side by side: what differs, a chart over time, one film")
    command.add_argument("shots", type=_path, nargs="+", metavar="SHOT",
                         help="shot files, their main walks; one alone: its main walk and its variants")  # fmt: skip
    command.add_argument("--out", type=_path, required=True, metavar="DIR",
                         help="folder for compare.csv, .svg, .png and .mp4; made if missing")  # fmt: skip
    command.add_argument("--view", default="side-on", metavar="NAME",
                         help=f"the film's one camera, out of {', '.join(BUILT_IN_VIEWS)}, or the first shot's own; "
                              "default: side-on")  # fmt: skip
    command.add_argument("--no-preview", action="store_true", help="no film, which needs Blender")
    command.add_argument("--replace", action="store_true", help="overwrite what is no comparison of these walks")
    command.set_defaults(run=_compare)


def _compare(chosen: argparse.Namespace, console: Console) -> int:
    from .cli_compare import compare

    return compare(chosen, console)


def _add_read(commands: argparse._SubParsersAction) -> None:
    command = _add_command(
        commands, "read", "read a walk's values from a contact and a passing pose, and from pose 1 as measured"
    )
    command.add_argument("poses", type=_path, metavar="POSES.toml", help="such as seeds/poses/lamplighter.toml")
    command.add_argument("--shot", type=_path, required=True, metavar="SHOT.toml", help="the shot file")
    command.add_argument("--out", type=_path, metavar="NEW.toml", help="the shot file to write; without it nothing is")
    command.add_argument("--replace", action="store_true", help="overwrite the file that --out names")
    command.add_argument("--reopen", type=_names, metavar="A,B",
                         help="values of [walk], and stage.start_mm, that may be written although you typed them; "
                              "every = all")  # fmt: skip
    command.set_defaults(run=_read)


def _read(chosen: argparse.Namespace, console: Console) -> int:
    from .cli_read import read

    return read(chosen, console)


def _add_temper(commands: argparse._SubParsersAction) -> None:
    command = _add_command(commands, "temper", "give a walk a temperament: it fills what you left open")
    command.add_argument("shot", type=_path, nargs="?", metavar="SHOT", help="the shot file")
    command.add_argument("--as", dest="temperament", metavar="NAME", help="a temperament; --list names them")
    command.add_argument("--leg", metavar="LEG", help="limp: the leg that is spared (default: the second)")
    command.add_argument("--out", type=_path, metavar="NEW.toml", help="the shot file to write; without it nothing is")
    command.add_argument("--replace", action="store_true", help="overwrite the file that --out names")
    command.add_argument("--reopen", type=_names, metavar="A,B",
                         help="values of [walk] that it may write although you typed them; every = all but steps "
                              "and first_foot")  # fmt: skip
    command.add_argument("--list", action="store_true", help="name the temperaments")
    command.add_argument("--pictures", type=_path, metavar="DIR",
                         help="name them, and draw each on SHOT's puppet (else the lamplighter) into this folder, "
                              "with nothing typed")  # fmt: skip
    command.set_defaults(run=_temper)


def _temper(chosen: argparse.Namespace, console: Console) -> int:
    from .cli_temper import temper

    return temper(chosen, console)


def _add_retime(commands: argparse._SubParsersAction) -> None:
    command = _add_command(commands, "retime", "give a walk another pace: what counts poses is scaled with it")
    _add_change(command)
    pace = command.add_mutually_exclusive_group(required=True)
    pace.add_argument("--poses-per-step", type=_whole, metavar="N", help="poses a step, contact to contact")
    pace.add_argument("--seconds-per-step", type=_above_0, metavar="S", help="the whole poses nearest to this")
    pace.add_argument("--bpm", type=_above_0, metavar="B", help="the whole poses nearest to this many beats a minute")
    command.add_argument("--steps-per-beat", type=_above_0, default=1.0, metavar="K",
                         help="steps to a beat of --bpm; 0.5 = a step every other beat; default: 1")  # fmt: skip
    command.set_defaults(run=_retime)


def _retime(chosen: argparse.Namespace, console: Console) -> int:
    from .cli_retime import retime

    return retime(chosen, console)


def _add_fit(commands: argparse._SubParsersAction) -> None:
    command = _add_command(commands, "fit", "make a walk possible for its puppet, with as little change as does it")
    _add_change(command)
    command.add_argument("--step", action="store_true", help="the step length may be changed too, if you left it open")
    command.set_defaults(run=_fit)


def _fit(chosen: argparse.Namespace, console: Console) -> int:
    from .cli_fit import fit_shot

    return fit_shot(chosen, console)


def _add_holes(commands: argparse._SubParsersAction) -> None:
    command = _add_command(
        commands, "holes", "put the feet over the holes of the stage's grid, for the whole walk at once"
    )
    _add_change(command)
    command.add_argument(
        "--step", type=_above_0, metavar="MM", help="one step length for the walk, such as one offered"
    )
    command.add_argument("--poses-per-step", type=_whole, metavar="N", help="other poses a step, such as those offered")
    uneven = command.add_mutually_exclusive_group()
    uneven.add_argument("--uneven", action="store_true",
                        help="write steps although their lengths differ by more than a tenth of a step")  # fmt: skip
    uneven.add_argument("--even-speed", action="store_true",
                        help="the same, longer steps with more poses, so that the walk keeps its speed")  # fmt: skip
    command.set_defaults(run=_holes)


def _holes(chosen: argparse.Namespace, console: Console) -> int:
    from .cli_holes import holes

    return holes(chosen, console)


def _add_size(commands: argparse._SubParsersAction) -> None:
    command = _add_command(commands, "size", "say how long steps should take for a character of some size")
    command.add_argument("shot", type=_path, metavar="SHOT", help="the shot file")
    _add_variant(command)
    command.add_argument("--hip", required=True, metavar="1.2m",
                         help="height that the character's hips should seem to have, with mm, cm or m")  # fmt: skip
    command.set_defaults(run=_size)


def _size(chosen: argparse.Namespace, console: Console) -> int:
    from .cli_size import size

    return size(chosen, console)


def _add_range(commands: argparse._SubParsersAction) -> None:
    command = _add_command(
        commands, "range", "say how low and how high each leg lets its hip go, and what measures otherwise"
    )
    command.add_argument("file", type=_path, metavar="PUPPET_OR_SHOT", help="a puppet file or a shot file")
    _add_variant(command)
    command.add_argument("--out", type=_path, metavar="FILE|DIR",
                         help="FILE.txt, .csv or .svg: the sheet; a folder: each leg's band as a picture, "
                              "band_LEG.svg and .png, with the walk of a shot in it")  # fmt: skip
    command.add_argument("--replace", action="store_true", help="overwrite files of other content")
    command.set_defaults(run=_range)


def _range(chosen: argparse.Namespace, console: Console) -> int:
    from .cli_range import bench

    return bench(chosen, console)


def _add_weigh(commands: argparse._SubParsersAction) -> None:
    command = _add_command(
        commands, "weigh", "say what the joints carry in every pose, what a rig must lift, and what to tie"
    )
    command.add_argument("shot", type=_path, metavar="SHOT", help="the shot file")
    _add_variant(command)
    command.add_argument("--out", type=_path, metavar="DIR",
                         help="folder for weight.csv, .svg and .png; made if missing")  # fmt: skip
    command.add_argument("--replace", action="store_true", help="overwrite what is no table of this puppet's weight")
    command.set_defaults(run=_weigh)


def _weigh(chosen: argparse.Namespace, console: Console) -> int:
    from .cli_weigh import weigh_shot

    return weigh_shot(chosen, console)


def _add_sheets(commands: argparse._SubParsersAction) -> None:
    command = _add_command(commands, "sheets", "write the paper for the set: what to print, and a screen for a tablet")
    command.add_argument("shot", type=_path, metavar="SHOT", help="the shot file")
    _add_variant(command)
    command.add_argument(
        "--out", type=_path, required=True, metavar="DIR", help="folder for the files; made if missing"
    )
    command.add_argument("--replace", action="store_true", help="overwrite what was made from another shot")
    _add_paper(command)
    command.set_defaults(run=_sheets)


def _sheets(chosen: argparse.Namespace, console: Console) -> int:
    from .cli_sheets import sheets

    return sheets(chosen, console)


def _add_starters(commands: argparse._SubParsersAction) -> None:
    command = _add_command(commands, "starters", "list the starter shots, or copy them to begin from")
    command.add_argument("--copy", type=_path, metavar="DIR", help="copy them with their puppets into this folder")
    command.add_argument("names", nargs="*", metavar="NAME", help="only these starters")
    command.set_defaults(run=_starters)


def _starters(chosen: argparse.Namespace, console: Console) -> int:
    from .cli_starters import starters

    return starters(chosen, console)


def _names(words: str) -> tuple[str, ...]:
    names = tuple(word.strip() for word in words.split(",") if word.strip())
    if not names:  # an empty variable of a script, say
        raise argparse.ArgumentTypeError("expected names such as A,B, given none")
    return names


def _path(words: str) -> Path:
    if not words:  # Path would take it for the folder that we are in
        raise argparse.ArgumentTypeError("expected a path, given an empty text")
    return Path(words)


def _above_0(words: str) -> float:
    if not re.fullmatch(r"\s*([0-9]{1,9}(\.[0-9]{0,9})?|\.[0-9]{1,9})\s*", words) or not float(words) > 0:
        raise argparse.ArgumentTypeError(f"expected a number above 0, given {words[:40]!r}")
    return float(words)


def _whole(words: str) -> int:
    if not re.fullmatch(r"\s*[-+]?[0-9]{1,18}\s*", words):
        raise argparse.ArgumentTypeError(f"expected a whole number, given {words[:40]!r}")
    return int(words)


if __name__ == "__main__":
    sys.exit(main())
