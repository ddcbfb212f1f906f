"""The command line: `striderule check`, `prepare`, `read`, `compare`, `temper`, `retime`, `fit`, `holes`, `size`,
`range`, `weigh`, `sheets`, `board`, `calibrate`, `match`, `angles`, `starters`.

Blender is imported only by the parts of `prepare` and `compare` that write the scene and films.
"""

from __future__ import annotations

import argparse
import sys
import traceback
from collections.abc import Sequence

from striderule import __version__
from striderule.errors import StrideruleError

from .cli_arguments import EPILOG
from .cli_camera import add_camera_commands
from .cli_change import add_change_commands
from .cli_console import Console
from .cli_plan import add_plan_commands


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
        epilog=EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    top.add_argument("--version", action="version", version=f"striderule {__version__}")
    commands = top.add_subparsers(metavar="COMMAND", required=True)
    add_plan_commands(commands)
    add_change_commands(commands)
    add_camera_commands(commands)
    return top


if __name__ == "__main__":
    sys.exit(main())
