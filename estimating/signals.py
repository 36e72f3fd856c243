"""What happens to quotes, told to the room above inside the same transaction."""

from __future__ import annotations

from typing import Final

from django.dispatch import Signal

quote_sent: Final = Signal()
"""Sent with ``quote`` and ``now``; also when a quote is sent again."""

quote_settled: Final = Signal()
"""Sent with ``quote`` and ``now``: accepted, declined or replaced."""

gauge_checked: Final = Signal()
"""Sent with ``calibration`` (a new :class:`estimating.models.GaugeCalibration`) and ``now``."""
