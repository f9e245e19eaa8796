"""The names and addresses of this machine; a page that calls it by any other name gets no answer."""

import contextlib
import ipaddress
import os
import re
import socket

from drystow.errors import InputError

VARIABLE = "DRYSTOW_HOSTS"
LOOPBACK = ["localhost", "127.0.0.1", "[::1]"]
NAME = re.compile(r"(?!-)[a-z0-9-]{1,63}(?:\.[a-z0-9-]{1,63})*", re.IGNORECASE)
NOWHERE = ("192.0.2.1", 9)  # an address kept for documentation; choosing a way to it sends nothing


def allowed_hosts(lan: bool) -> list[str]:
    """Return what the page may be called by: this computer only, or all names it has in the house.

    lan: other devices are let in
    """
    if not lan:
        return list(LOOPBACK)
    return list(dict.fromkeys([*LOOPBACK, *own_names(), *own_addresses(), *named_hosts()]))


def own_addresses() -> list[str]:
    """Return the IPv4 addresses at which other devices in the house reach this machine, the usual one first."""
    found = []
    with contextlib.suppress(OSError), socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as way:
        way.connect(NOWHERE)
        found.append(str(way.getsockname()[0]))
    with contextlib.suppress(OSError):
        found += [str(entry[4][0]) for entry in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)]
    return [address for address in dict.fromkeys(found) if not ipaddress.ip_address(address).is_loopback]


def own_names() -> list[str]:
    """Return the name of this machine, plain and as it is announced in the house."""
    name = socket.gethostname().lower()
    plain = name.split(".")[0]
    return [known for known in dict.fromkeys((name, plain, f"{plain}.local")) if NAME.fullmatch(known)]


def named_hosts() -> list[str]:
    """Return the further names of ``DRYSTOW_HOSTS``, separated by commas."""
    names = [name.strip().lower() for name in os.environ.get(VARIABLE, "").split(",") if name.strip()]
    for name in names:
        if not NAME.fullmatch(name):
            raise InputError(VARIABLE, f"'{name}' is not a host name; write names such as kitchen.example, with commas")
    return names
