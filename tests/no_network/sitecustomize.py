"""Refuses every connection and every name look-up beyond this machine, in the tests and in the programs they start."""

import ipaddress
import socket
from typing import Any


class NetworkUseError(AssertionError):
    """Something tried to leave the machine."""


def is_local(host: object) -> bool:
    """Tell whether a host is this machine itself."""
    name = host.decode() if isinstance(host, bytes) else str(host or "localhost")
    try:
        return ipaddress.ip_address(name.strip("[]").split("%")[0]).is_loopback
    except ValueError:
        return name.lower().rstrip(".") == "localhost"


def refuse_unless_local(address: Any) -> None:
    """Raise NetworkUseError for an internet address that is not of this machine."""
    if isinstance(address, tuple) and not is_local(address[0]):
        raise NetworkUseError(f"the tests may not reach {address[0]}")


class LocalSocket(socket.socket):
    """A socket that reaches this machine only."""

    def connect(self, address: Any) -> None:
        """Connect, if the address is of this machine."""
        refuse_unless_local(address)
        super().connect(address)

    def connect_ex(self, address: Any) -> int:
        """Connect, if the address is of this machine."""
        refuse_unless_local(address)
        return super().connect_ex(address)

    def sendto(self, *arguments: Any) -> int:
        """Send, if the address is of this machine."""
        refuse_unless_local(arguments[-1])
        return super().sendto(*arguments)


_getaddrinfo = socket.getaddrinfo


def local_getaddrinfo(host: Any, *arguments: Any, **named: Any) -> Any:
    """Look a name up, if it is of this machine."""
    refuse_unless_local((host,))
    return _getaddrinfo(host, *arguments, **named)


def install() -> None:
    """Put the local forms in the place of the real ones."""
    socket.socket = LocalSocket  # type: ignore[misc]
    socket.SocketType = LocalSocket  # type: ignore[misc]
    socket.getaddrinfo = local_getaddrinfo


install()
