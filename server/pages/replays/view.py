"""The page of a replay, put together from what was asked for and what the ward was like."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Final
from zoneinfo import ZoneInfo

from server.domain.wording import dated_time, day_text, whole_minutes
from server.domain.wording import span as length_of
from server.pages.board_view import BoardView, Place, board_view
from server.pages.episodes.sentences import Speech
from server.pages.forms.fields import Options
from server.pages.links import episode_href, ward_href
from server.pages.own_list.view import MineView, mine_view
from server.pages.page_head import iso, zone_text
from server.pages.replays.asked import BOARD, LIST, NOW, REMINDERS, THEN, VIEWS, Asked
from server.pages.replays.hindsight import UnitHindsight, hindsight
from server.pages.replays.reminder_rows import OwedThen, RaisedThen, owed_then, raised_then
from server.pages.replays.spans import SPANS, Span
from server.pages.replays.spans import WORDS as SPAN_WORDS
from server.pages.replays.track import Track
from server.pages.row_view import RowView, row_view
from server.pages.time_window import window_at
from server.services.list_mine import Mine
from server.services.replay_ward import Replay, View

VIEW_WORDS: Final = {BOARD: "Board", LIST: "List of a nurse", REMINDERS: "Reminders"}


@dataclass(frozen=True, slots=True)
class Choice:
    """A way to look at the same instant."""

    words: str
    href: str
    current: bool


@dataclass(frozen=True, slots=True)
class Shown:
    """What is shown of the ward: one of the three, by the view that was asked for."""

    board: BoardView | None = None
    mine: MineView | None = None
    nurse: str = ""
    owed: tuple[OwedThen, ...] = ()
    raised: tuple[RaisedThen, ...] = ()


@dataclass(frozen=True, slots=True)
class ReplayView:
    """The replay without what is shown of the ward.

    `shown_text` is the instant with its day and zone, `known_text` says by what is known;
    `second` is where the slider stands and `ends` where it ends, in seconds since 1970.
    `time_text` and `known_time_text` are the instant and by when it was known, as bare times.
    """

    asked: Asked
    at_iso: str
    shown_text: str
    known_text: str
    time_text: str
    known_time_text: str
    now_href: str
    known: tuple[Choice, ...]
    views: tuple[Choice, ...]
    spans: tuple[Choice, ...]
    span: Span
    second: int
    ends: tuple[int, int]
    track: Track
    hindsight: tuple[UnitHindsight, ...]
    nurses: Options

    @property
    def form_href(self) -> str:
        """Where the form asks for another instant."""
        return ward_href(self.asked.ward_id, "replay")

    @property
    def hidden(self) -> tuple[tuple[str, str], ...]:
        """What the form asks for beside the instant and the nurse."""
        asked = self.asked
        return (("known", asked.known), ("view", asked.view), ("span", asked.span))

    @property
    def differing(self) -> int:
        """How many units stood otherwise than was known."""
        return sum(bool(one.differences) for one in self.hindsight)

    @property
    def late(self) -> int:
        """How many facts were charted later."""
        return sum(len(one.late) for one in self.hindsight)


def replay_view(
    asked: Asked,
    replay: Replay,
    span: Span,
    track: Track,
    speech: Speech,
    nurses: Options,
    now: datetime,
) -> ReplayView:
    """Answer all that stands around what is shown."""
    return ReplayView(
        asked=asked,
        at_iso=iso(asked.at),
        shown_text=instant_text(asked.at, speech.zone),
        known_text=_known_text(asked, speech.zone, now),
        time_text=f"{asked.at.astimezone(speech.zone):%H:%M:%S}",
        known_time_text=_time_text(asked.known_at, asked.at, speech.zone),
        now_href=ward_href(asked.ward_id, "board"),
        known=_known_choices(asked, speech.zone),
        views=tuple(
            Choice(VIEW_WORDS[one], asked.but(view=one), current=one == asked.view) for one in VIEWS
        ),
        spans=tuple(
            Choice(SPAN_WORDS[one], asked.but(span=one), current=one == asked.span) for one in SPANS
        ),
        span=span,
        second=_second(asked.at),
        ends=(_second(span.start), _second(span.end)),
        track=track,
        hindsight=hindsight(replay, speech),
        nurses=nurses,
    )


def instant_text(at: datetime, zone: ZoneInfo) -> str:
    """Answer an instant to the second, with its zone and its day."""
    local = at.astimezone(zone)
    return f"{local:%H:%M:%S} {zone_text(at, zone)}, {local:%A} {day_text(local)}"


def board_then(asked: Asked, view: View, names: Mapping[str, str], *, night: bool) -> BoardView:
    """Answer the board; each row leads to the page of its unit as it stood."""
    board, window = view.board, window_at(asked.at)
    place = Place(
        ward_name=board.ward.name,
        zone=ZoneInfo(board.ward.timezone),
        revision=board.revision,
        night=night,
        href=asked.href,
        stream_href="",
        refresh_href="",
    )
    rows = [
        _to_the_past(row_view(row.picture, window, names), row.picture.case.request.id, asked)
        for row in board.rows
    ]
    shown = board_view(rows, place, asked.at, names, asked.nurse or None)
    return replace(shown, filters=())


def list_then(mine: Mine) -> MineView:
    """Answer the list of a nurse, to be read only."""
    return mine_view(mine, own=False, cover_href=dict.fromkeys(mine.wards, ""))


def shown_then(
    asked: Asked,
    replay: Replay,
    lists: tuple[Mine, Mine] | None,
    speech: Speech,
    *,
    night: bool,
) -> Shown:
    """Answer what is shown of the ward."""
    known_now = asked.known == NOW
    if asked.view == BOARD:
        view = replay.now if known_now else replay.then
        return Shown(board=board_then(asked, view, speech.names, night=night))
    if asked.view == REMINDERS:
        owed = owed_then(replay, known_now=known_now, speech=speech)
        raised = raised_then(replay, known_now=known_now, speech=speech)
        return Shown(owed=owed, raised=raised)
    if lists is None:
        return Shown()
    mine = lists[known_now]
    return Shown(mine=list_then(mine), nurse=mine.nurse.name)


def _to_the_past(row: RowView, episode_id: str, asked: Asked) -> RowView:
    known = "" if asked.known == NOW else f"&known_at={iso(asked.known_at)}"
    return replace(row, href=f"{episode_href(episode_id)}?at={iso(asked.at)}{known}")


def _known_choices(asked: Asked, zone: ZoneInfo) -> tuple[Choice, ...]:
    choices = [
        Choice("As known then", asked.but(known=THEN), current=asked.known == THEN),
        Choice("As known now", asked.but(known=NOW), current=asked.known == NOW),
    ]
    if asked.known not in (THEN, NOW):
        when = dated_time(asked.known_at, zone, asked.at)
        choices.insert(1, Choice(f"As known {when}", asked.href, current=True))
    return tuple(choices)


def _second(at: datetime) -> int:
    return int(at.timestamp())


def _time_text(at: datetime, beside: datetime, zone: ZoneInfo) -> str:
    """A time to the second, with its day where that is not the day of the other instant."""
    local, other = at.astimezone(zone), beside.astimezone(zone)
    same_day = local.date() == other.date()
    return f"{local:%H:%M:%S}" if same_day else f"{local:%H:%M:%S} on {day_text(local)}"


def _known_text(asked: Asked, zone: ZoneInfo, now: datetime) -> str:
    if asked.known == NOW:
        ago = now - asked.at
        since = (
            ""
            if ago < timedelta(minutes=1)
            else f", {length_of(whole_minutes(asked.at, now))} later"
        )
        return f"with all that is known now{since}"
    if asked.known == THEN:
        return "as it was known then: what a screen showed at that second"
    return f"with what had been recorded by {instant_text(asked.known_at, zone)}"
