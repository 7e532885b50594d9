"""A provider of sign-ins that hangs while a whole shift presses its button; prints its figures."""

import asyncio
from dataclasses import dataclass
from pathlib import Path
from statistics import median
from time import monotonic
from typing import Final

import httpx

from server.clock import utc_now
from tests.faults.asking import say, signed_in, until_normal
from tests.faults.programs import Running, Served, ending
from tests.faults.small_ward import WARD, make_small_ward
from tests.pages.reading import Page
from tests.provider.process import running_provider

SHIFT: Final = 60  # more than there are threads for pages
PATIENCE_SECONDS: Final = 5.0
ONE_BY_ONE_SECONDS: Final = SHIFT * PATIENCE_SECONDS
PRESSED_SECONDS: Final = 120.0
ROUNDS: Final = 5
"""On a busy machine the first may be answered before a page has come: tried so many times."""
COOKIE: Final = "fourth_hour_session"


def test_a_provider_that_hangs_holds_up_no_page(tmp_path: Path) -> None:
    ward = make_small_ward(tmp_path / "ward.db", utc_now(), units=2)
    secret = signed_in(ward)
    with running_provider() as provider:
        provider.be(hangs="card")
        settings = provider.settings(public_address="https://board.example")
        with ending(Served(ward.database, tmp_path / "log", **settings)) as served:
            served.wait_until_ready()
            until_normal(served, ward)
            waited, looked = _until_looked(served, secret)

    assert looked, "no page came while all of the shift waited"
    say(
        f"{SHIFT} people were told after {max(waited):.1f} s at most that the provider does not "
        f"answer; pages meanwhile took {median(looked):.2f} s, {max(looked):.2f} s at most"
    )
    assert max(waited) < ONE_BY_ONE_SECONDS / 4


def _until_looked(served: Running, secret: str) -> tuple[list[float], list[float]]:
    """Have the shift press until a page came while all of it waited; seconds as below."""
    waited, looked = asyncio.run(_press_and_look(served, secret))
    for _ in range(ROUNDS - 1):
        if looked:
            break
        waited, looked = asyncio.run(_press_and_look(served, secret))
    return waited, looked


@dataclass
class Shift:
    """Who presses at once when all have the page before them; how many of them were answered."""

    ready: asyncio.Barrier
    answered: int = 0

    async def press(self, served: Running) -> float:
        """One presses the button; after how many seconds they were told."""
        async with httpx.AsyncClient(base_url=served.base, timeout=PRESSED_SECONDS) as browser:
            form = Page((await browser.get("/sign-in")).text).form("elsewhere")
            await self.ready.wait()
            begun = monotonic()
            answer = await browser.post(form.action, data=form.filled({}))
            self.answered += 1
            assert answer.status_code == httpx.codes.SERVICE_UNAVAILABLE
            assert "does not answer" in answer.text
            return monotonic() - begun


async def _press_and_look(served: Running, secret: str) -> tuple[list[float], list[float]]:
    """Seconds until each of the shift was answered, and those of pages that came meanwhile."""
    cookies, shift = {COOKIE: secret}, Shift(asyncio.Barrier(SHIFT + 1))
    async with httpx.AsyncClient(base_url=served.base, timeout=60, cookies=cookies) as browser:
        waiting = [asyncio.create_task(shift.press(served)) for _ in range(SHIFT)]
        await shift.ready.wait()
        await asyncio.sleep(PATIENCE_SECONDS / 2)  # by now all of them hang
        looked: list[float] = []
        while not shift.answered:
            begun = monotonic()
            answer = await browser.get(f"/wards/{WARD}/orders")
            assert answer.status_code == httpx.codes.OK
            if not shift.answered:
                looked.append(monotonic() - begun)
        return await asyncio.gather(*waiting), looked
