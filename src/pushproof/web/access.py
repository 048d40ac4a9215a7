"""Who may do what: roles, passwords, tokens and sessions of the page.

On loopback without a password everybody on this machine may do everything, as with the terminal.
On any other address a password is needed; a second one may be given to those who only watch.
"""

from __future__ import annotations

import hmac
import secrets
import threading
import time
from dataclasses import dataclass, field
from enum import IntEnum

from pushproof.errors import ConfigurationError

COOKIE = "pushproof-session"
LIFE = 12 * 3600.0
"""Life of a session [s]: a working day."""
TRIES, WINDOW = 8, 60.0
"""Wrong passwords that one address may give in a window of time [s]."""
LEAST = 10
"""Characters of a password that is reachable from other machines."""


class Role(IntEnum):
    """What a viewer may do; each may also do what the ones below may."""

    NONE = 0
    VIEW = 1
    EDIT = 2
    CONTROL = 3

    @property
    def word(self) -> str:
        """Lower-case word for people."""
        return self.name.lower()


@dataclass
class Access:
    """Passwords and the sessions they opened.

    Parameters
    ----------
    password
        Opens the role of control; empty means that no password is needed (loopback only).
    view_password
        Opens the role of view; empty if there is none.
    hosts
        Host names, without port, under which the page may be asked for.
    read_only
        True lets nobody edit or steer, whatever the password.
    """

    password: str = ""
    view_password: str = ""
    hosts: frozenset[str] = frozenset({"localhost", "127.0.0.1", "[::1]"})
    read_only: bool = False
    _sessions: dict[str, tuple[Role, float]] = field(default_factory=dict)
    _wrong: dict[str, list[float]] = field(default_factory=dict)
    _lock: threading.Lock = field(default_factory=threading.Lock)

    @property
    def most(self) -> Role:
        """The highest role that this server gives."""
        return Role.VIEW if self.read_only else Role.CONTROL

    def role(self, session: str | None, bearer: str | None) -> Role:
        """Return the role of a request by its cookie or its token."""
        if not self.password:
            return self.most
        if bearer:
            return min(self._by_password(bearer), self.most)
        with self._lock:
            role, until = self._sessions.get(session or "", (Role.NONE, 0.0))
        return min(role, self.most) if time.monotonic() < until else Role.NONE

    def login(self, password: str, address: str) -> tuple[str, Role] | None:
        """Return a new session and its role, or None if the password is wrong.

        Raises
        ------
        PermissionError
            If this address gave too many wrong passwords; it says how long to wait.
        """
        now = time.monotonic()
        with self._lock:
            wrong = [at for at in self._wrong.get(address, []) if now - at < WINDOW]
            self._wrong[address] = wrong
            if len(wrong) >= TRIES:
                wait = WINDOW - (now - wrong[0])
                raise PermissionError(f"too many wrong passwords; wait {wait:.0f} s")
        role = self._by_password(password)
        with self._lock:
            if role is Role.NONE:
                self._wrong[address].append(now)
                return None
            session = secrets.token_urlsafe(32)
            self._sessions = {k: v for k, v in self._sessions.items() if v[1] > now}
            self._sessions[session] = (role, now + LIFE)
        return session, min(role, self.most)

    def logout(self, session: str | None) -> None:
        """End a session."""
        with self._lock:
            self._sessions.pop(session or "", None)

    def _by_password(self, given: str) -> Role:
        # both are compared whatever the first says, so that time tells nothing
        control = hmac.compare_digest(given.encode(), self.password.encode())
        view = hmac.compare_digest(given.encode(), self.view_password.encode())
        if control:
            return Role.CONTROL
        return Role.VIEW if view and self.view_password else Role.NONE


def access_for(
    address: str, *, password: str = "", view_password: str = "", read_only: bool = False
) -> Access:
    """Return the access rules for an address to listen on.

    Raises
    ------
    ConfigurationError
        If other machines can reach the address and there is no password, or a short one.

    Examples
    --------
    >>> access_for("127.0.0.1").most.word
    'control'
    """
    loopback = address in ("127.0.0.1", "::1", "localhost")
    if not loopback and len(password) < LEAST:
        raise ConfigurationError(
            f"--listen {address}: other machines could steer the rig; give a password of at least "
            f"{LEAST} characters with --password-file"
        )
    if view_password and (len(view_password) < LEAST or view_password == password):
        raise ConfigurationError(
            f"the password of those who only watch has at least {LEAST} characters and is another"
        )
    hosts = Access().hosts
    if not loopback:
        hosts = hosts | {"*"} if address in ("0.0.0.0", "::") else hosts | {address}
    return Access(password, view_password, frozenset(hosts), read_only)
