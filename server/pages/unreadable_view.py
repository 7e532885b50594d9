"""Units that cannot be read, ready to be shown: what is still known of them, and what to do."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime, tzinfo
from typing import Final

from server.domain.request import Request
from server.domain.urgency import natural
from server.domain.wording import COMPONENT, PHASE, clock_text, dated_time
from server.pages.episodes.clock_rows import STATE
from server.pages.forms.entry import Entry
from server.pages.links import episode_href, ward_href
from server.pages.page_head import UnreadableLine
from server.services.read_unreadable import UnreadableUnit
from server.store.clock_states import ClockRecord

TO_DO: Final = (
    "Go to the bedside and go on by the paper sheet: write down every time. Nothing can be "
    "recorded on this unit here, and nobody is reminded of it. Tell this board’s administrator."
)
At = Callable[[datetime | None], str]

UNSHOWN: Final = frozenset({"csrf_token", "once", "form_key", "seen", "back", "check"})
"""Fields that nobody typed."""
SECRET: Final = frozenset({"badge", "pin", "password"})
"""Fields whose text nobody is to read, beside the bed least of all."""


@dataclass(frozen=True, slots=True)
class LimitLine:
    """One clock as it was last worked out, in words."""

    name: str
    due: str
    limit: str
    state: str


@dataclass(frozen=True, slots=True)
class UnreadableView:
    """The page of one unit that cannot be read. `facts` are pairs of a term and its value.

    `typed` are pairs of a field and what stood in it: they were not recorded.
    """

    bed: str
    unit: str
    to_do: str
    facts: tuple[tuple[str, str], ...]
    limits: tuple[LimitLine, ...]
    typed: tuple[tuple[str, str], ...]
    board_href: str
    sheet_href: str


def unreadable_lines(units: Iterable[Request]) -> tuple[UnreadableLine, ...]:
    """Answer units that were left out of a page, by bed."""
    ordered = sorted(units, key=lambda one: (natural(one.bed), one.id))
    return tuple(
        UnreadableLine(one.bed, COMPONENT[one.component], episode_href(one.id)) for one in ordered
    )


def unreadable_view(
    known: UnreadableUnit, zone: tzinfo, now: datetime, typed: Entry | None = None
) -> UnreadableView:
    """Answer the page of a unit, with what somebody tried to record on it."""
    request = known.request

    def at(instant: datetime | None) -> str:
        return "" if instant is None else dated_time(instant, zone, now)

    return UnreadableView(
        bed=request.bed,
        unit=COMPONENT[request.component],
        to_do=TO_DO,
        facts=tuple((term, value) for term, value in _facts(known, at) if value),
        limits=tuple(_limit(one, at) for one in sorted(known.clocks, key=_by_limit)),
        typed=tuple(_typed(typed)),
        board_href=ward_href(request.ward_id, "board"),
        sheet_href=ward_href(request.ward_id, "sheet"),
    )


def _facts(known: UnreadableUnit, at: At) -> Iterator[tuple[str, str]]:
    patient, state = known.patient, known.state
    if patient is not None:
        yield "Patient", patient.full_name
        yield "Record number", patient.record_number
    if state is not None:
        yield "Nurse", known.nurse_name or "nobody"
        yield "Phase", PHASE[state.phase]
        yield "Left storage", at(state.removed_at)
        yield "Issued", at(state.issued_at)
        yield "Started", at(state.started_at)
        yield "Ended", at(state.ended_at)
        yield "Last entry in it", at(state.last_recorded_at)


def _by_limit(clock: ClockRecord) -> tuple[bool, str, str, int]:
    limit = clock.limit_at
    return limit is None, "" if limit is None else limit.isoformat(), clock.clock, clock.n


def _limit(clock: ClockRecord, at: At) -> LimitLine:
    return LimitLine(
        name=clock_text(clock.clock, clock.n),
        due=at(clock.due_at),
        limit=at(clock.limit_at),
        state=STATE[clock.state],
    )


def _typed(typed: Entry | None) -> Iterator[tuple[str, str]]:
    for name, texts in (typed.values if typed else {}).items():
        said = ", ".join(text for text in texts if text.strip())
        if said and name not in UNSHOWN | SECRET:
            yield name.replace("_", " "), said
