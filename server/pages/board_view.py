"""The board, ready to be shown: rows in order of urgency, tally, filter, axis.

Templates and what each is given (`drawn` is optional: the rows as
drawn before, `open` and `closed`):

- `board/board.html`    the station page: `head` (PageHead, `live_head`), `board` (BoardView).
- `board/rows.html`     the element `#board` alone, for a refresh in place: `board`.
- `board/row.html`      one row: `row` (RowView).
- `board/changes.html`  the data of one unnamed stream event, the same for every reader of a ward:
                        `board` (unfiltered), `changed` (its rows that changed).
- `wall/wall.html`, `wall/rows.html`, `wall/row.html`, `wall/changes.html`
                        the same for the wall, from rows that went through `wall_row`.

The stream at `stream_href`: unnamed events carry `changes.html`, with the ward's revision as event
id; the address carries `?since=` the revision shown, and what came after is sent at once. An event
named `tick` comes at least every 5 s, its data a JSON object `{"at", "checked_at"}` (instants, the
second may be null). When the stream was away, when the window has moved, or when the order names a
row that the page lacks, the page fetches `refresh_href` by itself. A session that is over answers
stream and refresh with 401: the page then loads itself anew and so meets the sign-in page.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, tzinfo

from server.domain.policy import Policy
from server.domain.wording import wall_time
from server.domain.workload.capacity import WallWindow
from server.pages.board_filter import (
    Filter,
    Tally,
    filter_key,
    filters,
    nurse_name,
    order_text,
    rows_of,
    tally,
)
from server.pages.page_head import iso, zone_text
from server.pages.row_view import RowView
from server.pages.time_window import Tick, axis, window_at


@dataclass(frozen=True, slots=True)
class BoardView:
    """Everything on a board. Instants as in PageHead; places in per cent of the window.

    `spoilt` are the beds of units that cannot be worked out and have no row.
    """

    ward_name: str
    revision: int
    now_text: str
    now_x: float
    zone_text: str
    from_iso: str
    to_iso: str
    ticks: tuple[Tick, ...]
    night: bool
    tally: tuple[Tally, ...]
    spoilt: str
    filters: tuple[Filter, ...]
    nurse_key: str
    nurse_name: str
    rows: tuple[RowView, ...]
    closed_rows: tuple[RowView, ...]
    order: str
    closed_order: str
    stream_href: str
    refresh_href: str


@dataclass(frozen=True, slots=True)
class Place:
    """Where a board stands and is fetched from; `href` is the page's own address."""

    ward_name: str
    zone: tzinfo
    revision: int
    night: bool
    href: str
    stream_href: str
    refresh_href: str
    spoilt: tuple[str, ...] = ()


def board_view(
    rows: Sequence[RowView],
    place: Place,
    now: datetime,
    names: Mapping[str, str],
    nurse_id: str | None = None,
) -> BoardView:
    """Answer the board of `rows`, which are in order of urgency.

    `nurse_id` shows one nurse's rows only, `UNASSIGNED` those of nobody, None all.
    """
    window, nurse_key = window_at(now), filter_key(nurse_id)
    is_open = tuple([row for row in rows if not row.closed])
    is_closed = tuple([row for row in rows if row.closed])
    return BoardView(
        ward_name=place.ward_name,
        revision=place.revision,
        now_text=wall_time(now, place.zone),
        now_x=window.x(now),
        zone_text=zone_text(now, place.zone),
        from_iso=iso(window.start),
        to_iso=iso(window.end),
        ticks=axis(window, place.zone),
        night=place.night,
        tally=tally(rows),
        spoilt=", ".join(place.spoilt),
        filters=filters(is_open, names, place.href, nurse_key),
        nurse_key=nurse_key,
        nurse_name=nurse_name(nurse_id, names),
        rows=rows_of(is_open, nurse_key),
        closed_rows=rows_of(is_closed, nurse_key),
        order=order_text(is_open),
        closed_order=order_text(is_closed),
        stream_href=place.stream_href,
        refresh_href=place.refresh_href,
    )


def is_night(now: datetime, zone: tzinfo, policy: Policy) -> bool:
    """Whether it is night on the ward, from `night.from` up to `night.until`."""
    night = WallWindow(policy.night_from, policy.night_until)
    return night.holds(now.astimezone(zone).time())
