"""The suite cannot reach another machine, only this one."""

import socket

import pytest

from tests.offline import OutsideConnectionError


@pytest.mark.parametrize("address", ["192.0.2.1", "example.org"])
def test_a_connection_outside_is_refused(address: str) -> None:
    with socket.socket() as probe, pytest.raises(OutsideConnectionError, match=address):
        probe.connect((address, 80))


def test_this_machine_is_reached() -> None:
    with socket.create_server(("127.0.0.1", 0)) as server, socket.socket() as probe:
        probe.connect(server.getsockname())
        assert probe.getpeername() == server.getsockname()
