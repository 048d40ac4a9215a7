"""What calls have in common: who asks, what they may do, what is served."""

from __future__ import annotations

import re
from typing import Annotated

from fastapi import Depends, Header, HTTPException, Path, Request

from pushproof.web.access import Role
from pushproof.web.desk import Desk
from pushproof.web.site import Site


def _role(request: Request) -> Role:
    return Role(getattr(request.state, "role", Role.NONE))


def _least(least: Role, request: Request) -> None:
    if _role(request) < least:
        raise HTTPException(403, f"this needs the right to {least.word}; you may only watch")


def may_view(request: Request) -> None:
    """Let pass who may watch."""
    _least(Role.VIEW, request)


def may_edit(request: Request) -> None:
    """Let pass who may decide: recipes, layers, sign-off."""
    _least(Role.EDIT, request)


def may_control(request: Request) -> None:
    """Let pass who may steer a push."""
    _least(Role.CONTROL, request)


RIGHTS = {may_view: Role.VIEW, may_edit: Role.EDIT, may_control: Role.CONTROL}
"""What lets pass, to the role that it asks for."""


def client(x_client: Annotated[str, Header(max_length=64)] = "") -> str:
    """Return the random name that the page gave itself; empty if it gave none or no good one."""
    return x_client if re.fullmatch(r"[A-Za-z0-9_-]*", x_client) else ""


def site_of(request: Request) -> Site:
    """Return what is served."""
    site = request.app.state.site
    assert isinstance(site, Site)
    return site


def desk_of(request: Request) -> Desk:
    """Return the soundings with what was computed of them."""
    desk = request.app.state.desk
    assert isinstance(desk, Desk)
    return desk


DeskOf = Annotated[Desk, Depends(desk_of)]
RoleOf = Annotated[Role, Depends(_role)]
Client = Annotated[str, Depends(client)]
SiteOf = Annotated[Site, Depends(site_of)]
Id = Annotated[str, Path(description="id of the sounding", max_length=200)]
VIEW, EDIT = [Depends(may_view)], [Depends(may_edit)]
