"""Install a Chromium for the set screen's tests where neither the system nor playwright has one yet."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

from playwright.sync_api import sync_playwright


def main() -> int:
    with sync_playwright() as play:
        own = Path(play.chromium.executable_path)
    if own.exists() or shutil.which("chromium") or shutil.which("google-chrome"):
        return 0
    return subprocess.run([sys.executable, "-m", "playwright", "install", "chromium"], check=False).returncode


if __name__ == "__main__":
    sys.exit(main())
