"""How far a policy value was read, and how it must be marked for it."""

from enum import StrEnum

from server.domain.policy import PolicyValue


class Read(StrEnum):
    """How far the source of a value was read."""

    ORIGINAL = "original"  # on the issuing body's own page, or in the law or the paper's abstract
    HOSPITAL = "hospital"  # the same, on a hospital's own page
    COPY = "copy"  # in a republished copy
    MEMORY = "memory"  # not at all
    PRACTICE = "practice"  # a fact of the trade
    PROJECT = "project"  # no source: chosen here


Row = tuple[object, Read, str]
"""The value, how far its source was read, and words that the source must hold."""


def by_component(key: str, **rows: Row) -> dict[str, Row]:
    """Rows of a key by component, by their place in `Policy.values`."""
    return {f"{key}.{component}": row for component, row in rows.items()}


def shown(value: PolicyValue, words: str) -> Row:
    """What a policy value says of itself, as a row; the words only if its source holds them."""
    return value.value, _read(value), words if words in value.source else value.source


def _read(value: PolicyValue) -> Read:
    if value.verified:
        return Read.HOSPITAL if "ospital" in value.note else Read.ORIGINAL
    if value.source.startswith("project default, to be set locally"):
        return Read.PROJECT
    if value.source.startswith("common practice, no source"):
        return Read.PRACTICE
    return Read.COPY if value.note.startswith("Secondary copy") else _from_memory(value)


def _from_memory(value: PolicyValue) -> Read:
    assert value.note.startswith("From memory"), value
    return Read.MEMORY
