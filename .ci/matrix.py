"""Every check in every Python and Blender, two at a time, closed by one pytest summary over all of them.

Each job has an environment of its own (`uv run --isolated`), so that none sees another's packages: uv would otherwise
change one shared environment under a running test. A job that cannot run (no such Python, no such bpy) is printed as
NOT RUN and fails.
"""

from __future__ import annotations

import concurrent.futures
import dataclasses
import functools
import os
import shutil
import subprocess
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

import verdict

ROOT = Path(__file__).resolve().parent.parent
SIDE_BY_SIDE = 2


@dataclasses.dataclass(frozen=True)
class Job:
    """One check. tests: folder given to pytest; command: run instead of pytest; before: run ahead of it;
    after: a job that must have passed."""

    name: str
    python: str
    packages: str
    tests: str = ""
    command: str = ""
    before: str = ""
    after: str = ""

    def commands(self, report: Path) -> list[list[str]]:
        """The command lines, one after the other; pytest leaves its report at `report`."""
        if self.command:
            return [line.split() for line in self.command.split(" && ")]
        first = [self.before.split()] if self.before else []
        return [*first, ["python", "-m", "pytest", self.tests, f"--junitxml={report}", "--durations=5"]]


BLENDERS = {
    "4.2": ("3.11", "--no-group bpy --group bpy42"),
    "4.5": ("3.11", "--no-group bpy --group bpy45"),
    "5.0": ("3.11", ""),
    "5.2": ("3.13", ""),
}
ONLY = {"4.2": "bpy42", "4.5": "bpy45", "5.0": "bpy", "5.2": "bpy"}

# The longest first, so that no long one is left alone at the end; build before what installs the zip.
JOBS = (
    Job("build", "3.11", "--group build", command="python addon/build.py --out dist"),
    Job("lint", "3.11", "--only-group lint", command="ruff check . && ruff format --check --output-format concise ."),
    Job("types", "3.13", "--no-group bpy --group types", command="pyright"),  # numpy 2, whose types say far more
    Job("core-3.11", "3.11", "--no-group bpy --group test", "tests/core"),
    Job("core-3.13", "3.13", "--no-group bpy --group test", "tests/core"),
    Job("outside", "3.11", "--group test --group outside", "tests/outside"),
    *(
        Job(f"addon-{v}", py, f"{groups} --group test --group pictures", "tests/addon")
        for v, (py, groups) in BLENDERS.items()
    ),
    *(
        Job(f"installed-{v}", py, f"--only-group {ONLY[v]} --only-group pytest", "tests/installed", after="build")
        for v, (py, _) in BLENDERS.items()
    ),
)
NAMES = [job.name for job in JOBS]

# By name only: it installs a browser of some 150 MB.
ON_REQUEST = (
    Job(
        "browser",
        "3.11",
        "--no-group bpy --group test --group browser",
        "tests/browser",
        before="python .ci/chromium.py",
    ),
)


def run(names: Sequence[str]) -> int:
    """Run the jobs of these names and what they need; 0 where every one ran and passed."""
    jobs = [
        job
        for job in (*JOBS, *ON_REQUEST)
        if job.name in names or any(job.name == one.after for one in JOBS if one.name in names)
    ]
    start = time.monotonic()
    if subprocess.run(["uv", "lock", "--quiet"], cwd=ROOT, env=environment(), check=False).returncode != 0:
        print("NOT RUN: the project's requirements could not be resolved; uv's own message is above")
        return 1
    with tempfile.TemporaryDirectory(prefix="striderule-test-") as folder:
        done: dict[str, concurrent.futures.Future[verdict.Outcome]] = {}
        with concurrent.futures.ThreadPoolExecutor(SIDE_BY_SIDE) as pool:
            for job in jobs:
                done[job.name] = pool.submit(run_job, job, Path(folder), done.get(job.after))
        print(f"\nall jobs together: {time.monotonic() - start:.0f} s", flush=True)
        return verdict.close([future.result() for future in done.values()], Path(folder))


def run_job(job: Job, folder: Path, needed: concurrent.futures.Future[verdict.Outcome] | None) -> verdict.Outcome:
    """Run one job to its end and print how it went: its last line where it passed, all of its output where not."""
    if needed is not None and needed.result().state != verdict.PASSED:
        print(f"---- {job.name}: {verdict.NOT_RUN}, because {job.after} did not pass", flush=True)
        return verdict.Outcome(job.name, verdict.NOT_RUN, f"{job.after} did not pass", None)
    start = time.monotonic()
    report = folder / f"{job.name}.xml"
    output, code = "", 0
    for command in job.commands(report):
        line = ["uv", "run", "--isolated", "--frozen", "-p", python(job.python), *job.packages.split(), *command]
        step = subprocess.run(
            line, cwd=ROOT, env=environment(), text=True, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, check=False
        )
        output += step.stdout
        code = code or step.returncode
    outcome = verdict.judge(job.name, code, output, report if job.tests else None)
    shown = (output.rstrip().splitlines() or [""])[-1] if outcome.state == verdict.PASSED else output.rstrip()
    print(f"---- {job.name}: {outcome.state}, {time.monotonic() - start:.0f} s\n{shown}", flush=True)
    return outcome


@functools.cache
def python(version: str) -> str:
    """What `uv run -p` is given for "3.11" or "3.13".

    uv finds most Pythons, but not those that pyenv keeps behind its shims (a shim of a version that is not the chosen
    one even stops uv's search). Where there is none at all, the bare version lets uv download one.
    """
    found = subprocess.run(
        ["uv", "python", "find", "--no-project", "--system", "--no-python-downloads", version],
        cwd=ROOT, env=environment(), text=True, capture_output=True, check=False,
    )  # fmt: skip
    if found.returncode == 0:
        return found.stdout.strip()
    if shutil.which("pyenv"):
        root = subprocess.run(["pyenv", "root"], text=True, capture_output=True, check=False).stdout.strip()
        for path in sorted(Path(root, "versions").glob(f"{version}.*/bin/python{version}"), reverse=True):
            return str(path)
    return version


def environment() -> dict[str, str]:
    """The caller's environment without what would let another Python's packages in."""
    unwanted = {"VIRTUAL_ENV", "PYTHONPATH", "PYTHONHOME", "BLENDER_USER_RESOURCES"}
    return {key: value for key, value in os.environ.items() if key not in unwanted} | {"UV_NO_PROGRESS": "1"}
