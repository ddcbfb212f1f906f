"""What the command line says: results to standard output, progress and errors to standard error."""

from __future__ import annotations

import contextlib
import os
import sys
import time
from collections.abc import Iterator
from typing import TextIO

from striderule.errors import OutputError

_EVERY_S = 0.2


class Console:
    """One run's voice. On a terminal progress rewrites its line; elsewhere it tells of every tenth part."""

    def __init__(self, quiet: bool = False, out: TextIO | None = None, log: TextIO | None = None) -> None:
        self._quiet = quiet
        self._out: TextIO | None = out or sys.stdout  # None: closed by whoever started us
        self._log: TextIO | None = log or sys.stderr
        self._open_line = False
        self._last = 0.0
        for stream in (self._out, self._log):
            # A name that the terminal cannot show must not end the run.
            with contextlib.suppress(AttributeError, ValueError):
                stream.reconfigure(errors="backslashreplace")  # type: ignore[union-attr]

    def finding(self, line: str) -> None:
        """A line of the findings; not said when quiet."""
        if not self._quiet:
            self._say(self._out, line)

    def result(self, line: str) -> None:
        """The last line."""
        self._say(self._out, line)

    def error(self, line: str) -> None:
        """One clear message."""
        self._say(self._log, f"striderule: {line}")

    def log(self, line: str) -> None:
        """What is being done; not said when quiet."""
        if not self._quiet:
            self._say(self._log, line)

    def progress(self, done: int, total: int, what: str) -> None:
        """done of total, `what` naming it."""
        if self._quiet or self._log is None:
            return
        if self._log.isatty():
            now = time.monotonic()
            if done < total and now - self._last < _EVERY_S:
                return
            self._last = now
            self._log.write(f"\r{what} {done}/{total}\x1b[K")
            self._open_line = True
            if done == total:
                self._close_line()
            self._log.flush()
        elif done * 10 // total > (done - 1) * 10 // total:
            self._say(self._log, f"{what} {done}/{total}")

    def _say(self, stream: TextIO | None, line: str) -> None:
        self._close_line()
        if stream is None:
            return
        try:
            stream.write(line + "\n")
            stream.flush()
        except OSError as error:
            self._give_up(stream)
            # A reader that has gone (| head) and a log that cannot be kept end nothing; results that are lost do.
            if stream is not self._log and not isinstance(error, BrokenPipeError):
                raise OutputError(f"standard output: cannot be written ({error.strerror}).") from error

    def _give_up(self, stream: TextIO) -> None:
        with contextlib.suppress(OSError, ValueError):  # else Python would try once more when it ends
            nowhere = os.open(os.devnull, os.O_WRONLY)
            os.dup2(nowhere, stream.fileno())
            os.close(nowhere)

    def _close_line(self) -> None:
        if self._open_line and self._log is not None:
            self._log.write("\n")
            self._open_line = False


@contextlib.contextmanager
def chatter_silenced() -> Iterator[None]:
    """While Blender works: what it prints by itself on the process's standard output goes nowhere."""
    try:
        sys.stdout.flush()
        kept = os.dup(1)
    except (AttributeError, OSError):  # it is closed or broken: nothing to silence
        yield
        return
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 1)
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)
        os.close(nowhere)
