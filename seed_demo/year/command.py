"""`fourth-hour demo --year`: fill a database with the past of a hospital, say how to open it."""

import os
import sys
from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

from seed_demo.options import Options
from seed_demo.staff import PASSWORD, SET_UP
from seed_demo.surroundings import OtherWard, timezone_of
from seed_demo.year.hospital import Year, tell_year
from server.cli_files import show_progress
from server.clock import utc_now
from server.services.enter_ward import list_wards
from server.store.migrate import migrate
from server.store.store import Store


def tell_a_year(options: Options, address: str) -> None:
    """Fill the database, with a bar at a terminal. Raises `OtherWard` if it holds wards already."""
    timezone = options.timezone or timezone_of(os.environ)
    until = _until(options, ZoneInfo(timezone))
    year = Year(options.wards, options.episodes, options.seed, until, timezone)
    store = Store(address)
    try:
        migrate(store)
        with store.read() as session:
            if list_wards(session, SET_UP):
                raise OtherWard(f"{options.database} holds wards; a year wants a new database")
        units = tell_year(store, address, year, progress=show_progress)
    finally:
        store.close()
    sys.stdout.write(_said(year, units, address))


def _until(options: Options, zone: ZoneInfo) -> datetime:
    """The end of the last day by the wards' calendar, never later than now."""
    now = utc_now()
    if options.until is None:
        return now
    day_after = datetime.combine(options.until + timedelta(days=1), time(), zone)
    until = day_after.astimezone(UTC) - timedelta(seconds=1)
    if until > now:
        raise ValueError(f"--until {options.until}: expected a day that is over")
    return until


def _said(year: Year, units: int, address: str) -> str:
    count = f"{len(year.plans)} ward{'s' * (len(year.plans) > 1)}"
    wards = "\n".join(f"            {ward.id:<10} {ward.name}" for ward in year.plans)
    return f"""
  A year of an invented hospital: {units:,} units on {count}, \
{year.begins:%Y-%m-%d} to {year.until:%Y-%m-%d}.
  Wards
{wards}
  Serve     FOURTH_HOUR_DATABASE={address} fourth-hour serve
  Sign in   as manager        manager
            as charge nurse   charge-WARD, such as charge-{year.plans[0].id}
            as bedside nurse  nurse-WARD
            as administrator  admin
  Password  {PASSWORD}  (for all of them, in this database only)
"""
