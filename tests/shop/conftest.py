"""Fixtures of the shop's tests."""

from tests.people import people

__all__ = ["people"]
