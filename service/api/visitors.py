"""Visitors: who is behind a request that shows no key of its own, told by network address.

Rules of this file
------------------
- Only proxies that the operator names are believed, from the service outwards; what a visitor writes into
  X-Forwarded-For stands left of what they add, and is never reached.
- A home has a whole /64 of IPv6 addresses (RFC 6177, section 2), so it counts as one visitor.
"""

from collections.abc import Sequence
from ipaddress import IPv4Address, IPv4Network, IPv6Address, IPv6Network, ip_address, ip_network

from starlette.requests import Request

Address = IPv4Address | IPv6Address
Network = IPv4Network | IPv6Network


def _read(text: str) -> Address | None:
    """Read an address; an IPv4 address in IPv6 clothes is the IPv4 address."""
    try:
        address = ip_address(text.strip())
    except ValueError:
        return None
    mapped = address.ipv4_mapped if isinstance(address, IPv6Address) else None
    return mapped or address


def _within(address: Address, networks: Sequence[Network]) -> bool:
    return any(address.version == network.version and address in network for network in networks)


def address_of(peer: str, forwarded: str, proxies: Sequence[Network]) -> str:
    """The address of a visitor: the first from the service outwards that is no trusted proxy.

    Parameters
    ----------
    peer
        Who connected.
    forwarded
        The header X-Forwarded-For, its lines joined by commas.
    proxies
        Networks of the trusted proxies.
    """
    found = _read(peer)
    hops = forwarded.split(",")
    while found is not None and hops and _within(found, proxies):
        hop = _read(hops.pop())
        if hop is None:
            break
        found = hop
    if found is None:
        return "unknown"
    return str(ip_network((found, 64), strict=False)) if found.version == 6 else str(found)  # IPv6


def bucket_of(request: Request, proxies: Sequence[Network]) -> str:
    """Name the counter of a request's visitor."""
    peer = request.client.host if request.client else ""
    forwarded = ",".join(request.headers.getlist("x-forwarded-for"))
    return f"visitor:{address_of(peer, forwarded[-2000:], proxies)}"
