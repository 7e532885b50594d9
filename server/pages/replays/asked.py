"""What an address of the replay asks for, and the addresses of the instants around it."""

from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Final
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from server.pages.boards.replay import asked_instant
from server.pages.forms.entry import Entry, Wrong
from server.pages.forms.past import AHEAD
from server.pages.forms.ward_time import FIRST, SECOND, TypedTime, with_choices
from server.pages.links import ward_href
from server.pages.page_head import iso
from server.pages.replays.spans import HOURS, SPANS

NO_KNOWN: Final = "expected then, now, or an instant with its offset"
THEN: Final = "then"
NOW: Final = "now"
BOARD: Final = "board"
LIST: Final = "list"
REMINDERS: Final = "reminders"
VIEWS: Final = (BOARD, LIST, REMINDERS)


@dataclass(frozen=True, slots=True)
class Asked:
    """A ward at `at`, UTC to the second.

    `known` is `then` (as known at the instant), `now`, or another instant as it was written.
    `nurse` is an id, empty for the whole ward.
    """

    ward_id: str
    at: datetime
    known: str = THEN
    view: str = BOARD
    nurse: str = ""
    span: str = HOURS

    @property
    def known_at(self) -> datetime:
        """By when the first of the two views was known."""
        if self.known in (THEN, NOW):
            return self.at
        return datetime.fromisoformat(self.known)

    @property
    def href(self) -> str:
        """The address of exactly this; what goes without saying is left out."""
        usual = Asked(self.ward_id, self.at)
        said = {
            name: text
            for name in ("known", "view", "nurse", "span")
            if (text := getattr(self, name)) != getattr(usual, name)
        }
        # Colons are allowed there, and an instant is meant to be read.
        query = urlencode({"at": iso(self.at), **said}, safe=":")
        return f"{ward_href(self.ward_id, 'replay')}?{query}"

    def but(self, **changes: object) -> str:
        """The address of the same with something changed."""
        return replace(self, **changes).href  # type: ignore[arg-type]

    def typed(self, zone: ZoneInfo) -> TypedTime:
        """The instant as the fields of the form hold it, to the second."""
        local = self.at.astimezone(zone)
        which = SECOND if local.fold else FIRST
        return with_choices(TypedTime(f"{local:%Y-%m-%d}", f"{local:%H:%M:%S}", which), zone)


def asked_of(ward_id: str, query: Entry, zone: ZoneInfo, now: datetime) -> Asked:
    """Answer what an address asks for; without an instant it is now. Raises `Wrong`.

    An instant `at` goes before the date and time that somebody typed.
    """
    at = asked_instant("at", {"at": query.raw("at")})
    if at is None:
        day = f"{now.astimezone(zone):%Y-%m-%d}"
        at = query.instant("at", zone, day=day) or now
    at = at.replace(microsecond=0)
    if at > now:
        query.refuse("at", AHEAD)
    view = query.choice("view", VIEWS) or BOARD
    span = query.choice("span", SPANS) or HOURS
    known = _known(query, at)
    query.check()
    return Asked(ward_id, at, known, view, query.text("nurse") or "", span)


def _known(query: Entry, at: datetime) -> str:
    """By what is known; other pages of the past say it as `known_at`."""
    said = query.raw("known").strip() or query.raw("known_at")
    if said in ("", THEN, NOW):
        return said or THEN
    try:
        known_at = asked_instant("known", {"known": said})
    except Wrong:
        query.refuse("known", NO_KNOWN)
        return THEN
    return THEN if known_at is None or known_at == at else iso(known_at.astimezone(UTC))
