"""Hypotensive reactions, by three published definitions."""

from typing import Final

from server.domain.definition import (
    Charted,
    Definition,
    Finding,
    Reaction,
    cannot_say,
    met,
    not_met,
)

PRESSURES: Final = ("systolic_mmhg", "diastolic_mmhg")
ADULT_YEARS: Final = 18
INFANT_YEARS: Final = 1
SMALL_KG: Final = 12
DROP_MMHG: Final = 30
FLOOR_MMHG: Final = 80
DROP_PERCENT: Final = 25
OTHERS: Final = "that every other reaction with a low pressure is excluded"


def _cdc(charted: Charted) -> Finding | None:
    if charted.age_years is None:
        return _without_age(charted)
    small = charted.weight_kg is not None and charted.weight_kg < SMALL_KG
    if small or charted.age_years < INFANT_YEARS:
        return _by_percent(charted, PRESSURES)
    if charted.age_years < ADULT_YEARS:
        return _by_percent(charted, PRESSURES[:1])
    return _adult(charted)


def _uk(charted: Charted) -> Finding | None:
    if charted.age_years is None:
        return _without_age(charted)
    if charted.age_years < ADULT_YEARS:
        return cannot_say("under 18: it has figures for adults only")
    return _adult(charted)


def _without_age(charted: Charted) -> Finding | None:
    taken = charted.drop("systolic_mmhg") is not None
    return cannot_say("the birth date is not recorded") if taken else None


def _adult(charted: Charted) -> Finding | None:
    """A drop of 30 mmHg and a systolic pressure of 80 mmHg or less."""
    now, drop = charted.now("systolic_mmhg"), charted.drop("systolic_mmhg")
    if now is None:
        return None
    if now > FLOOR_MMHG:
        return not_met(f"systolic {now:g} mmHg, above 80")
    if drop is None:
        return cannot_say(f"systolic {now:g} mmHg; none from before the start to compare with")
    said = f"systolic {now:g} mmHg, {_moved(drop)}"
    return met(said) if drop >= DROP_MMHG else not_met(said)


def _moved(drop: float) -> str:
    return f"down by {drop:g}" if drop >= 0 else f"up by {-drop:g}"


def _by_percent(charted: Charted, pressures: tuple[str, ...]) -> Finding | None:
    """A drop of more than a quarter, of any pressure that was taken."""
    drops = [(charted.drop(name), charted.before(name)) for name in pressures]
    parts = [drop * 100 / before for drop, before in drops if drop is not None and before]
    if not parts:
        return None
    said = f"down by {max(parts):.1f} %" if max(parts) >= 0 else "not fallen"
    return met(said) if max(parts) > DROP_PERCENT else not_met(said)


def _nz(charted: Charted) -> Finding | None:
    drops = [drop for name in PRESSURES if (drop := charted.drop(name)) is not None]
    if not drops:
        return None
    said = _moved(max(drops)) + " mmHg"
    return met(said) if max(drops) > DROP_MMHG else not_met(said)


HYPOTENSIVE: Final = (
    Definition(
        "cdc_hypotensive",
        "CDC NHSN, United States",
        Reaction.HYPOTENSIVE,
        1,
        "NHSN Hemovigilance Module Surveillance Protocol v1.3.1, app. B: adults a drop of 30 mmHg"
        " and 80 mmHg or less; under 18 a drop of more than 25 %; up to 1 h after the end",
        _cdc,
        lacks=OTHERS,
    ),
    Definition(
        "uk_hypotensive",
        "BSH and SHOT, United Kingdom",
        Reaction.HYPOTENSIVE,
        1,
        "JPAC and BSH 2012, moderate hypotensive reaction: a drop of 30 mmHg and 80 mmHg or less,"
        " up to 1 h after the end; adults",
        _uk,
        lacks=OTHERS,
    ),
    Definition(
        "nz_hypotensive",
        "NZ Blood Service",
        Reaction.HYPOTENSIVE,
        1,
        "NZ Blood Service, Transfusion Medicine Handbook, 7.6: a drop of more than 30 mmHg,"
        " systolic or diastolic, up to 1 h after the end",
        _nz,
        lacks=OTHERS,
    ),
)
