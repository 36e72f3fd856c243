"""What happens in the records, told to the rooms above inside the same transaction.

A room may not import the one above it. Where a message hangs on a payment or on the
stock, the receiver of that room writes its row here and now: both are kept or neither.
"""

from __future__ import annotations

from typing import Final

from django.dispatch import Signal

payment_recorded: Final = Signal()
"""Sent with ``job``, ``member`` and ``now``."""

stock_taken: Final = Signal()
"""Sent with ``consumable`` (its row as it now is) and ``now``."""
