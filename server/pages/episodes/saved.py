"""What was stored a moment ago, said at the head of the page, with the way to correct it."""

from collections.abc import Iterable
from dataclasses import dataclass

from server.domain.words import Kind
from server.pages.episodes.desk import Desk, FormView
from server.pages.episodes.history import HistoryRow


@dataclass(frozen=True, slots=True)
class SavedView:
    """One fact that was stored; `correct` voids it, None where that is not possible."""

    row: HistoryRow
    correct: FormView | None


def saved_views(
    history: Iterable[HistoryRow], recorded: tuple[str, ...], desk: Desk
) -> tuple[SavedView, ...]:
    """Answer the facts of these ids, in the order they were recorded."""
    rows = {row.event_id: row for row in history}
    found = [rows[event_id] for event_id in dict.fromkeys(recorded) if event_id in rows]
    return tuple(SavedView(row, _correct(row, desk)) for row in found)


def _correct(row: HistoryRow, desk: Desk) -> FormView | None:
    if not (row.voidable and desk.may(Kind.VOIDED)):
        return None
    return desk.form(Kind.VOIDED, f"correct-{row.key}", event_id=row.event_id)
