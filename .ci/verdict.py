"""One pytest summary over the reports of many pytest runs, so that the closing lines count every test of every job."""

from __future__ import annotations

import contextlib
import dataclasses
import os
from collections.abc import Iterator, Sequence
from pathlib import Path
from xml.etree import ElementTree

import pytest

PASSED, FAILED, NOT_RUN = "passed", "failed", "NOT RUN"


@dataclasses.dataclass(frozen=True)
class Outcome:
    """How one job ended. report: what its pytest left, or None."""

    job: str
    state: str
    reason: str
    report: Path | None


def judge(job: str, code: int, output: str, report: Path | None) -> Outcome:
    """The outcome of a job from its exit code and, where it runs pytest, its report (None = it runs something else).

    pytest leaves its report last: without one, or with none that holds a test, the job did not run, whatever it said.
    """
    if report is not None:
        ran = report.is_file() and bool(list(cases(report)))
        if not ran:
            last = (output.rstrip().splitlines() or ["no output"])[-1]
            return Outcome(job, NOT_RUN, f"no test ran (exit code {code}): {last}", None)
    state = PASSED if code == 0 else FAILED
    return Outcome(job, state, f"exit code {code}", report)


def cases(report: Path) -> Iterator[tuple[str, str, str]]:
    """Name, kind ("" passed, failure, error, skipped) and text of each test in a report."""
    for case in ElementTree.parse(report).iter("testcase"):
        name = f"{case.get('classname', '')}::{case.get('name', '')}"
        children = [child for child in case if child.tag in ("failure", "error", "skipped")]
        if not children:
            yield name, "", ""
        for child in children:
            yield name, child.tag, child.get("message") or (child.text or "").strip()


def close(outcomes: Sequence[Outcome], folder: Path) -> int:
    """Print pytest's own closing lines over all jobs; its exit code, 0 where everything ran and passed."""
    empty = folder / "pytest.ini"
    empty.write_text("[pytest]\nconsole_output_style = classic\n", encoding="utf-8")
    marker = folder / "jobs.outcomes"
    marker.touch()
    options = ["-q", "--no-header", "-rfEsxX", "-p", "no:cacheprovider", "-c", str(empty), "--rootdir", str(folder)]
    os.environ.setdefault("COLUMNS", "160")
    with contextlib.chdir(folder):
        return int(pytest.main([*options, marker.name], plugins=[_Replay(outcomes)]))


class _Replay:
    """The pytest plugin that turns outcomes into tests which end as they did."""

    def __init__(self, outcomes: Sequence[Outcome]) -> None:
        self.outcomes = outcomes

    def pytest_collect_file(self, file_path: Path, parent: pytest.Collector) -> pytest.Collector | None:
        if file_path.suffix != ".outcomes":
            return None
        collector = _Outcomes.from_parent(parent, path=file_path)
        collector.outcomes = self.outcomes
        return collector

    @pytest.hookimpl(tryfirst=True)
    def pytest_report_teststatus(self, report: pytest.TestReport) -> tuple[str, str, str] | None:
        """Thousands of dots say nothing here; the counts do."""
        return ("passed", "", "PASSED") if report.when == "call" and report.passed else None


class _Outcomes(pytest.File):
    outcomes: Sequence[Outcome]

    def collect(self) -> Iterator[pytest.Item]:
        for outcome in self.outcomes:
            reason = "" if outcome.state == PASSED else f"{outcome.state}: {outcome.reason}"
            yield self._item(f"{outcome.job}", "" if outcome.state == PASSED else "failure", reason)
            for name, kind, text in cases(outcome.report) if outcome.report else ():
                yield self._item(f"{outcome.job} {name}", kind, text)

    def _item(self, name: str, kind: str, text: str) -> pytest.Item:
        item = _Case.from_parent(self, name=name)
        item.kind, item.text = kind, text
        return item


class _Case(pytest.Item):
    kind: str
    text: str

    def runtest(self) -> None:
        if self.kind == "skipped":
            pytest.skip(self.text)
        if self.kind:
            raise AssertionError(self.text)

    def repr_failure(self, excinfo: pytest.ExceptionInfo[BaseException]) -> str:
        return (str(excinfo.value).splitlines() or [self.kind])[0]

    def reportinfo(self) -> tuple[Path, None, str]:
        return self.path, None, self.name
