"""The administration of the shop's records; the other rooms register their own.

The catalogue and the shop's profile are in ``estimating/admin``: only that room
can tell whether a change leaves them whole.
"""

from shop.admin import people, records

__all__ = ["people", "records"]
