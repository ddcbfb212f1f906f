"""The arguments of the commands that show, judge and write a plan: `check`, `prepare`, `compare`, `range`, `weigh`,
`sheets` and `starters`."""

from __future__ import annotations

import argparse

from striderule.model.shot import ARC_POINTS, LAYERS
from striderule.model.view import BUILT_IN_VIEWS

from .cli_arguments import add_command, add_paper, add_shot, add_variant, lazily
from .cli_words import names, path, whole


def add_plan_commands(commands: argparse._SubParsersAction) -> None:
    """In the order of --help."""
    _add_check(commands)
    _add_prepare(commands)
    _add_compare(commands)
    _add_range(commands)
    _add_weigh(commands)
    _add_sheets(commands)
    _add_starters(commands)


def _add_check(commands: argparse._SubParsersAction) -> None:
    command = add_command(commands, "check", "plan the walk and say what is wrong with it, without Blender")
    add_shot(command)
    command.set_defaults(run=lazily("cli_check", "check"))


def _add_prepare(commands: argparse._SubParsersAction) -> None:
    command = add_command(commands, "prepare", "write overlay pictures, tables, the Blender scene and previews")
    add_shot(command)
    command.add_argument(
        "--out", type=path, required=True, metavar="DIR", help="folder for everything; made if missing"
    )
    command.add_argument("--replace", action="store_true", help="overwrite what was made from another shot")
    pictures = command.add_argument_group("overlay pictures")
    views = ", ".join(BUILT_IN_VIEWS)
    pictures.add_argument("--views", type=names, metavar="A,B", help=f"views, out of {views}, the shot's own, or every")
    pictures.add_argument("--layers", type=names, metavar="A,B",
                          help=f"layers to write, each by itself and together in `all`, out of {', '.join(LAYERS)}; "
                               "`all` = the flat picture alone")  # fmt: skip
    pictures.add_argument("--arcs", type=names, metavar="A,B",
                          help=f"points whose arcs the layer arcs shows, out of {', '.join(ARC_POINTS)}")  # fmt: skip
    pictures.add_argument("--poses", metavar="9-20",
                          help="only these poses, from 1; no scene and no previews are written, so that many such "
                               "parts can be made side by side")  # fmt: skip
    pictures.add_argument("--per-pose", action="store_true", help="one picture per pose, not per film frame")
    pictures.add_argument("--first-number", type=whole, metavar="N", help="number of the first picture")
    pictures.add_argument("--digits", type=whole, metavar="N", help="digits in a picture's number")
    pictures.add_argument("--backdrop", metavar="COLOUR", help="none, black, white, grey or #rrggbb: opaque pictures")
    paper = command.add_argument_group("sheets for the set, in DIR/sheets")
    paper.add_argument("--no-sheets", action="store_true", help="no sheets")
    add_paper(paper)
    blender = command.add_argument_group("Blender")
    blender.add_argument("--no-blend", action="store_true", help="no Blender scene")
    blender.add_argument("--no-preview", action="store_true", help="no previews")
    blender.add_argument("--preview-views", type=names, metavar="A,B",
                         help="views that get a preview; default: side-on,three-quarter-front")  # fmt: skip
    blender.add_argument("--on-the-spot", action="store_true", help="also previews that walk on the spot")
    blender.add_argument("--block-through", action="store_true", help="also previews of the key poses alone, each held")
    command.set_defaults(run=lazily("cli_prepare", "prepare"))


def _add_compare(commands: argparse._SubParsersAction) -> None:
    command = add_command(commands, "compare", "put walks side by side: what differs, a chart over time, one film")
    command.add_argument("shots", type=path, nargs="+", metavar="SHOT",
                         help="shot files, their main walks; one alone: its main walk and its variants")  # fmt: skip
    command.add_argument("--out", type=path, required=True, metavar="DIR",
                         help="folder for compare.csv, .svg, .png and .mp4; made if missing")  # fmt: skip
    command.add_argument("--view", default="side-on", metavar="NAME",
                         help=f"the film's one camera, out of {', '.join(BUILT_IN_VIEWS)}, or the first shot's own; "
                              "default: side-on")  # fmt: skip
    command.add_argument("--no-preview", action="store_true", help="no film, which needs Blender")
    command.add_argument("--replace", action="store_true", help="overwrite what is no comparison of these walks")
    command.set_defaults(run=lazily("cli_compare", "compare"))


def _add_range(commands: argparse._SubParsersAction) -> None:
    command = add_command(
        commands, "range", "say how low and how high each leg lets its hip go, and what measures otherwise"
    )
    command.add_argument("file", type=path, metavar="PUPPET_OR_SHOT", help="a puppet file or a shot file")
    add_variant(command)
    command.add_argument("--out", type=path, metavar="FILE|DIR",
                         help="FILE.txt, .csv or .svg: the sheet; a folder: each leg's band as a picture, "
                              "band_LEG.svg and .png, with the walk of a shot in it")  # fmt: skip
    command.add_argument("--replace", action="store_true", help="overwrite files of other content")
    command.set_defaults(run=lazily("cli_range", "bench"))


def _add_weigh(commands: argparse._SubParsersAction) -> None:
    command = add_command(
        commands, "weigh", "say what the joints carry in every pose, what a rig must lift, and what to tie"
    )
    command.add_argument("shot", type=path, metavar="SHOT", help="the shot file")
    add_variant(command)
    command.add_argument("--out", type=path, metavar="DIR",
                         help="folder for weight.csv, .svg and .png; made if missing")  # fmt: skip
    command.add_argument("--replace", action="store_true", help="overwrite what is no table of this puppet's weight")
    command.set_defaults(run=lazily("cli_weigh", "weigh_shot"))


def _add_sheets(commands: argparse._SubParsersAction) -> None:
    command = add_command(commands, "sheets", "write the paper for the set: what to print, and a screen for a tablet")
    command.add_argument("shot", type=path, metavar="SHOT", help="the shot file")
    add_variant(command)
    command.add_argument("--out", type=path, required=True, metavar="DIR", help="folder for the files; made if missing")
    command.add_argument("--replace", action="store_true", help="overwrite what was made from another shot")
    add_paper(command)
    command.set_defaults(run=lazily("cli_sheets", "sheets"))


def _add_starters(commands: argparse._SubParsersAction) -> None:
    command = add_command(commands, "starters", "list the starter shots, or copy them to begin from")
    command.add_argument("--copy", type=path, metavar="DIR", help="copy them with their puppets into this folder")
    command.add_argument("names", nargs="*", metavar="NAME", help="only these starters")
    command.set_defaults(run=lazily("cli_starters", "starters"))
