"""The arguments of the commands that change a walk or read one: `read`, `temper`, `retime`, `fit`, `holes`, `size`."""

from __future__ import annotations

import argparse

from .cli_arguments import add_change, add_command, add_variant, lazily
from .cli_words import above_0, names, path, whole


def add_change_commands(commands: argparse._SubParsersAction) -> None:
    """In the order of --help."""
    _add_read(commands)
    _add_temper(commands)
    _add_retime(commands)
    _add_fit(commands)
    _add_holes(commands)
    _add_size(commands)


def _add_read(commands: argparse._SubParsersAction) -> None:
    command = add_command(
        commands, "read", "read a walk's values from a contact and a passing pose, and from pose 1 as measured"
    )
    command.add_argument("poses", type=path, metavar="POSES.toml", help="such as seeds/poses/lamplighter.toml")
    command.add_argument("--shot", type=path, required=True, metavar="SHOT.toml", help="the shot file")
    command.add_argument("--out", type=path, metavar="NEW.toml", help="the shot file to write; without it nothing is")
    command.add_argument("--replace", action="store_true", help="overwrite the file that --out names")
    command.add_argument("--reopen", type=names, metavar="A,B",
                         help="values of [walk], and stage.start_mm, that may be written although you typed them; "
                              "every = all")  # fmt: skip
    command.set_defaults(run=lazily("cli_read", "read"))


def _add_temper(commands: argparse._SubParsersAction) -> None:
    command = add_command(commands, "temper", "give a walk a temperament: it fills what you left open")
    command.add_argument("shot", type=path, nargs="?", metavar="SHOT", help="the shot file")
    command.add_argument("--as", dest="temperament", metavar="NAME", help="a temperament; --list names them")
    command.add_argument("--leg", metavar="LEG", help="limp: the leg that is spared (default: the second)")
    command.add_argument("--out", type=path, metavar="NEW.toml", help="the shot file to write; without it nothing is")
    command.add_argument("--replace", action="store_true", help="overwrite the file that --out names")
    command.add_argument("--reopen", type=names, metavar="A,B",
                         help="values of [walk] that it may write although you typed them; every = all but steps "
                              "and first_foot")  # fmt: skip
    command.add_argument("--list", action="store_true", help="name the temperaments")
    command.add_argument("--pictures", type=path, metavar="DIR",
                         help="name them, and draw each on SHOT's puppet (else the lamplighter) into this folder, "
                              "with nothing typed")  # fmt: skip
    command.set_defaults(run=lazily("cli_temper", "temper"))


def _add_retime(commands: argparse._SubParsersAction) -> None:
    command = add_command(commands, "retime", "give a walk another pace: what counts poses is scaled with it")
    add_change(command)
    pace = command.add_mutually_exclusive_group(required=True)
    pace.add_argument("--poses-per-step", type=whole, metavar="N", help="poses a step, contact to contact")
    pace.add_argument("--seconds-per-step", type=above_0, metavar="S", help="the whole poses nearest to this")
    pace.add_argument("--bpm", type=above_0, metavar="B", help="the whole poses nearest to this many beats a minute")
    command.add_argument("--steps-per-beat", type=above_0, default=1.0, metavar="K",
                         help="steps to a beat of --bpm; 0.5 = a step every other beat; default: 1")  # fmt: skip
    command.set_defaults(run=lazily("cli_retime", "retime"))


def _add_fit(commands: argparse._SubParsersAction) -> None:
    command = add_command(commands, "fit", "make a walk possible for its puppet, with as little change as does it")
    add_change(command)
    command.add_argument("--step", action="store_true", help="the step length may be changed too, if you left it open")
    command.set_defaults(run=lazily("cli_fit", "fit_shot"))


def _add_holes(commands: argparse._SubParsersAction) -> None:
    command = add_command(
        commands, "holes", "put the feet over the holes of the stage's grid, for the whole walk at once"
    )
    add_change(command)
    command.add_argument("--step", type=above_0, metavar="MM", help="one step length for the walk, such as one offered")
    command.add_argument("--poses-per-step", type=whole, metavar="N", help="other poses a step, such as those offered")
    uneven = command.add_mutually_exclusive_group()
    uneven.add_argument("--uneven", action="store_true",
                        help="write steps although their lengths differ by more than a tenth of a step")  # fmt: skip
    uneven.add_argument("--even-speed", action="store_true",
                        help="the same, longer steps with more poses, so that the walk keeps its speed")  # fmt: skip
    command.set_defaults(run=lazily("cli_holes", "holes"))


def _add_size(commands: argparse._SubParsersAction) -> None:
    command = add_command(commands, "size", "say how long steps should take for a character of some size")
    command.add_argument("shot", type=path, metavar="SHOT", help="the shot file")
    add_variant(command)
    command.add_argument("--hip", required=True, metavar="1.2m",
                         help="height that the character's hips should seem to have, with mm, cm or m")  # fmt: skip
    command.set_defaults(run=lazily("cli_size", "size"))
