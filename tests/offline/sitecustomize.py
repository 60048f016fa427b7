"""No network in tests: every Python that they start refuses to talk to anything but this machine.

Found by Python at its start (module ``site``), since the tests put this folder into PYTHONPATH.
"""

import ipaddress
import socket
import sys
from typing import Any

_OWN = {"", "localhost", socket.gethostname().lower()}


class OutsideError(RuntimeError):
    """Something wanted to talk to another machine."""


def _is_here(host: object) -> bool:
    text = host.decode("ascii", "replace") if isinstance(host, bytes) else str(host or "")
    if text.lower() in _OWN:
        return True
    try:
        address = ipaddress.ip_address(text.partition("%")[0])
    except ValueError:
        return False
    return address.is_loopback or address.is_unspecified


def _watch(event: str, args: tuple[Any, ...]) -> None:
    # Audit events of the module socket (Python Library Reference, "Audit events table").
    if event in {"socket.connect", "socket.sendto", "socket.sendmsg"}:
        address = args[1]
        if isinstance(address, tuple) and not _is_here(address[0]):
            raise OutsideError(f"{event} to {address[0]}: nothing leaves this machine")
    elif event in {"socket.getaddrinfo", "socket.gethostbyname"} and not _is_here(args[0]):
        raise OutsideError(f"{event} of {args[0]}: nothing leaves this machine")


if "tests-offline" not in sys.modules:  # once a process, however it is loaded
    sys.modules["tests-offline"] = sys.modules[__name__]
    sys.addaudithook(_watch)
