"""How the service is reached from outside: by which proxies, under which names, at which address.

Who stands in front is believed only if it is named. A forwarded client address is read from the right, as far as the
hops are named proxies: what stands further left anybody may have written. Sources: RFC 7239 (Forwarded); common
practice for X-Forwarded-For, -Proto and -Host; RFC 9110, 15.5.20 (421).
"""

from __future__ import annotations

import ipaddress
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Self
from urllib.parse import urlsplit

from starlette.types import ASGIApp, Receive, Scope, Send

from api import problems
from api.settings import Settings

Network = ipaddress.IPv4Network | ipaddress.IPv6Network
FORWARDING = (b"forwarded", b"x-forwarded-for", b"x-forwarded-proto", b"x-forwarded-host")
SCHEMES = ("http", "https")
DEFAULT_PORTS = {"http": ":80", "https": ":443"}
_TOKEN = r"[!#$%&'*+.^_`|~0-9A-Za-z-]+"
_PAIR = re.compile(rf'({_TOKEN})=(?:({_TOKEN})|"((?:[^"\\]|\\.)*)")')
_NODE = re.compile(r"(?:\[([0-9A-Fa-f:.]+)\]|([^\[\]:]+))(?::\w+)?")


class UnreadableForwarding(ValueError):
    """What a named proxy says of the client cannot be read, or two of its headers say different things."""


@dataclass(frozen=True, slots=True)
class Front:
    """The named proxies, the names that are answered (empty: any), and where users find the service (empty: unsaid)."""

    proxies: tuple[Network, ...] = ()
    hosts: frozenset[str] = frozenset()
    address: str = ""

    @classmethod
    def of(cls, settings: Settings) -> Self:
        """The same as the settings; those are checked where they are read."""
        address = settings.address.rstrip("/").lower()
        names = {*listed(settings.hosts.lower()), *([urlsplit(address).hostname or ""] if address else [])}
        return cls(networks(settings.proxies), frozenset(names), address)

    @property
    def is_named(self) -> bool:
        """Whether anything says that others than the user of this machine come here."""
        return bool(self.proxies or self.hosts)

    def trusts(self, address: str) -> bool:
        """Whether a named proxy stands at the address."""
        try:
            found = ipaddress.ip_address(address)
        except ValueError:
            return False
        found = getattr(found, "ipv4_mapped", None) or found
        return any(found in network for network in self.proxies)


def listed(text: str) -> list[str]:
    """The items of a list with commas."""
    return [item.strip() for item in text.split(",") if item.strip()]


def networks(text: str) -> tuple[Network, ...]:
    """Addresses and networks of a list with commas. Raises ValueError for one that is neither."""
    return tuple(ipaddress.ip_network(item) for item in listed(text))


@dataclass(frozen=True, slots=True)
class Hop:
    """What a proxy says of who asked it: address, scheme and host, each empty if unsaid."""

    address: str = ""
    scheme: str = ""
    host: str = ""


class ReachedThroughProxy:
    """ASGI layer: the client as a named proxy tells it, and the name that was asked for (400, 421)."""

    def __init__(self, app: ASGIApp, front: Front):
        self.app, self.front = app, front

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        try:
            refusal = self._settle(scope)
        except UnreadableForwarding as error:
            refusal = 400, str(error)
        if refusal:
            await problems.problem(scope["path"], *refusal)(scope, receive, send)
            return
        await self.app(scope, receive, send)

    def _settle(self, scope: Scope) -> tuple[int, str] | None:
        """Puts what the proxy says into the scope itself; what is wrong with the name, if anything is."""
        peer = str((scope.get("client") or ("", 0))[0])
        told = forwarded(scope["headers"], self.front) if self.front.trusts(peer) else None
        hosts = [value.decode("latin-1").lower() for name, value in scope["headers"] if name == b"host"]
        host = (told.host.lower() if told and told.host else "") or "".join(hosts[:1])
        if told:
            scope["client"] = (told.address or peer, 0)
            scope["scheme"] = told.scheme or scope["scheme"]
        if self.front.hosts and not self._is_answered(host, peer, direct=told is None):
            return 421, f"this service is not {host[:100]!r}; it answers under the names in LAYSHAFT_HOSTS"
        if told and self.front.address:
            scope["scheme"], _, host = self.front.address.partition("://")
        if told:
            headers = [each for each in scope["headers"] if each[0] not in (b"host", *FORWARDING)]
            scope["headers"] = [(b"host", host.encode("latin-1")), *headers]
        return None

    def _is_answered(self, host: str, peer: str, *, direct: bool) -> bool:
        name = _name(host)
        return name in self.front.hosts or (
            direct and _is_loopback(peer) and (name == "localhost" or _is_loopback(name))
        )


