"""Keeps the suite off the network: only this machine may be connected to."""

import ipaddress
import socket
from typing import Any

import pytest

_connect = socket.socket.connect


class OutsideConnectionError(AssertionError):
    """A test tried to reach another machine."""


def _is_this_machine(host: str) -> bool:
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


def _connect_here_only(self: socket.socket, address: Any) -> None:
    inside = self.family == socket.AF_UNIX or _is_this_machine(str(address[0]))
    if not inside:
        raise OutsideConnectionError(f"a test tried to connect to {address!r}")
    _connect(self, address)


def pytest_configure(config: pytest.Config) -> None:
    """Put the guard in place for the whole run."""
    socket.socket.connect = _connect_here_only  # type: ignore[method-assign, assignment]


def pytest_unconfigure(config: pytest.Config) -> None:
    """Take the guard away again."""
    socket.socket.connect = _connect  # type: ignore[method-assign]
