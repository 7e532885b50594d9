"""Start the provider in a process of its own, and go there as a person does."""

import re
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from html import unescape
from time import sleep
from typing import Any, Final

import httpx2

from tests.ports import free_port, is_free
from tests.provider.book import CLIENT_ID, CLIENT_SECRET

BOARD: Final = "http://testserver"
ONWARD: Final = re.compile(r'http-equiv="refresh" content="0; url=([^"]+)"')


@dataclass(frozen=True)
class RunningProvider:
    """The provider, where it listens."""

    port: int
    process: "subprocess.Popen[bytes]"

    @property
    def issuer(self) -> str:
        """Its address."""
        return f"http://127.0.0.1:{self.port}"

    def settings(self, **other: Any) -> dict[str, Any]:
        """The settings of a board that uses it."""
        return {
            "public_address": BOARD,
            "sso_issuer": self.issuer,
            "sso_client_id": CLIENT_ID,
            "sso_client_secret": CLIENT_SECRET,
            "sso_label": "the staff login",
        } | other

    def be(self, **mood: Any) -> None:
        """Have it stray from the standard in some way; in none, where none is named."""
        httpx2.post(
            f"{self.issuer}/mood", json={name.replace("_", " "): mood[name] for name in mood}
        )

    def change_keys(self) -> None:
        """Have it sign with another key from now on, and name the old one no more."""
        httpx2.post(f"{self.issuer}/keys")

    def jar(self) -> httpx2.Cookies:
        """The cookies of a browser that comes again."""
        return httpx2.Cookies()

    def knows(self, cookies: httpx2.Cookies) -> bool:
        """Whether it still knows who sits at a browser."""
        answer = httpx2.get(f"{self.issuer}/known", cookies=cookies)
        return bool(answer.json()["known"])

    def visit(self, address: str, name: str, cookies: httpx2.Cookies | None = None) -> str:
        """Go where the board sends a person, say who it is, and answer where they are sent back.

        Without a name the person leaves it. `cookies` is the jar of a browser that comes again.
        """
        with httpx2.Client(cookies=cookies) as browser:
            answer = browser.get(address)
            if answer.status_code == httpx2.codes.OK:
                answer = browser.post(address, data={"name": name})
            if cookies is not None:
                cookies.clear()
                cookies.update(browser.cookies)
        return str(answer.headers["location"])


@contextmanager
def running_provider(board: str = BOARD) -> Iterator[RunningProvider]:
    """The provider for the length of a block."""
    port = free_port()
    command = [sys.executable, "-m", "tests.provider", str(port), board]
    quiet = subprocess.DEVNULL
    with subprocess.Popen(command, stdout=quiet, stderr=quiet) as process:
        try:
            while is_free(port):
                assert process.poll() is None, "the provider did not start"
                sleep(0.1)
            yield RunningProvider(port, process)
        finally:
            process.kill()


def onward_of(html: str) -> str:
    """Where a page of the board goes on to."""
    found = ONWARD.search(html)
    assert found is not None, html[:400]
    return unescape(found[1])
