"""Reading a policy file, strictly: whatever is not understood is refused with its line.

    [policy]
    title = "Ward 7"
    based_on = "common"
    description = "What differs on ward 7."

    [running.every_minutes]
    value = 30
    unit = "minutes"
    source = "Ward 7 transfusion procedure 2026, section 4"
    verified = true
    note = "agreed with the transfusion practitioner"

With `based_on` a file states only what differs; the rest keeps the value and the source of its
base. `unit` may be left out, and must agree where it stands. `verified` says that somebody read the
value in the original; left out, it is false. A value by component has a table for each component,
or `default` for those not named in this file: `[finish.minutes.default]`,
`[finish.minutes.platelets]`.
"""

import re
from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from server.domain.policy.build import build_policy
from server.domain.policy.checks import refuse_contradictions
from server.domain.policy.entries import HEAD, read_values
from server.domain.policy.keys import KEYS, places
from server.domain.policy.opened import OpenedFile, open_file
from server.domain.policy.typed import Policy, PolicyValue

NAME: Final = re.compile(r"[a-z][a-z0-9_-]*")
HEAD_FIELDS: Final = ("name", "title", "based_on", "description")
NO_BASES: Final[Mapping[str, Policy]] = MappingProxyType({})
NOTHING: Final[Mapping[str, PolicyValue]] = MappingProxyType({})


def parse_policy(
    text: str,
    *,
    name: str,
    bases: Mapping[str, Policy] = NO_BASES,
    lacking: Mapping[str, PolicyValue] = NOTHING,
) -> Policy:
    """Read the text of `<name>.toml`; `bases` are the policies that it may be based on.

    A text made by `flatten` needs no base. `lacking` are the values of keys that the text leaves
    out: one that was stored before there was such a key. Raises `PolicyError` at the first thing
    that is wrong.
    """
    file = open_file(text, name)
    head = _head(file, bases)
    base = bases[head["based_on"]].values if head["based_on"] else {}
    values = {**lacking, **base, **read_values(file)}
    _refuse_missing(file, values)
    policy = build_policy(name, head["title"], head["description"], values)
    refuse_contradictions(file, policy)
    return policy


def _head(file: OpenedFile, bases: Mapping[str, Policy]) -> dict[str, str]:
    if HEAD not in file.tree:
        file.refuse((HEAD,), "there is no table [policy]; expected one with a title")
    table = file.table((HEAD,), file.tree[HEAD])
    file.refuse_unknown((HEAD,), table, HEAD_FIELDS)
    head = {field: file.words((HEAD, field), table) for field in HEAD_FIELDS}
    _refuse_names(file, head)
    if head["based_on"] not in {"", *bases}:
        known = f"one of {', '.join(bases)}" if bases else "no base here"
        message = f"policy.based_on: {head['based_on']!r} is unknown; expected {known}"
        file.refuse((HEAD, "based_on"), message)
    return head


def _refuse_names(file: OpenedFile, head: Mapping[str, str]) -> None:
    if not NAME.fullmatch(file.name):
        message = f"file name {file.name!r}; expected small letters, digits, _ and - before .toml"
        file.refuse((HEAD,), message)
    if head["name"] not in {"", file.name}:
        message = f"policy.name: {head['name']!r}; expected {file.name!r} as in the file name"
        file.refuse((HEAD, "name"), message)
    if not head["title"]:
        file.refuse((HEAD, "title"), "policy.title is missing; expected a few words")


def _refuse_missing(file: OpenedFile, values: Mapping[str, PolicyValue]) -> None:
    for key in KEYS:
        for place in places(key):
            if place not in values:
                message = f"{place} is missing; expected {key.type.expected}, with its source"
                file.refuse(key.path, message)
