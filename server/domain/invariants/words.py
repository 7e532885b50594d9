"""The names of the invariants, as the database, `/metrics` and programs have them."""

from enum import StrEnum


class Invariant(StrEnum):
    """Something that has to be so, in the order in which it is told."""

    CLOCKS_CHECKED = "clocks_checked"
    UNITS_LOOKED_AT = "units_looked_at"
    REMINDERS_RAISED = "reminders_raised"
    MESSAGES_SENT = "messages_sent"
    UNITS_READABLE = "units_readable"
    ROWS_AS_FACTS = "rows_as_facts"
    ORDERS_AS_UNITS = "orders_as_units"
    UNITS_HAVE_CLOCKS = "units_have_clocks"
    BAGS_HELD_ONCE = "bags_held_once"
    LOG_WHOLE = "log_whole"
    REVISIONS_GO_ON = "revisions_go_on"
    AUDIT_WHOLE = "audit_whole"
    SCHEMA_CURRENT = "schema_current"
    PROCESSES_ALIKE = "processes_alike"
    JOBS_SUCCEED = "jobs_succeed"
    KEY_READABLE = "key_readable"
    MACHINE_CLOCK = "machine_clock"
    DISK_FREE = "disk_free"
    SHEETS_FRESH = "sheets_fresh"
    BACKUP_FRESH = "backup_fresh"
