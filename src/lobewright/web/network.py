"""Addresses of this computer in local networks, found without asking anybody."""

from __future__ import annotations

import contextlib
import ipaddress
import socket
import struct
import sys
from collections.abc import Iterator

from lobewright.errors import Fault, OutputFault

ELSEWHERE = ("198.51.100.1", 9)
"""An address that nobody has (IETF, RFC 5737, 2010, section 3): the system is asked which way it would go, nothing is sent."""
READ_ADDRESS, READ_FLAGS = 0x8915, 0x8913
"""Questions to Linux about one network card (SIOCGIFADDR and SIOCGIFFLAGS of its interface ``netdevice``)."""
RUNS, LOOPS = 0x40, 0x8


def is_local(address: str) -> bool:
    """Whether an address is one of IPv4 that the open internet cannot reach, and another than this computer's own loop."""
    try:
        found = ipaddress.IPv4Address(address)
    except ValueError:
        return False
    return found.is_private and not (found.is_loopback or found.is_unspecified or found.is_reserved)


def is_loopback(address: str) -> bool:
    """Whether an address means the computer itself."""
    try:
        return ipaddress.ip_address(address).is_loopback
    except ValueError:
        return False


def local_addresses() -> tuple[str, ...]:
    """Addresses of this computer in local networks: first that by which it would reach others, then those of its other cards.

    Other cards are found on Linux only. IPv4 only: people must be able to type it.
    """
    found = dict.fromkeys(one for one in (*_outward(), *_of_cards()) if is_local(one))
    return tuple(sorted(found, key=lambda one: ipaddress.IPv4Address(one).is_link_local))  # those were given by nobody


def _outward() -> Iterator[str]:
    """The address under which this computer would speak to others; none where it knows no way to them."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking, contextlib.suppress(OSError):
        asking.connect(ELSEWHERE)
        yield asking.getsockname()[0]


def _of_cards() -> Iterator[str]:
    """Addresses of network cards that run."""
    if sys.platform != "linux":
        return
    import fcntl

    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking:
        for _, name in socket.if_nameindex():
            row = struct.pack("256s", name.encode())
            with contextlib.suppress(OSError):  # it has no address
                (flags,) = struct.unpack_from("H", fcntl.ioctl(asking, READ_FLAGS, row), 16)
                if flags & RUNS and not flags & LOOPS:
                    yield socket.inet_ntoa(fcntl.ioctl(asking, READ_ADDRESS, row)[20:24])


def chosen_address(asked: str) -> str:
    """The address to share under: the one asked for, else the first that there is; empty where there is no network.

    Raises OutputFault where the one asked for is not one of this computer's in a local network.
    """
    found = local_addresses()
    if not asked:
        return found[0] if found else ""
    if not is_local(asked):
        what = "lessons are shared in local networks only, and this is no address of one"
        raise OutputFault([Fault(what, "--share", 0, asked, _known(found))])
    if asked in found:
        return asked
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as trial:
        try:
            trial.bind((asked, 0))
        except OSError:
            raise OutputFault(
                [Fault("this computer has no such address", "--share", 0, asked, _known(found))]
            ) from None
    return asked


def _known(found: tuple[str, ...]) -> str:
    return ", ".join(found) or "none now: this computer is in no network"
