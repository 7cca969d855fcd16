"""Who may ask: a decision on the headers of a request alone.

Any program on this computer can connect, and so can any page that a browser here has open. A page
from elsewhere can send requests but cannot choose these headers: ``Host`` names whom the browser
thinks it talks to (a foreign name that leads here is caught by it), ``Origin`` and
``Sec-Fetch-Site`` say whose page asks. The cookie shows that this browser was given the key. Its
name carries the port, since browsers send cookies to every port of a host.
"""

from __future__ import annotations

import hmac
import secrets
from collections.abc import Mapping
from dataclasses import dataclass, field

from jobprep.serving.request import HTML, Answer, Refused, Request

HOST = "127.0.0.1"

_OPENING = (
    '<!DOCTYPE html><html lang="en"><head><meta charset="utf-8"><title>Opening</title>'
    '<meta http-equiv="refresh" content="0;url=/"></head>'
    '<body><p><a href="/">Open the page</a></p></body></html>\n'
)
_CLOSED = "this page is for who started it: open the address that the command printed, with its key"


@dataclass(frozen=True, slots=True)
class Door:
    """What a server on a port asks of a client: one of its own names and, if there is one, the key.

    Each key of ``once`` opens it a single time.
    """

    port: int
    key: str | None = None
    secret: str = field(default_factory=lambda: secrets.token_urlsafe(32), repr=False)
    once: set[str] = field(default_factory=set, repr=False)

    @property
    def cookie(self) -> str:
        """The name of the cookie."""
        return f"jobprep-{self.port}"

    @property
    def hosts(self) -> tuple[str, ...]:
        """The names by which a client may call this server."""
        return f"{HOST}:{self.port}", f"localhost:{self.port}"

    @property
    def address(self) -> str:
        """The address to open, with the key that lets its reader in."""
        return f"http://{HOST}:{self.port}/" + (f"?key={self.key}" if self.key else "")


def address_for_once(door: Door) -> str:
    """Return an address that lets its first reader in, for where others may see it later."""
    key = new_key()
    door.once.add(key)
    return f"http://{HOST}:{door.port}/?key={key}"


def new_key() -> str:
    """Return a key that nobody can guess."""
    return secrets.token_urlsafe(32)


def admitted(request: Request, door: Door) -> Answer | None:
    """Return None where a request may be answered, or the answer that exchanges a key for a cookie.

    Raises ``Refused`` for anybody else.
    """
    headers = request.headers
    if headers.get("host") not in door.hosts:
        raise Refused(403, "this server answers to its own name alone")
    if _shows_key(request, door):
        return _with_cookie(door)
    _refuse_foreign_page(request, door)
    if door.key is not None and not _has_cookie(headers, door):
        raise Refused(403, _CLOSED)
    return None


def _shows_key(request: Request, door: Door) -> bool:
    """Whether somebody opens the address that was printed; a link may lead there from anywhere."""
    if door.key is None or request.method != "GET" or request.path != "/":
        return False
    given = request.query.get("key")
    if given is None or _equal(given, door.key):
        return given is not None
    try:
        door.once.remove(given)
    except KeyError:
        return False
    return True


def _with_cookie(door: Door) -> Answer:
    """Return a page that leads on to ours: the browser then asks in our name, with the cookie."""
    cookie = f"{door.cookie}={door.secret}; HttpOnly; SameSite=Strict; Path=/"
    return Answer(body=_OPENING.encode(), kind=HTML, headers=(("Set-Cookie", cookie),))


def _refuse_foreign_page(request: Request, door: Door) -> None:
    headers = request.headers
    site, origin = headers.get("sec-fetch-site"), headers.get("origin")
    is_read = request.method == "GET"
    allowed = ("same-origin", "none") if is_read else ("same-origin",)
    if site is not None and site not in allowed:
        raise Refused(403, "a page from elsewhere may not ask here")
    if origin is not None and origin != f"http://{headers.get('host')}":
        raise Refused(403, "a page from elsewhere may not ask here")
    if not is_read and site is None and origin is None:
        raise Refused(403, "a change must say whose page asks for it: Origin is missing")


def _has_cookie(headers: Mapping[str, str], door: Door) -> bool:
    pairs = (each.strip().partition("=") for each in headers.get("cookie", "").split(";"))
    return any(name == door.cookie and _equal(value, door.secret) for name, _, value in pairs)


def _equal(given: str, right: str) -> bool:
    return hmac.compare_digest(given.encode("utf-8", "replace"), right.encode())
