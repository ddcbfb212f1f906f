# /// script
# requires-python = ">=3.11"
# dependencies = ["pytest>=9,<10"]
# ///
"""The project's tasks, the same on a desk and on a build server: `uv run .ci/task.py NAME`."""

from __future__ import annotations

import argparse
import subprocess
import sys

import matrix


def main() -> int:
    parser = argparse.ArgumentParser(prog="task.py", description=__doc__)
    tasks = parser.add_subparsers(dest="task", required=True)
    tasks.add_parser("format", help="sort imports, mend what can be mended, lay out every file")
    tasks.add_parser("lint", help="layout and lint rules")
    tasks.add_parser("types", help="pyright, strict, for the core")
    build = tasks.add_parser("build", help="the extension's zip, in dist/")
    build.add_argument("--release", action="store_true", help="give the bundled core its plain version")
    test = tasks.add_parser("test", help="everything: lint, types, and every test in every Python and Blender")
    test.add_argument("jobs", nargs="*", metavar="JOB", help=f"only these: {', '.join(matrix.NAMES)}")
    tasks.add_parser("browser", help="the set screen in a real Chromium, which it installs; not part of test")
    arguments = parser.parse_args()
    match arguments.task:
        case "format":
            return alone("--only-group lint ruff check --fix .") or alone("--only-group lint ruff format .")
        case "build":
            return alone("--group build addon/build.py" + (" --release" if arguments.release else ""))
        case "test":
            unknown = set(arguments.jobs) - set(matrix.NAMES)
            if unknown:
                parser.error(f"no such job: {', '.join(sorted(unknown))}; there are {', '.join(matrix.NAMES)}")
            return matrix.run(arguments.jobs or matrix.NAMES)
        case job:
            return matrix.run([job])


def alone(command: str) -> int:
    """Run one command in an environment of its own, shown as it goes."""
    return subprocess.run(
        ["uv", "run", "--isolated", *command.split()], cwd=matrix.ROOT, env=matrix.environment(), check=False
    ).returncode


if __name__ == "__main__":
    sys.exit(main())
