"""A provider of sign-ins that hangs while a whole shift presses its button; prints its figures."""

import asyncio
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
LEAST_LOOKS: Final = 5
PATIENCE_SECONDS: Final = 5.0
SEEN_WITHIN_SECONDS: Final = 2.0
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
            waited, looked = asyncio.run(_press_and_look(served, secret))

    say(
        f"{SHIFT} people were told after {max(waited):.1f} s at most that the provider does not "
        f"answer; pages meanwhile took {median(looked):.2f} s, {max(looked):.2f} s at most"
    )
    assert max(waited) < 2 * PATIENCE_SECONDS
    assert max(looked) < SEEN_WITHIN_SECONDS


async def _press_and_look(served: Running, secret: str) -> tuple[list[float], list[float]]:
    """Seconds until each of the shift was answered, and those that pages took meanwhile."""
    cookies = {COOKIE: secret}
    async with httpx.AsyncClient(base_url=served.base, timeout=30, cookies=cookies) as browser:
        shift = [asyncio.create_task(_press(served)) for _ in range(SHIFT)]
        await asyncio.sleep(PATIENCE_SECONDS / 2)
        looked: list[float] = []
        while not any(one.done() for one in shift):
            begun = monotonic()
            answer = await browser.get(f"/wards/{WARD}/orders")
            looked.append(monotonic() - begun)
            assert answer.status_code == httpx.codes.OK
        assert len(looked) >= LEAST_LOOKS
        return await asyncio.gather(*shift), looked


async def _press(served: Running) -> float:
    async with httpx.AsyncClient(base_url=served.base, timeout=30) as browser:
        form = Page((await browser.get("/sign-in")).text).form("elsewhere")
        begun = monotonic()
        answer = await browser.post(form.action, data=form.filled({}))
        assert answer.status_code == httpx.codes.SERVICE_UNAVAILABLE
        assert "does not answer" in answer.text
        return monotonic() - begun
