"""What was asked for, as rows of orders and of units hold it: each field is what it has to be.

A row that was changed past the program, or that a disk has spoilt, can hold anything. Whoever reads
many asks for all at once, and for ever smaller parts where one of them is damaged.
"""

from collections.abc import Callable, Mapping, Sequence
from functools import cache
from typing import Any, Final, TypeVar, get_origin, get_type_hints

from server.domain.words import Component, Priority
from server.store.errors import Away
from server.store.sessions import AnyRow

Asked = TypeVar("Asked")
Answer = TypeVar("Answer")


def asked_of(value: type[Asked], row: AnyRow) -> Asked:
    """The order or request of a row. Raises ValueError and TypeError for one that is damaged."""
    return value(**{name: told(value, name, raw) for name, raw in row._asdict().items()})


def told(value: Any, name: str, raw: Any) -> Any:
    """One field of a row. Raises ValueError and TypeError where it is not what it has to be."""
    made = _MADE[name](raw) if name in _MADE else raw
    if not isinstance(made, _kinds(value)[name]):
        raise TypeError(name)
    return made


def in_parts(
    ids: Sequence[str],
    read: Callable[[Sequence[str]], Mapping[str, Asked]],
    left: Callable[[str], Asked | None],
) -> dict[str, Asked]:
    """Read rows at once, or in parts; of each that is damaged `left` answers what is left of it.

    Raises `Away`.
    """

    def otherwise() -> Mapping[str, Asked]:
        if len(ids) > 1:
            half = len(ids) // 2
            return in_parts(ids[:half], read, left) | in_parts(ids[half:], read, left)
        remains = left(ids[0])
        return {} if remains is None else {ids[0]: remains}

    return dict(whole_or(lambda: read(ids), otherwise))


def whole_or(read: Callable[[], Answer], otherwise: Callable[[], Answer]) -> Answer:
    """Answer what `read` does, or `otherwise` where something in it is damaged. Raises `Away`."""
    try:
        return read()
    except Away:
        raise
    except Exception:  # noqa: BLE001 - whatever is wrong with one row, it is not to hide the others
        return otherwise()


def _texts(raw: Any) -> tuple[str, ...]:
    if not isinstance(raw, list) or not all(isinstance(text, str) for text in raw):
        raise TypeError
    return tuple(raw)


@cache
def _kinds(value: Any) -> Mapping[str, Any]:
    return {
        name: get_origin(kind) if get_origin(kind) is tuple else kind
        for name, kind in get_type_hints(value).items()
    }


_MADE: Final[Mapping[str, Callable[[Any], Any]]] = {
    "component": Component,
    "priority": Priority,
    "requirements": _texts,
}