def _name(host: str) -> str:
    """The name of a Host header, without its port."""
    try:
        return urlsplit(f"//{host}").hostname or ""
    except ValueError:
        return ""


def _is_loopback(address: str) -> bool:
    try:
        return ipaddress.ip_address(address).is_loopback
    except ValueError:
        return False


def is_forwarded(headers: Iterable[tuple[bytes, bytes]]) -> bool:
    """Whether a proxy seems to have passed the request on."""
    return any(name in FORWARDING for name, _ in headers)


def forwarded(headers: Iterable[tuple[bytes, bytes]], front: Front) -> Hop | None:
    """What the named proxies say of the client; None if they say nothing. Raises UnreadableForwarding."""
    said: dict[bytes, str] = {}
    for name, value in headers:
        if name in FORWARDING:
            said[name] = ", ".join(filter(None, (said.get(name, ""), value.decode("latin-1"))))
    if not said:
        return None
    by_standard = _client(_hops(said[b"forwarded"]), front) if b"forwarded" in said else None
    by_practice = _client(_practice(said), front) if set(said) - {b"forwarded"} else None
    if by_standard and by_practice and by_standard != by_practice:
        raise UnreadableForwarding("Forwarded and X-Forwarded-... say different things; let the proxy send one of them")
    found = by_standard or by_practice
    if found and found.scheme and found.scheme not in SCHEMES:
        raise UnreadableForwarding(f"expected http or https as the forwarded scheme, found {found.scheme[:40]!r}")
    return found


def _client(hops: Sequence[Hop], front: Front) -> Hop:
    """From the right, the first hop that no named proxy is; the leftmost if all are."""
    return next((hop for hop in reversed(hops) if not front.trusts(hop.address)), hops[0])


def _hops(text: str) -> list[Hop]:
    """The elements of a Forwarded header (RFC 7239, 4)."""
    hops, values, place = [], {}, 0
    while True:
        found = _PAIR.match(text, place)
        if not found or found[1].lower() in values:
            raise UnreadableForwarding(f"expected Forwarded as RFC 7239, 4 has it, found {text[:100]!r}")
        plain = found[2] if found[3] is None else re.sub(r"\\(.)", r"\1", found[3])
        values[found[1].lower()] = plain
        rest = text[found.end() :]
        separator = rest.lstrip(" \t")[:1]
        place = found.end() + len(rest) - len(rest.lstrip(" \t")) + 1
        if separator in ("", ","):
            node = _node(values["for"]) if "for" in values else ""
            hops.append(Hop(node, values.get("proto", "").lower(), values.get("host", "")))
            values = {}
        if separator == "":
            return hops
        if separator not in (",", ";"):
            raise UnreadableForwarding(f"expected Forwarded as RFC 7239, 4 has it, found {text[:100]!r}")
        place += len(text[place:]) - len(text[place:].lstrip(" \t"))


def _node(text: str) -> str:
    """The address of a node, without its port; `unknown` and hidden names as they are (RFC 7239, 6)."""
    found = _NODE.fullmatch(text)
    if not found:
        return _bare(text)
    return found[1] or found[2]


def _bare(text: str) -> str:
    """An IPv6 address without brackets, as X-Forwarded-For has it. Raises UnreadableForwarding."""
    try:
        return str(ipaddress.ip_address(text))
    except ValueError:
        raise UnreadableForwarding(f"expected a forwarded address, found {text[:100]!r}") from None


def _practice(said: dict[bytes, str]) -> list[Hop]:
    """X-Forwarded-For with the scheme and the host that belong to each: one for all, or as many as addresses."""
    nodes = [_node(item) for item in listed(said.get(b"x-forwarded-for", ""))] or [""]
    schemes, hosts = (listed(said.get(name, "")) for name in (b"x-forwarded-proto", b"x-forwarded-host"))

    def at(items: Sequence[str], place: int) -> str:
        return "" if not items else items[place] if len(items) == len(nodes) else items[-1]

    return [Hop(node, at(schemes, place).lower(), at(hosts, place)) for place, node in enumerate(nodes)]
