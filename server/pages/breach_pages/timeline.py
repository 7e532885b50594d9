"""What was shown and said of one limit, in the order in which it came to be known."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import groupby, pairwise
from typing import Final

from server.domain.breach_course import Course, Known
from server.domain.clock import BREACHED
from server.domain.delivery import DeliveryState
from server.domain.wording import RECIPIENT, span, whole_minutes
from server.domain.words import ClockState, Recipient, Stage
from server.pages.episodes.sentences import Speech
from server.pages.page_head import iso
from server.services.read_breach import BreachRead
from server.store.deliveries import Sending
from server.store.reminders import RaisedReminder

AT_ONCE: Final = timedelta(minutes=1)
"""Within this a scheduler that is awake notices what time alone changes."""

CROSSED: Final = {
    ClockState.DUE: "Due",
    ClockState.MISSED: "Too late to be met",
    ClockState.LAPSED: "No longer owed",
}
STAGE: Final = {
    Stage.NOTICE: "Reminder before it was due",
    Stage.DUE: "Reminder when due",
    Stage.OVERDUE: "Reminder at the limit",
    Stage.ESCALATE: "Reminder escalated",
    Stage.SECOND_ESCALATE: "Reminder escalated again",
}
SENT: Final = {
    DeliveryState.WAITING: "still waiting",
    DeliveryState.DELIVERED: "taken",
    DeliveryState.STALE: "given up",
    DeliveryState.DROPPED: "given up, the webhook was removed",
}


@dataclass(frozen=True, slots=True)
class Happening:
    """One line: when it came to be known, what it was, and more about it, each in a sentence."""

    at: datetime
    at_iso: str
    time: str
    what: str
    more: tuple[str, ...] = ()
    passed: bool = False


def timeline(breach: BreachRead, speech: Speech) -> tuple[Happening, ...]:
    """Answer everything of one limit, the earliest first; `speech` speaks from near the limit.

    At one instant an entry comes first: the rest follows from it.
    """
    found = [
        *_entries(breach.course, speech),
        *_crossings(breach, speech),
        *_shown(breach, speech),
        *_reminders(breach, speech),
    ]
    return tuple(sorted(found, key=lambda one: one.at))


def told_whom(to: str, speech: Speech) -> str:
    """Answer whom a reminder went to: a name, the words for a role, or the ward's own contact."""
    if to in speech.names:
        return speech.names[to]
    return RECIPIENT[Recipient(to)] if to in set(Recipient) else to


def _happening(
    at: datetime, what: str, speech: Speech, *more: str, passed: bool = False
) -> Happening:
    said = tuple(text for text in more if text)
    return Happening(at, iso(at), speech.time(at), what, said, passed)


def _crossings(breach: BreachRead, speech: Speech) -> Iterator[Happening]:
    """What time alone changed; what an entry changed is said with the entry."""
    known = breach.course.first_known_at
    for one in breach.crossed:
        if one.to_state in CROSSED:
            at = max(one.at, known or one.at)
            noticed = _noticed(at, one.noticed_at, speech)
            yield _happening(at, CROSSED[one.to_state], speech, noticed)


def _shown(breach: BreachRead, speech: Speech) -> Iterator[Happening]:
    """From when boards showed it as passed: they tell time themselves, reminders need a tick."""
    for since, _ in breach.course.shown:
        noticed = [one.noticed_at for one in breach.crossed if one.to_state in BREACHED]
        first = next((at for at in noticed if at >= since), since)
        said = _noticed(since, first, speech)
        yield _happening(since, "Shown as passed", speech, said, passed=True)


def _noticed(at: datetime, noticed_at: datetime, speech: Speech) -> str:
    """When it was noticed, where nobody had looked for some time."""
    late = noticed_at - at > AT_ONCE
    return f"Reminders noticed it at {speech.time(noticed_at)} only." if late else ""


def _entries(course: Course, speech: Speech) -> Iterator[Happening]:
    for before, after in pairwise((None, *course.known)):
        yield from _entry(before, after, speech)


def _entry(before: Known | None, after: Known | None, speech: Speech) -> Iterator[Happening]:
    assert after is not None  # noqa: S101 - only the first of the pairs is none
    old = None if before is None else before.clock
    new, at = after.clock, after.since
    if new is None:
        yield _happening(at, "An entry took the limit away", speech)
        return
    if old is None or old.limit_at != new.limit_at:
        yield from _placed(old is not None, new.limit_at, at, speech)
    if new.met_at is not None and (old is None or old.met_at != new.met_at):
        after_words = _charted(new.met_at, at, speech)
        yield _happening(at, "Charted as done", speech, after_words)
    if new.met_at is None and old is not None and old.met_at is not None:
        yield _happening(at, "An entry took back that it was done", speech)


def _placed(
    known: bool,  # noqa: FBT001 - whether there was a limit before
    limit: datetime | None,
    at: datetime,
    speech: Speech,
) -> Iterator[Happening]:
    """An entry that said when the limit is, or moved it."""
    if limit is None:
        return
    words = "An entry moved the limit" if known else "An entry told that it is owed"
    late = "That was after it." if at > limit else ""
    yield _happening(at, words, speech, f"Limit {speech.time(limit)}.", late)


def _charted(met_at: datetime, at: datetime, speech: Speech) -> str:
    minutes = whole_minutes(met_at, at)
    if minutes < 1:
        return f"Done {speech.time(met_at)}."
    return f"Done {speech.time(met_at)}, charted {span(minutes)} after it was done."


def _reminders(breach: BreachRead, speech: Speech) -> Iterator[Happening]:
    for (stage, _repeats, to, by), each in groupby(breach.raised, key=_alike):
        yield _reminder(stage, to, by, list(each), breach, speech)


def _alike(one: RaisedReminder) -> tuple[Stage, bool, str, str | None]:
    return one.stage, one.repeat > 0, one.to, one.acknowledged_by


def _reminder(
    stage: Stage,
    to: str,
    by: str | None,
    raised: Sequence[RaisedReminder],
    breach: BreachRead,
    speech: Speech,
) -> Happening:
    """One reminder, or repeats of it that went to the same person and were answered alike."""
    first, last = raised[0], raised[-1]
    where = "on the board and on their list" if to in speech.names else "on the board"
    answered = "Nobody answered it."
    if by is not None and last.acknowledged_at is not None:
        answered = f"“I have it” {speech.time(last.acknowledged_at)}, {speech.name(by)}."
    sendings = [sending for one in raised for sending in breach.sent.get(one.id, ())]
    return _happening(
        first.raised_at,
        _named(stage, first, last, len(raised), speech),
        speech,
        f"To {told_whom(to, speech)}: {where}.",
        answered,
        _sent(sendings, speech),
    )


def _named(
    stage: Stage, first: RaisedReminder, last: RaisedReminder, count: int, speech: Speech
) -> str:
    if not first.repeat:
        return STAGE[stage]
    if count == 1:
        return "Reminder repeated"
    return f"Reminder repeated {count} times, until {speech.time(last.raised_at)}"


def _sent(sendings: Sequence[Sending], speech: Speech) -> str:
    """By which webhooks it went, and what came of it; of repeats, of the last to each."""
    latest = {one.webhook: one for one in sendings}
    parts = [
        f"webhook {name}: {SENT[one.state]}"
        f"{'' if one.ended_at is None else f' {speech.time(one.ended_at)}'}"
        for name, one in latest.items()
    ]
    return f"Also by {'; by '.join(parts)}." if parts else ""
