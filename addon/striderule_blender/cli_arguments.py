"""What the arguments of several commands have in common."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from importlib import import_module

from striderule.paper.page import PAPERS_MM, SHEET_NAMES

from .cli_console import Console
from .cli_words import above_0, names, path

EPILOG = """exit codes:
  0    done; no finding makes the walk impossible
  1    the walk is impossible as it is planned; `prepare` has still drawn everything
  2    the shot file or an option is wrong; nothing was written
  3    something cannot be written
  70   a mistake in Striderule itself
  130  interrupted; what is there is whole, and the same command goes on from it

Findings and the last line go to standard output, progress and errors to standard error.
"""


def lazily(module: str, function: str) -> Callable[[argparse.Namespace, Console], int]:
    """A command's function, out of a module that is imported when the command runs: --help stays quick."""

    def run(chosen: argparse.Namespace, console: Console) -> int:
        return getattr(import_module(f".{module}", __package__), function)(chosen, console)

    return run


def add_command(commands: argparse._SubParsersAction, name: str, purpose: str) -> argparse.ArgumentParser:
    command = commands.add_parser(
        name, help=purpose, description=purpose[0].upper() + purpose[1:] + ".", epilog=EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )  # fmt: skip
    command.add_argument(
        "--quiet", action="store_true", help="no progress and no findings: errors and the last line only"
    )
    return command


def add_shot(command: argparse.ArgumentParser) -> None:
    command.add_argument("shot", type=path, metavar="SHOT", help="the shot file, such as seeds/heron.toml")
    add_variant(command)
    command.add_argument("--json", type=path, metavar="FILE", help="also write findings and counts to this file")


def add_variant(command: argparse.ArgumentParser) -> None:
    command.add_argument("--variant", metavar="NAME", help="this variant of the shot instead of its main walk")


def add_change(command: argparse.ArgumentParser) -> None:
    """A shot file that is changed, and where the changed one goes."""
    command.add_argument("shot", type=path, metavar="SHOT", help="the shot file")
    command.add_argument("--out", type=path, metavar="NEW.toml", help="the shot file to write; without it nothing is")
    command.add_argument("--replace", action="store_true", help="overwrite the file that --out names")


def add_paper(group: argparse._ActionsContainer) -> None:
    """How sheets are wanted."""
    group.add_argument("--paper", default="a4", metavar="SIZE", help=f"{', '.join(PAPERS_MM)}; default: a4")
    group.add_argument("--date", metavar="2026-11-25", help="the day that sheets bear; default: today")
    group.add_argument("--round", type=above_0, default=0.5, metavar="MM",
                       help="what places are rounded to, 0.5 or 0.1; default: 0.5")  # fmt: skip
    group.add_argument("--minutes", type=above_0, default=8.0, metavar="M",
                       help="minutes that a pose takes, for the time to shoot; default: 8")  # fmt: skip
    group.add_argument("--drill", type=above_0, default=3.2, metavar="MM",
                       help="the hole for a tie-down's screw; default: 3.2, for M3")  # fmt: skip
    group.add_argument("--only", type=names, metavar="A,B", help=f"sheets out of {', '.join(SHEET_NAMES)}")
