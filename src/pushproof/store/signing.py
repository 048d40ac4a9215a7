"""Sign-off: facts, recipe and version frozen under a name, with a key if there is one.

A sign-off holds the SHA-256 of the facts, the recipe as it was, the software version, who signed
and when. With an Ed25519 key (RFC 8032, by the ``cryptography`` library) the whole is signed; the
public key travels along, so anybody can check that it was not changed, and whoever knows the
signer's key that it was theirs. Without a key it proves only that nothing changed since.
"""

from __future__ import annotations

import hashlib
import json
import os
from base64 import b64decode, b64encode
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pydantic import BaseModel, ConfigDict, ValidationError

from pushproof import __version__
from pushproof.errors import ConfigurationError, RecordError
from pushproof.model.recipe import Recipe
from pushproof.model.sounding import Sounding

if TYPE_CHECKING:
    from pushproof.store.job import Job


class SignOff(BaseModel):
    """One sign-off; ``signature`` covers everything else as canonical JSON."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    sounding: str
    facts: str
    recipe: dict[str, Any]
    software: str
    author: str
    time: datetime
    public_key: str = ""
    signature: str = ""

    def body(self) -> bytes:
        """Return what is signed."""
        document = self.model_dump(mode="json", exclude={"signature"})
        return json.dumps(document, sort_keys=True, separators=(",", ":")).encode()

    @property
    def fingerprint(self) -> str:
        """Short name of this sign-off: the first 16 digits of the SHA-256 of its body."""
        return hashlib.sha256(self.body()).hexdigest()[:16]

    @property
    def line(self) -> str:
        """The line for a sheet: who, when, with what."""
        how = "with a key" if self.signature else "without a key"
        return f"Signed by {self.author}, {self.time:%Y-%m-%d %H:%M} UTC, {how}, {self.fingerprint}"


def facts_hash(sounding: Sounding) -> str:
    """Return the SHA-256 of the facts of a sounding: its file if it has one, and all it states.

    A job file goes on growing, so of a job only what belongs to the sounding counts, and not the
    notes and alarms, which may be added to after the sign-off.
    """
    digest = hashlib.sha256()
    source = sounding.source
    if source is not None and source.format != "job":
        digest.update(source.sha256.encode())
    for key in sorted(sounding.readings):
        digest.update(key.encode())
        digest.update(sounding.readings[key].tobytes())
    for zero in (*sounding.zeros_before, *sounding.zeros_after):
        digest.update(zero.model_dump_json().encode())
    for document in (
        sounding.cone,
        sounding.location,
        sounding.rods,
        sounding.rig,
        sounding.encoder,
        sounding.water,
        *sounding.removed,
    ):
        digest.update(b"-" if document is None else document.model_dump_json().encode())
    stated = (sounding.predrilled, sounding.stop_reason, sounding.standard, sounding.started)
    digest.update(repr([None if one is None else str(one) for one in stated]).encode())
    for test in sounding.dissipations:
        for key in sorted(test.readings):
            digest.update(test.readings[key].tobytes())
    return digest.hexdigest()


def sign(
    sounding: Sounding,
    recipe: Recipe,
    author: str,
    key: Path | None = None,
    time: datetime | None = None,
) -> SignOff:
    """Freeze facts, recipe and version under a name.

    Parameters
    ----------
    key
        Private Ed25519 key as PEM (PKCS 8); made, readable by its owner only, if it is not there.
    time
        Moment of signing; now by default.

    Raises
    ------
    ConfigurationError
        If the author is empty or the key is no Ed25519 key.
    """
    if not author.strip():
        raise ConfigurationError("a sign-off needs a name")
    moment = (time or datetime.now(UTC)).replace(microsecond=0)
    known: dict[str, Any] = {
        "sounding": sounding.name,
        "facts": facts_hash(sounding),
        "recipe": recipe.model_dump(mode="json", exclude_unset=True),
        "software": __version__,
        "author": author.strip(),
        "time": moment,
    }
    if key is None:
        return SignOff(**known)
    private = load_key(key)
    from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

    public = private.public_key().public_bytes(Encoding.Raw, PublicFormat.Raw)
    draft = SignOff(**known, public_key=b64encode(public).decode())
    signature = b64encode(private.sign(draft.body())).decode()
    return draft.model_copy(update={"signature": signature})


def load_key(path: Path) -> Any:
    """Return the private key in a file, making both if the file is not there.

    Raises
    ------
    ConfigurationError
        If the file is readable by others, or holds no Ed25519 key.
    """
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
    from cryptography.hazmat.primitives.serialization import (
        Encoding,
        NoEncryption,
        PrivateFormat,
        load_pem_private_key,
    )

    if not path.exists():
        private = Ed25519PrivateKey.generate()
        pem = private.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(handle, "wb") as file:
            file.write(pem)
        return private
    if os.name == "posix" and path.stat().st_mode & 0o077:
        raise ConfigurationError(f"key {path}: others can read it; chmod 600 it first")
    try:
        loaded = load_pem_private_key(path.read_bytes(), password=None)
    except (ValueError, TypeError) as error:
        raise ConfigurationError(f"key {path}: no private key: {error}") from error
    if not isinstance(loaded, Ed25519PrivateKey):
        raise ConfigurationError(f"key {path}: not an Ed25519 key")
    return loaded


def changes(signed: SignOff, sounding: Sounding, recipe: Recipe | None = None) -> list[str]:
    """Return what is not as it was signed, in words; empty if everything holds.

    Parameters
    ----------
    recipe
        The recipe in use; None leaves it out of the comparison.
    """
    found = []
    if not _signature_holds(signed):
        found.append("the sign-off itself was changed after it was signed")
    if signed.sounding != sounding.name:
        found.append(f"it is for {signed.sounding}, not {sounding.name}")
    if signed.facts != facts_hash(sounding):
        found.append("the facts differ: readings, zeros, equipment or the file")
    if recipe is not None:
        now = recipe.model_dump(mode="json", exclude_unset=True)
        keys = sorted({*now, *signed.recipe})
        differ = [key for key in keys if now.get(key) != signed.recipe.get(key)]
        if differ:
            found.append(f"the recipe differs: {', '.join(differ)}")
    if signed.software != __version__:
        found.append(f"it was signed with version {signed.software}, this is {__version__}")
    return found


def _signature_holds(signed: SignOff) -> bool:
    if not signed.signature:
        return not signed.public_key
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    try:
        public = Ed25519PublicKey.from_public_bytes(b64decode(signed.public_key))
        public.verify(b64decode(signed.signature), signed.body())
    except (InvalidSignature, ValueError):
        return False
    return True


def keep_sign_off(job: Job, signed: SignOff, reason: str) -> None:
    """Keep a sign-off in a job as a decision on its sounding."""
    job.add_decision(
        "sign-off", signed, author=signed.author, reason=reason, sounding=signed.sounding
    )


def newest_sign_offs(job: Job) -> dict[str, SignOff]:
    """Return the newest sign-off of each sounding of a job that has one, by its name."""
    return {
        one.sounding: SignOff.model_validate(one.document)
        for one in job.decisions("sign-off")
        if one.sounding is not None
    }


def write_sign_off(signed: SignOff, path: Path) -> None:
    """Write a sign-off beside its sounding."""
    text = signed.model_dump_json(indent=1) + "\n"
    try:
        path.write_text(text, encoding="utf-8")
    except OSError as error:
        raise RecordError(f"{path}: cannot be written: {error.strerror}") from error


def read_sign_off(path: Path) -> SignOff:
    """Read a sign-off.

    Raises
    ------
    RecordError
        If there is none, or it is not one.
    """
    try:
        return SignOff.model_validate_json(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        raise RecordError(f"{path}: no such sign-off") from None
    except (OSError, UnicodeDecodeError, ValidationError) as error:
        raise RecordError(f"{path}: not a sign-off: {error}") from error
