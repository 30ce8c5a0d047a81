"""The tests, and the programs they start, cannot leave the machine."""

import socket
import subprocess
import sys
import urllib.request

import pytest

OUTSIDE = "192.0.2.1"
"""TEST-NET-1, reserved for examples (RFC 5737)."""


def test_an_address_outside_is_refused() -> None:
    """Connecting beyond this machine fails at once, and not by a time-out."""
    with socket.socket() as one, pytest.raises(AssertionError, match="may not reach"):
        one.connect((OUTSIDE, 80))
    with socket.socket() as one, pytest.raises(AssertionError, match="may not reach"):
        one.connect_ex((OUTSIDE, 80))


def test_a_name_outside_is_not_looked_up() -> None:
    """A name is refused before any server is asked for it (example.org: RFC 2606)."""
    with pytest.raises(AssertionError, match=r"example\.org"):
        urllib.request.urlopen("http://example.org/")
    with pytest.raises(AssertionError, match=r"example\.org"):
        socket.create_connection(("example.org", 80))


def test_this_machine_can_be_reached() -> None:
    """A server on the loopback address answers."""
    with socket.create_server(("127.0.0.1", 0)) as server, socket.create_connection(server.getsockname()) as asking:
        answering, _ = server.accept()
        with answering:
            answering.sendall(b"here")
        assert asking.recv(10) == b"here"


def test_a_program_started_by_a_test_is_held_back_too() -> None:
    """The block reaches other Python processes through their environment."""
    code = f"import socket; socket.create_connection(('{OUTSIDE}', 80), timeout=2)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert "NetworkUseError" in done.stderr
