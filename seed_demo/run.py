"""`fourth-hour demo`: an invented ward that lives, on a database of its own."""

import os
import signal
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any, Final

from seed_demo.acting import Pace, acting
from seed_demo.badges import give_badges
from seed_demo.banner import Place, banner, told
from seed_demo.first_plans import tell_plans
from seed_demo.options import Options, read_options
from seed_demo.set_up import OPENED_BEFORE
from seed_demo.simulated_shift import SimulatedShift
from seed_demo.staff import EARLY, SET_UP, WARD_ID
from seed_demo.surroundings import (
    OtherWard,
    database_for,
    free_port,
    has_display,
    open_browser_at,
    timezone_of,
)
from seed_demo.tell import episode_id, tell_ward
from seed_demo.year.command import tell_a_year
from server.clock import Clock, running_clock, utc_now
from server.key_file import read_key
from server.services.board_key import BoardKey
from server.services.enter_ward import list_wards
from server.services.wall_links import make_wall_link
from server.settings import Settings
from server.store.errors import Away
from server.store.migrate import migrate
from server.store.store import Store
from server.store.wards import Ward

Serve = Callable[[Settings, Store, Clock], None]
"""Serves the board until it is told to stop; whoever starts the demonstration hands it in."""

AWAY: Final = "platelets-wanted"
"""Whose patient is about to leave the ward for a while."""

UNSERVED: Final = timedelta(minutes=1)
"""By how much earlier a ward is told that nobody serves: a board that ticked a moment ago is taken
for one that runs, and not moved."""

SETTLE_SECONDS: Final = 20
"""How long, in the ward's time, it stays as it was told, so that a first look finds it whole."""


def main(given: Sequence[str], serve: Serve) -> int:
    """Run the demonstration until it is stopped; 0, or 1 with a message if it cannot run."""
    options = read_options(given)
    signal.signal(signal.SIGTERM, _leave)
    try:
        with database_for(options.database, keep=options.keep) as address:
            if options.year:
                tell_a_year(options, address)
            else:
                _run(options, address, serve)
    except KeyboardInterrupt:
        return 0
    except (Away, OSError, OtherWard, ValueError) as why:
        sys.stderr.write(f"fourth-hour demo: {why}\n")
        return 1
    return 0


def _leave(_signal: int, _frame: Any) -> None:
    """End as after Ctrl+C, so that what was made for the moment is taken away."""
    raise KeyboardInterrupt


def _run(options: Options, address: str, serve: Serve) -> None:
    port = _port(options)
    settings = _settings(options, address, port)
    store = Store(address)
    try:
        migrate(store)
        ward = _ready(store, options, BoardKey(read_key(settings)))
        if not options.serve:
            _say(told(address))
            return
        clock = _clock(options.speed, ward.last)
        _announce(store, options, settings, ward.proposal, clock())
        shift = SimulatedShift(
            store, seed=options.seed, start=ward.start, hands_off=options.hands_off
        )
        with acting(shift, clock, Pace(SETTLE_SECONDS / options.speed, options.step_seconds)):
            serve(settings, store, clock)
    finally:
        store.close()


def _port(options: Options) -> int:
    port = free_port(options.host, options.port)
    if options.port not in (0, port):
        _say(f"Port {options.port} is taken; this demonstration takes {port}.\n")
    return port


def _settings(options: Options, address: str, port: int) -> Settings:
    """The usual settings; what is measured by the ward's clock stretches with its speed."""
    usual = Settings()
    return replace(
        usual,
        database=address,
        host=options.host,
        port=port,
        stale_after=usual.stale_after * options.speed,
        session_length=usual.session_length * options.speed,
        lock_after=usual.lock_after * options.speed,
        log_level="warning",  # what it says who can sign in stays in sight
    )


@dataclass(frozen=True, slots=True)
class Ready:
    """A ward that was told: when it began, the last instant it has seen, a plan that waits."""

    start: datetime
    last: datetime
    proposal: str | None = None


def _ready(store: Store, options: Options, key: BoardKey) -> Ready:
    """Tell the ward, or find it told."""
    with store.read() as session:
        wards = {ward.id: ward for ward in list_wards(session, SET_UP)}
    if WARD_ID in wards:
        return _found(wards[WARD_ID])
    if wards:
        raise OtherWard(f"{options.database} holds other wards; the demo wants its own database")
    start = utc_now() - (UNSERVED if not options.serve else timedelta())
    _say("An invented ward is being told its past weeks and its day so far ...\n")
    zone = options.timezone or timezone_of(os.environ)
    tell_ward(store, seed=options.seed, start=start, timezone=zone, weeks=options.weeks)
    _, proposed = tell_plans(store, start=start, away=episode_id(AWAY))
    give_badges(store, key, now=start)
    return Ready(start, start, proposed.id)


def _found(ward: Ward) -> Ready:
    start = ward.recorded_at + OPENED_BEFORE
    return Ready(start, max(utc_now(), ward.checked_at or start))


def _clock(speed: float, last: datetime) -> Clock:
    """The ward's clock: never earlier than the last instant that the ward has seen."""
    now = utc_now()
    if speed == 1 and last <= now:
        return utc_now
    return running_clock(last, speed)


def _announce(
    store: Store, options: Options, settings: Settings, proposal: str | None, now: datetime
) -> None:
    with store.write() as session:
        secret = make_wall_link(session, EARLY.charge.actor, WARD_ID, now=now)
    host = f"[{options.host}]" if ":" in options.host else options.host
    address = f"http://{host}:{settings.port}"
    kept = options.keep or options.database is not None
    place = Place(address, secret, settings.database, kept, options.speed, proposal)
    _say(banner(place))
    if options.browser and has_display(os.environ):
        open_browser_at(f"{address}/", options.host, settings.port)


def _say(text: str) -> None:
    sys.stdout.write(text)
    sys.stdout.flush()
