"""What each invariant expects, and what to do where it does not hold: for who keeps it running."""

from collections.abc import Mapping
from typing import Final, NamedTuple

from server.domain.invariants.words import Invariant


class Said(NamedTuple):
    """An invariant in words: its name, what was expected, and what to do where it is broken."""

    name: str
    expected: str
    do: str


SAID: Final[Mapping[Invariant, Said]] = {
    Invariant.CLOCKS_CHECKED: Said(
        "Clocks are checked",
        "A tick each second: one process leads and looks at what time alone has changed.",
        "Start a process that may run the jobs, or see in the log why the one that leads fails. "
        "Boards tell the right time meanwhile; reminders do not come.",
    ),
    Invariant.UNITS_LOOKED_AT: Said(
        "No unit waits to be looked at",
        "A unit whose next change has come is looked at within a minute.",
        "See whether the machine or the database is too slow, and what the job “tick” says.",
    ),
    Invariant.REMINDERS_RAISED: Said(
        "Every reminder that is owed was raised",
        "For each limit of a live unit every stage that has come was raised, once.",
        "Tell the ward to look at these units now. Then run “fourth-hour rebuild” and see the log.",
    ),
    Invariant.MESSAGES_SENT: Said(
        "Messages are on their way",
        "A message to a webhook that is on is tried within five minutes of when it is due.",
        "See the webhook’s page for what it answered, and the job “deliver” in the log.",
    ),
    Invariant.UNITS_READABLE: Said(
        "Every unit can be worked out",
        "The facts of each unit can be read and followed.",
        "Boards name these units as unreadable and nobody is reminded of them: the ward counts on "
        "paper. The log says why; something wrote to the database past the program.",
    ),
    Invariant.ROWS_AS_FACTS: Said(
        "Each unit’s row is what its facts say",
        "What is stored about a unit is what comes out when its facts are worked out anew.",
        "Run “fourth-hour rebuild”, and find out what wrote to the database past the program.",
    ),
    Invariant.ORDERS_AS_UNITS: Said(
        "Each order says what its units say",
        "An order can be read, and each unit that it gave was asked for as it says.",
        "Boards, clocks and the list of orders go by the units. Compare both with the written "
        "order, and find out what wrote to the database past the program.",
    ),
    Invariant.UNITS_HAVE_CLOCKS: Said(
        "Each live unit has its clocks",
        "A unit that was issued and is not over has clocks, and an instant at which it changes.",
        "Tell the ward to look at these units now, then run “fourth-hour rebuild”.",
    ),
    Invariant.BAGS_HELD_ONCE: Said(
        "No bag is held twice",
        "A bag that is on a board is with one unit at a time.",
        "Ask the laboratory which is right, and correct the other unit’s record.",
    ),
    Invariant.LOG_WHOLE: Said(
        "The log of facts has no gap",
        "Each fact has the place after the one before it.",
        "Facts were taken out past the program. Keep this database as it is, and compare it with "
        "the newest backup from before.",
    ),
    Invariant.REVISIONS_GO_ON: Said(
        "Changes of a ward are counted onwards",
        "A ward’s revision never falls, and nothing bears one that has not been.",
        "The database was changed past the program, or put back without a new start. Start all "
        "processes anew, so that open boards are read again.",
    ),
    Invariant.AUDIT_WHOLE: Said(
        "The audit trail is whole",
        "Each row’s hash is that of the row and of the one before it; checked every hour.",
        "Run “fourth-hour audit --verify” with the place and hash that were noted elsewhere.",
    ),
    Invariant.SCHEMA_CURRENT: Said(
        "The schema is this program’s",
        "The database has the schema that this version of the program was written for.",
        "Start every process with the same, newest version; “fourth-hour migrate” brings the "
        "database to it.",
    ),
    Invariant.PROCESSES_ALIKE: Said(
        "All processes are of one version",
        "Every process of the board runs the same version.",
        "Start the older ones anew with the version of the others.",
    ),
    Invariant.JOBS_SUCCEED: Said(
        "Jobs succeed",
        "The last run of every job of the process that leads succeeded.",
        "See the log for the job: the first time that it failed says why.",
    ),
    Invariant.KEY_READABLE: Said(
        "All processes have the board’s key",
        "Each process can read the key file, and it is the same one.",
        "Put the same key file in place everywhere and start the processes anew. Without it nobody "
        "signs in by badge, and webhooks cannot be signed.",
    ),
    Invariant.MACHINE_CLOCK: Said(
        "Clocks of the machines are right",
        "The clock of each process is within two seconds of the database’s.",
        "Set the machine’s clock by a time server. Times that are recorded there are wrong by as "
        "much.",
    ),
    Invariant.DISK_FREE: Said(
        "There is room on the disks",
        "At least 1 GB is free wherever a process writes.",
        "Make room: once a disk is full, nothing can be recorded. The disk of a PostgreSQL server "
        "cannot be seen from here.",
    ),
    Invariant.SHEETS_FRESH: Said(
        "Paper sheets are fresh",
        "Where a folder is set, every ward’s sheet is written each three minutes.",
        "See whether the folder can be written, and the job “sheets” in the log.",
    ),
    Invariant.BACKUP_FRESH: Said(
        "The last backup is fresh",
        "Where backups are made every so often, the last is no older than twice that.",
        "See why “fourth-hour backup” has stopped, and make one now.",
    ),
}
