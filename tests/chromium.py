"""Finds a Chromium for the browser lane: by variable, then on the path, then Playwright's own."""

import os
import shutil
from pathlib import Path

import pytest
from playwright.sync_api import Playwright

NAMES = ("chromium", "chromium-browser", "google-chrome-stable", "google-chrome")


def chromium_path(playwright: Playwright) -> Path:
    """The browser to start. Without one: a failure where CI is set, elsewhere a loud skip."""
    named = [os.environ.get("CHROMIUM", ""), *(shutil.which(name) or "" for name in NAMES)]
    own = playwright.chromium.executable_path
    for candidate in (*named, own):
        if candidate and Path(candidate).is_file():
            return Path(candidate)
    if os.environ.get("CI"):
        pytest.fail("CHROMIUM MISSING: the browser lane must run in CI")
    pytest.skip("CHROMIUM MISSING: nothing was tested in a browser (apt-get install chromium)")
