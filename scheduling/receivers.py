"""What the rooms below tell, turned into rows of messages in the same transaction."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from estimating.models import GaugeCalibration, Quote
from estimating.signals import gauge_checked, quote_sent, quote_settled
from scheduling.services import reminder_causes as causes
from shop.models import Consumable, Job
from shop.signals import payment_recorded, stock_taken


def connect() -> None:
    """Connect every receiver, once."""
    quote_sent.connect(_quote_sent, dispatch_uid="scheduling.follow_up_write")
    quote_settled.connect(_quote_settled, dispatch_uid="scheduling.follow_up_withdraw")
    gauge_checked.connect(_gauge_checked, dispatch_uid="scheduling.gauge_reminder")
    payment_recorded.connect(_payment_recorded, dispatch_uid="scheduling.balance_settle")
    stock_taken.connect(_stock_taken, dispatch_uid="scheduling.stock_reminder")


def _quote_sent(*, quote: Quote, now: datetime, **_kwargs: Any) -> None:
    causes.follow_up_write(quote=quote, now=now)


def _quote_settled(*, quote: Quote, **_kwargs: Any) -> None:
    causes.follow_up_withdraw(quote=quote)


def _gauge_checked(*, calibration: GaugeCalibration, now: datetime, **_kwargs: Any) -> None:
    causes.gauge_reminder_write(calibration=calibration, now=now)


def _payment_recorded(*, job: Job, **_kwargs: Any) -> None:
    causes.balance_reminder_settle(job=job)


def _stock_taken(*, consumable: Consumable, now: datetime, **_kwargs: Any) -> None:
    causes.stock_reminder_write(consumable=consumable, now=now)
