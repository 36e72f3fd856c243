"""The administration of findings and quotes, and of everything an estimate hangs on."""

from estimating.admin import catalogue, records

__all__ = ["catalogue", "records"]
