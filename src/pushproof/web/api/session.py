"""Who am I, log in, log out, and what is served."""

from __future__ import annotations

from fastapi import APIRouter, HTTPException, Request, Response
from pydantic import BaseModel, Field

from pushproof import __version__
from pushproof.web.access import COOKIE, LIFE, Access
from pushproof.web.answers.problems import refusals
from pushproof.web.api.roles import RoleOf, SiteOf

router = APIRouter(tags=["session"])


class Me(BaseModel):
    """What the page may know of itself."""

    role: str = Field(description="none, view, edit or control")
    password: bool = Field(description="whether this server asks for a password")
    version: str
    pushing: bool = Field(description="whether this server records a push")


class Password(BaseModel):
    """A password that is tried."""

    password: str = Field(max_length=200)


class SoundingEntry(BaseModel):
    """One sounding of the site."""

    id: str
    name: str
    file: str
    is_job: bool
    waiting: bool = Field(description="still to be pushed: only its checklist was begun")


class UnreadFile(BaseModel):
    """A file that could not be read."""

    file: str
    fault: str


class SiteDocument(BaseModel):
    """What is served: the soundings, and the files that could not be read."""

    title: str
    is_job: bool
    soundings: list[SoundingEntry]
    unread: list[UnreadFile]


@router.get("/me")
def me(request: Request, role: RoleOf, site: SiteOf) -> Me:
    """Return what the one who asks may do."""
    access: Access = request.app.state.access
    return Me(
        role=role.word,
        password=bool(access.password),
        version=__version__,
        pushing=site.session is not None,
    )


@router.post("/login", responses=refusals(429))
def login(given: Password, request: Request, response: Response) -> Me:
    """Open a session with a password; it is kept in a cookie that no other site can use."""
    access: Access = request.app.state.access
    address = request.client.host if request.client else ""
    opened = access.login(given.password, address)
    if opened is None:
        raise HTTPException(403, "the password is wrong")
    session, role = opened
    response.set_cookie(COOKIE, session, max_age=int(LIFE), httponly=True, samesite="strict")
    site = request.app.state.site
    return Me(role=role.word, password=True, version=__version__, pushing=site.session is not None)


@router.post("/logout", status_code=204)
def logout(request: Request, response: Response) -> None:
    """End the session."""
    access: Access = request.app.state.access
    access.logout(request.cookies.get(COOKIE))
    response.delete_cookie(COOKIE, httponly=True, samesite="strict")


@router.get("/site")
def site_document(site: SiteOf) -> SiteDocument:
    """Return the soundings that are served."""
    return SiteDocument(
        title=site.path.name,
        is_job=site.job is not None,
        soundings=[
            SoundingEntry(
                id=one.id,
                name=one.name,
                file=one.file.name,
                is_job=one.is_job,
                waiting=one.waiting,
            )
            for one in site.entries()
        ],
        unread=[UnreadFile(file=one.file.name, fault=one.fault) for one in site.unread()],
    )
