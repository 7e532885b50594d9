"""What became of each unit, as a sheet for the ward and as the data set for the laboratory."""

from collections.abc import Iterable
from typing import Final
from zoneinfo import ZoneInfo

from server.domain.account import Standing, disposed_on, kept_until, supplier_of
from server.domain.account_wording import FATE, gap_words
from server.domain.policy import PolicyValue
from server.exchange.sheets.common import (
    BED,
    COMPONENT_GIVEN,
    EPISODE,
    PATIENT,
    UNIT_NUMBER,
    Maker,
    patient_cells,
)
from server.exchange.sheets.sheet import Cells, Column, Shape, Sheet
from server.services.account_for_units import NamedAccount

DIRECTIVE: Final = "Directive 2005/61/EC, Annex I"
FATE_WORDS: Final = {one.value: words for one, words in FATE.items()}
PRODUCT: Final = (
    UNIT_NUMBER,
    Column("product_code", "Product code"),
    Column("division", "Division", note="Tells the packs of one product of one donation"),
)
COLUMNS: Final = (
    Column(
        "standing",
        "Standing",
        note="Missing: a limit has passed and its fate is not recorded; in hand: none has yet",
        words={
            Standing.ACCOUNTED_FOR: "accounted for",
            Standing.IN_HAND: "in hand",
            Standing.MISSING: "missing",
        },
    ),
    Column("gaps", "What is missing"),
    *PRODUCT,
    COMPONENT_GIVEN,
    *PATIENT,
    BED,
    EPISODE,
    Column("issued_at", "Issued", Shape.INSTANT),
    Column("removed_at", "Left storage", Shape.INSTANT),
    Column("started_at", "Started", Shape.INSTANT),
    Column("ended_at", "Ended", Shape.INSTANT),
    Column("fate", "Fate", words=FATE_WORDS),
    Column("fate_at", "Fate recorded for", Shape.INSTANT, note="Of a unit sent back: when it went"),
    Column(
        "out_of_storage_minutes",
        "Out of storage",
        Shape.NUMBER,
        unit="min",
        note="From leaving storage, or from issue where that was not recorded, until it was "
        "started or went back",
    ),
    Column(
        "is_within_policy",
        "Within policy",
        Shape.YES_NO,
        note="By the limit of the start or, for a unit sent back, of the return",
        source="Local policy: start.target_minutes, return.minutes",
    ),
    Column(
        "kept_until",
        "Record kept at least until",
        Shape.DAY,
        source="Local policy: retention.years",
    ),
)
LABORATORY: Final = (
    Column(
        "supplier",
        "Supplier",
        note="The facility code in an ISBT 128 unit number; empty: the number names none",
        source=f"{DIRECTIVE}; ICCBBA ST-001, data structure 001",
    ),
    *PRODUCT,
    COMPONENT_GIVEN,
    *PATIENT,
    Column("is_transfused", "Transfused", Shape.YES_NO, note="Started at the bedside"),
    Column("fate", "What became of it", source=DIRECTIVE, words=FATE_WORDS),
    Column(
        "disposed_on",
        "Day of transfusion or disposition",
        Shape.DAY,
        note="The day of the ward on which it was started or, never started, went elsewhere",
        source=DIRECTIVE,
    ),
    Column("gaps", "What is missing"),
)


def account_sheet(
    maker: Maker, found: Iterable[NamedAccount], only: tuple[str, ...], kept: PolicyValue
) -> Sheet:
    """The sheet of the units of a period."""
    about = maker.about(
        "Units that came to the ward, and what became of each", only, _retention(kept)
    )
    years, zone = int(str(kept.value)), maker.zone
    return Sheet("units", about, COLUMNS, (_row(one, zone, years) for one in found))


def laboratory_sheet(
    maker: Maker, found: Iterable[NamedAccount], only: tuple[str, ...], kept: PolicyValue
) -> Sheet:
    """What a hospital keeps of each unit by Annex I of Directive 2005/61/EC."""
    about = maker.about(
        "What became of each unit, for the laboratory",
        only,
        ("Data set", f"{DIRECTIVE}: what a hospital keeps of each unit"),
        ("Lots", "None: nothing is recorded here of products that come in lots"),
        _retention(kept),
    )
    return Sheet("laboratory", about, LABORATORY, (_laboratory(one, maker.zone) for one in found))


def _retention(kept: PolicyValue) -> tuple[str, str]:
    return ("Kept", f"Records are kept for at least {kept.value} years; source: {kept.source}")


def _row(found: NamedAccount, zone: ZoneInfo, years: int) -> Cells:
    unit, out = found.account.unit, found.account.out_of_storage
    return (
        found.account.standing.value,
        "; ".join(gap_words(found.account, zone)) or None,
        unit.number,
        unit.product_code,
        unit.division,
        unit.component.value,
        *patient_cells(found.patient),
        unit.bed,
        unit.episode_id,
        unit.issued_at,
        unit.removed_at,
        unit.started_at,
        unit.ended_at,
        None if unit.fate is None else unit.fate.value,
        unit.fate_at,
        None if out is None else out.minutes,
        None if out is None else out.is_within,
        kept_until(unit, years, zone),
    )


def _laboratory(found: NamedAccount, zone: ZoneInfo) -> Cells:
    unit = found.account.unit
    return (
        supplier_of(unit.number),
        unit.number,
        unit.product_code,
        unit.division,
        unit.component.value,
        *patient_cells(found.patient),
        unit.started_at is not None,
        None if unit.fate is None else unit.fate.value,
        disposed_on(unit, zone),
        "; ".join(gap_words(found.account, zone)) or None,
    )
