"""Writing a policy as TOML that stands alone."""

import json
from collections.abc import Iterator, Mapping

from server.domain.policy.typed import PlainValue, Policy, PolicyValue


def flatten(policy: Policy) -> str:
    """Write a policy with every inherited value, so that it reads the same without its base.

    `parse_policy` makes an equal policy of it, with the same version. This is the text to store.
    """
    return write_text(policy.name, policy.title, policy.description, policy.values)


def write_text(name: str, title: str, description: str, values: Mapping[str, PolicyValue]) -> str:
    """Write the head and the values, in the order given."""
    head = {"name": name, "title": title, "description": description}
    rows = ["[policy]", *(f"{field} = {_quoted(text)}" for field, text in head.items())]
    for value in values.values():
        rows.extend(("", *_rows(value)))
    return "\n".join(rows) + "\n"


def _rows(value: PolicyValue) -> Iterator[str]:
    yield f"[{value.key}]"
    yield f"value = {_plain(value.value)}"
    yield f"unit = {_quoted(value.unit)}"
    yield f"source = {_quoted(value.source)}"
    yield f"verified = {_plain(value.verified)}"
    if value.note:
        yield f"note = {_quoted(value.note)}"


def _plain(value: PlainValue) -> str:
    if isinstance(value, str):
        return _quoted(value)
    if isinstance(value, tuple):
        return f"[{', '.join(_quoted(word) for word in value)}]"
    return str(value).lower()


def _quoted(text: str) -> str:
    # JSON and TOML escape alike, but for one character that JSON leaves as it is.
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
