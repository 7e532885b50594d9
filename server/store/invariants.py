"""How each invariant stood when it was last looked at, and each time that one was broken."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from sqlalchemy import bindparam, delete, func, insert, select, update

from server.domain.invariants import Finding, Invariant, Standing
from server.store.sessions import ReadSession, WriteSession
from server.store.statements import columns_for, upsert
from server.store.tables import INVARIANT, INVARIANT_BREAK

_KEPT: Final = select(INVARIANT)
_BREAK: Final = INVARIANT_BREAK.c
_BROKEN: Final = (
    select(func.count())
    .select_from(INVARIANT)
    .where(
        INVARIANT.c.standing == Standing.BROKEN.value,
        INVARIANT.c.name.in_([one.value for one in Invariant]),
        INVARIANT.c.name != bindparam("but"),
    )
)
_IS_OPEN: Final = _BREAK.closed_at.is_(None)


@dataclass(frozen=True, slots=True)
class Kept:
    """A finding as it is kept: when it was looked at, and since when it stands so.

    `place` is where a walk over everything has come to, for whoever walks.
    """

    finding: Finding
    looked_at: datetime
    since: datetime
    place: Any = None


@dataclass(frozen=True, slots=True)
class Broken:
    """One time that an invariant did not hold; `closed_at` None: it still does not."""

    invariant: str
    opened_at: datetime
    closed_at: datetime | None
    found: str
    most: int


def read_kept(session: ReadSession) -> dict[Invariant, Kept]:
    """All findings that are kept; of an invariant that this version does not know, none."""
    known = {one.value for one in Invariant}
    rows = [row for row in session.rows(_KEPT) if row.name in known]
    return {Invariant(row.name): _kept(row) for row in rows}


def count_broken(session: ReadSession, *, but: Invariant) -> int:
    """How many did not hold when they were looked at last, one left out."""
    return int(session.value(_BROKEN, {"but": but.value}))


def keep_findings(session: WriteSession, found: Iterable[Kept]) -> None:
    """Keep findings over those of before, and open or close what they say of breaks."""
    kept = list(found)
    session.run(upsert(session.engine_name, INVARIANT.name), [_row(one) for one in kept])
    open_now = {row.invariant: row for row in session.rows(select(INVARIANT_BREAK).where(_IS_OPEN))}
    for one in kept:
        _note_break(session, one, open_now)


def read_breaks(session: ReadSession, *, limit: int) -> tuple[Broken, ...]:
    """The last times that an invariant did not hold, the newest first."""
    listed = select(*columns_for(INVARIANT_BREAK, Broken)).order_by(_BREAK.position.desc())
    return tuple(Broken(*row) for row in session.rows(listed.limit(limit)))


def forget_breaks(session: WriteSession, before: datetime) -> None:
    """Forget those that were over before an instant."""
    session.run(delete(INVARIANT_BREAK).where(_BREAK.closed_at < before))


def _note_break(session: WriteSession, one: Kept, open_now: Mapping[str, Any]) -> None:
    finding, row = one.finding, open_now.get(one.finding.invariant)
    if finding.is_broken and row is None:
        session.run(
            insert(INVARIANT_BREAK),
            {
                "invariant": finding.invariant.value,
                "opened_at": one.looked_at,
                "closed_at": None,
                "found": finding.found,
                "most": finding.count,
            },
        )
    elif finding.is_broken and row is not None and finding.count > row.most:
        session.run(_MORE, {"of": row.position, "count": finding.count})
    elif row is not None and not finding.is_broken:
        session.run(_CLOSE, {"of": row.position, "at": one.looked_at})


_MORE: Final = (
    update(INVARIANT_BREAK)
    .where(_BREAK.position == bindparam("of"))
    .values(most=bindparam("count"))
)
_CLOSE: Final = (
    update(INVARIANT_BREAK)
    .where(_BREAK.position == bindparam("of"))
    .values(closed_at=bindparam("at", type_=_BREAK.closed_at.type))
)


def _row(one: Kept) -> dict[str, Any]:
    finding = one.finding
    return {
        "name": finding.invariant.value,
        "looked_at": one.looked_at,
        "standing": finding.standing.value,
        "since": one.since,
        "found": finding.found,
        "count": finding.count,
        "subjects": list(finding.subjects),
        "place": one.place,
    }


def _kept(row: Any) -> Kept:
    finding = Finding(
        Invariant(row.name), Standing(row.standing), row.found, row.count, tuple(row.subjects)
    )
    return Kept(finding, row.looked_at, row.since, row.place)
