"""The head of every page: the ward, the links, the person, and the ward's time."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta, tzinfo
from typing import Final
from zoneinfo import ZoneInfo

from server.domain.wording import day_text, wall_time

SECONDS_SHOWN: Final = 120


@dataclass(frozen=True, slots=True)
class Link:
    """A link to a screen; `current` marks the screen one is on."""

    text: str
    href: str
    current: bool = False


@dataclass(frozen=True, slots=True)
class UnreadableLine:
    """One unit that a page had to leave out, because its facts cannot be read."""

    bed: str
    unit: str
    href: str


@dataclass(frozen=True, slots=True)
class PageHead:
    """What `layouts/shell.html` and `layouts/page.html` show, under the name `head`.

    Instants are ISO 8601 in UTC (`…_iso`) or the ward's wall time (`…_text`); `day_text` is its
    day, for paper. `live` pages hold a stream and say when the last check was. `late_text` is
    empty while reminders are on time, `away_text` while the database is there. `sheet_href` is
    where the ward's paper sheet is, on pages that lead there. `unreadable` are the units that the
    page had to leave out. `program_text` tells an administrator that something of the program is
    wrong.
    """

    now_iso: str
    now_text: str
    day_text: str
    zone: str
    zone_text: str
    ward_name: str = ""
    home_href: str = "/"
    links: Sequence[Link] = ()
    person: str = ""
    role_text: str = ""
    person_id: str = ""
    lock_seconds: int = 0
    sign_out_href: str = "/sign-out"
    csrf_token: str = ""
    night: bool = False
    live: bool = False
    stale_after_seconds: int = 10
    checked_iso: str = ""
    checked_text: str = ""
    late_text: str = ""
    away_text: str = ""
    sheet_href: str = ""
    program_text: str = ""
    unreadable: Sequence[UnreadableLine] = ()


def iso(instant: datetime) -> str:
    """Answer an instant as the pages carry it, `2026-11-25T10:00:00Z`."""
    return f"{instant.astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}"


def zone_text(instant: datetime, zone: tzinfo) -> str:
    """Answer the short name of the ward's zone at an instant, `GMT` or `NZDT`."""
    return instant.astimezone(zone).tzname() or str(zone)


def checked_text(checked_at: datetime | None, now: datetime) -> str:
    """Answer when the last successful check was, as the head says it."""
    if checked_at is None:
        return "not checked yet"
    seconds = max(0, int((now - checked_at).total_seconds()))
    return (
        f"checked {seconds} s ago"
        if seconds < SECONDS_SHOWN
        else f"checked {seconds // 60} min ago"
    )


def late_text(
    checked_at: datetime | None, now: datetime, zone: ZoneInfo, stale_after: timedelta
) -> str:
    """Answer the words of the banner, empty while the last check is recent enough."""
    if checked_at is None:
        return "Reminders are not running: no check has been made yet."
    if now - checked_at <= stale_after:
        return ""
    return f"Reminders are late: last check {wall_time(checked_at, zone)}."


def live_head(
    head: PageHead, *, checked_at: datetime | None, now: datetime, stale_after: timedelta
) -> PageHead:
    """Answer the head of a page that holds a stream."""
    zone = ZoneInfo(head.zone)
    return replace(
        head,
        live=True,
        stale_after_seconds=int(stale_after.total_seconds()),
        checked_iso="" if checked_at is None else iso(checked_at),
        checked_text=checked_text(checked_at, now),
        late_text=late_text(checked_at, now, zone, stale_after),
    )


def page_head(
    now: datetime, zone: ZoneInfo, *, ward_name: str = "", night: bool = False
) -> PageHead:
    """Answer the head every page begins with; add links and person with `dataclasses.replace`."""
    return PageHead(
        now_iso=iso(now),
        now_text=wall_time(now, zone),
        day_text=day_text(now.astimezone(zone)),
        zone=zone.key,
        zone_text=zone_text(now, zone),
        ward_name=ward_name,
        night=night,
    )
