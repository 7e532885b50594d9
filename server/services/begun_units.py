"""Every unit of wards that was begun by an instant, as it stood then or was known then."""

from collections.abc import Iterable, Iterator
from datetime import datetime

from server.domain.picture import Picture
from server.services.sound_cases import sound_cases, sound_picture
from server.store.board import begun_episode_ids
from server.store.sessions import ReadSession


def begun_units(
    session: ReadSession,
    ward_ids: Iterable[str],
    *,
    now: datetime,
    at: datetime | None,
    known_at: datetime | None,
) -> Iterator[Picture]:
    """Answer all of them as of `at`, or as was known at `known_at`, in no order; each is folded.

    Those that cannot be read are left out.
    """
    instant = at or now
    ids = {
        episode_id
        for ward_id in ward_ids
        for episode_id in begun_episode_ids(session, ward_id, instant, known_at=known_at)
    }
    found = sound_cases(session, ids, now=instant, at=at, known_at=known_at)
    looked = (sound_picture(case.known(at=at), instant) for case in found.cases.values())
    return (one for one in looked if one is not None)
