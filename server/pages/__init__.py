"""HTML: one file a screen with its routes, over pure functions that make ready what is shown."""

from typing import Final

from fastapi import APIRouter

from server.pages import (
    account,
    alarm_load,
    audit,
    badges,
    board,
    breach,
    breaches,
    changes,
    compatibility,
    cover,
    episode,
    export,
    handing,
    identity,
    labels,
    locking,
    mine,
    orders,
    own_sign_in,
    patients,
    plan,
    plan_asking,
    plan_day,
    plan_strip,
    policies,
    reaction,
    record,
    reminders,
    replay,
    report,
    review,
    sheet,
    shifts,
    sign_in,
    staff,
    tokens,
    unsent,
    wall,
    wall_links,
    wards,
    webhook_forms,
    webhooks,
)

SCREENS: Final = (
    board,
    wall,
    mine,
    handing,
    cover,
    episode,
    identity,
    reaction,
    record,
    sheet,
    sign_in,
    locking,
    own_sign_in,
    unsent,
    reminders,
    review,
    replay,
    breaches,
    breach,
    account,
    export,
    report,
    alarm_load,
    changes,
    labels,
    orders,
    patients,
    staff,
    badges,
    shifts,
    plan,
    plan_asking,
    plan_day,
    plan_strip,
    wards,
    policies,
    compatibility,
    wall_links,
    webhook_forms,
    webhooks,
    tokens,
    audit,
)


def _router() -> APIRouter:
    router = APIRouter(include_in_schema=False)
    for screen in SCREENS:
        router.include_router(screen.router)
    return router


router: Final = _router()
