"""What holds for every test of the project: no hidden skip, and no use of what Blender says it will remove."""

from __future__ import annotations

import fnmatch
import warnings
from pathlib import Path

import pytest

SKIPS = Path(__file__).with_name("skips.txt")
_refused = pytest.StashKey[list[str]]()


def pytest_configure(config: pytest.Config) -> None:
    config.stash[_refused] = []
    config.pluginmanager.register(_Refusals(config), "striderule-refusals")


class _Refusals:
    """Collects what no single test fails for, and fails the session."""

    def __init__(self, config: pytest.Config) -> None:
        self.refused = config.stash[_refused]
        self.allowed = allowed_skips(SKIPS.read_text(encoding="utf-8"))

    def pytest_warning_recorded(self, warning_message: warnings.WarningMessage, nodeid: str) -> None:
        """Blender's deprecations come from C, where raising them as errors would break Blender itself."""
        text = str(warning_message.message)
        if "expected to be removed" in text:
            place = nodeid or f"{warning_message.filename}:{warning_message.lineno}"
            self.refused.append(f"uses what Blender will remove: {place}: {text}")

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.skipped and not hasattr(report, "wasxfail"):
            self.refuse_skip(report.nodeid, report.longrepr)

    def pytest_collectreport(self, report: pytest.CollectReport) -> None:
        if report.skipped:
            self.refuse_skip(report.nodeid, report.longrepr)

    def refuse_skip(self, nodeid: str, reason: object) -> None:
        if not any(fnmatch.fnmatchcase(nodeid, pattern) for pattern in self.allowed):
            said = reason[2] if isinstance(reason, tuple) else reason
            self.refused.append(f"skipped, and not on the list in tests/{SKIPS.name}: {nodeid}: {said}")

    @pytest.hookimpl(trylast=True)
    def pytest_sessionfinish(self, session: pytest.Session, exitstatus: int) -> None:
        if self.refused and exitstatus == pytest.ExitCode.OK:
            session.exitstatus = pytest.ExitCode.TESTS_FAILED

    def pytest_terminal_summary(self, terminalreporter: pytest.TerminalReporter) -> None:
        if self.refused:
            terminalreporter.section("refused", red=True)
            for line in sorted(set(self.refused)):
                terminalreporter.line(line)


def allowed_skips(text: str) -> list[str]:
    """The patterns of a list of skips: one test id with * and ? a line, "#" and what follows it is the reason."""
    lines = (line.split("#", 1)[0].strip() for line in text.splitlines())
    return [line for line in lines if line]
