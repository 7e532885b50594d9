"""What the structures of a label say of a unit, by name.

Source of the codes: ICCBBA ST-001 v6.2.2 (2023), data structures 002, 003, 012, 014 and 027.
Special testing codes are under licence: the site's own table translates them.
"""

from collections.abc import Callable, Iterable, Iterator
from typing import Any, Final

from server.domain.attributes import Attribute
from server.domain.labels import (
    Antigens,
    Group,
    InfectionMarkers,
    PlateletAntigens,
    Product,
    SpecialTesting,
)
from server.domain.site import Site

_MESSAGES: Final = {
    "Ma": Attribute.AUTOLOGOUS,
    "Mb": Attribute.BIOHAZARD,
    "Mq": Attribute.QUARANTINED,
}
_COLLECTIONS: Final = (
    ("A18X", Attribute.AUTOLOGOUS),
    ("X36H", Attribute.BIOHAZARD),
    ("Rr", Attribute.NOT_FOR_TRANSFUSION),
    ("G", Attribute.EMERGENCY_USE),
    ("Dd2LE3456FBHJ", Attribute.DIRECTED),
)
_SIGNS: Final = {"+": "pos", "-": "neg", "pos": "pos", "neg": "neg"}


def attributes_of(structures: Iterable[object], site: Site) -> tuple[str, ...]:
    """Answer the attributes that these structures show, each once, in a fixed order."""
    found = {name for one in structures for name in _of(one, site)}
    return tuple(one.value for one in Attribute if one in found)


def _of(structure: object, site: Site) -> Iterable[Attribute]:
    if isinstance(structure, SpecialTesting):
        coded = site.special_testing.get(structure.code)
        return () if coded is None else [name for name, says in coded.shows.items() if says]
    read = _READERS.get(type(structure))
    return () if read is None else read(structure)


def _group(group: Group) -> Iterator[Attribute]:
    if group.code in _MESSAGES:
        yield _MESSAGES[group.code]
    if "biohazard" in group.use:
        yield Attribute.BIOHAZARD
    if group.use.startswith("autologous"):
        yield Attribute.AUTOLOGOUS
    if group.use.startswith("directed"):
        yield Attribute.DIRECTED
    if group.use == "emergency_use_only":
        yield Attribute.EMERGENCY_USE
    if group.stops and group.use == "message" and group.code not in _MESSAGES:
        yield Attribute.NOT_FOR_TRANSFUSION
    if group.abo is not None and group.group is None:
        yield Attribute.ASK_LABORATORY
    yield from _signed(group.phenotype.K, Attribute.K_NEGATIVE, Attribute.K_POSITIVE)


def _product(product: Product) -> Iterator[Attribute]:
    for letters, name in _COLLECTIONS:
        if product.collection in letters:
            yield name


def _antigens(antigens: Antigens) -> Iterator[Attribute]:
    yield from _signed(antigens.result("K"), Attribute.K_NEGATIVE, Attribute.K_POSITIVE)
    yield from _signed(antigens.result("CMV"), Attribute.CMV_NEGATIVE, Attribute.CMV_POSITIVE)
    if antigens.hbs_negative:
        yield Attribute.HBS_NEGATIVE


def _platelets(antigens: PlateletAntigens) -> Iterator[Attribute]:
    if antigens.no_high_titre:
        yield Attribute.HIGH_TITRE_NEGATIVE


def _markers(markers: InfectionMarkers) -> Iterator[Attribute]:
    yield from _signed(markers.hev, Attribute.HEV_NEGATIVE, Attribute.HEV_POSITIVE)


def _signed(sign: str | None, negative: Attribute, positive: Attribute) -> Iterator[Attribute]:
    said = _SIGNS.get(sign or "")
    if said is not None:
        yield negative if said == "neg" else positive


_READERS: Final[dict[type, Callable[[Any], Iterable[Attribute]]]] = {
    Group: _group,
    Product: _product,
    Antigens: _antigens,
    PlateletAntigens: _platelets,
    InfectionMarkers: _markers,
}
