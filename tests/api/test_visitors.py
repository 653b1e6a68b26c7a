"""Who a visitor is: believed from trusted proxies alone, from the service outwards."""

from ipaddress import IPv4Network, IPv6Network

import pytest

from service.api.visitors import address_of

PROXIES = (IPv4Network("10.0.0.0/8"), IPv6Network("fd00::/8"))


@pytest.mark.parametrize(
    ("peer", "forwarded", "found"),
    [
        ("203.0.113.9", "", "203.0.113.9"),
        (
            "203.0.113.9",
            "198.51.100.1",
            "203.0.113.9",
        ),  # whoever connects from elsewhere may write what it likes
        ("10.0.0.1", "198.51.100.1", "198.51.100.1"),
        (
            "10.0.0.1",
            "1.2.3.4, 198.51.100.1, 10.0.0.7",
            "198.51.100.1",
        ),  # what stands left of it, a visitor wrote
        ("10.0.0.1", "10.9.9.9", "10.9.9.9"),  # all of them proxies: the outermost
        ("10.0.0.1", "not an address", "10.0.0.1"),
        ("10.0.0.1", "", "10.0.0.1"),
        ("fd00::1", "2001:db8:1:2:3:4:5:6", "2001:db8:1:2::/64"),  # RFC 6177, section 2
        ("::ffff:10.0.0.1", "::ffff:198.51.100.1", "198.51.100.1"),
        ("testclient", "198.51.100.1", "unknown"),
        ("", "", "unknown"),
    ],
)
def test_a_visitor_is_the_first_that_is_no_trusted_proxy(peer: str, forwarded: str, found: str) -> None:
    """RFC 7239, section 8.1: the left of the list is whatever a client wrote."""
    assert address_of(peer, forwarded, PROXIES) == found


def test_without_trusted_proxies_the_header_is_nothing() -> None:
    """Who connected is the visitor."""
    assert address_of("10.0.0.1", "198.51.100.1", ()) == "10.0.0.1"
