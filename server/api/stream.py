"""The stream as JSON: what changed, reminders, signs of life."""

import json
from typing import Final

from server.api.answers.reminders import reminder_answer
from server.domain.encoding import write_instant
from server.live import News, Tick, server_sent

FORM: Final = "json"  # all who follow a ward in this form share what is encoded


class JsonEncoder:
    """Reminders come first and carry no id: who loses them on the way gets them again."""

    def news(self, news: News) -> bytes:
        """`reminder` for each, then `changed`; `whole`: read the board anew."""
        said = {
            "revision": news.revision,
            "episode_ids": list(news.episode_ids),
            "whole": news.whole,
        }
        changed = server_sent("changed", json.dumps(said), revision=news.revision)
        reminders = (reminder_answer(one).model_dump_json() for one in news.reminders)
        return b"".join((*(server_sent("reminder", one) for one in reminders), changed))

    def tick(self, tick: Tick) -> bytes:
        """`tick`: the present instant, the last successful check, whether the database is away."""
        checked_at = None if tick.checked_at is None else write_instant(tick.checked_at)
        said = {"at": write_instant(tick.at), "checked_at": checked_at, "away": tick.away}
        return server_sent("tick", json.dumps(said), revision=tick.revision)
