"""Sign-off: what changed since is named."""

import json
from base64 import b64encode

import pytest

from pushproof.errors import ConfigurationError, RecordError
from pushproof.model.recipe import Recipe
from pushproof.store import Job
from pushproof.store.signing import (
    changes,
    keep_sign_off,
    newest_sign_offs,
    read_sign_off,
    sign,
    write_sign_off,
)
from pushproof.testing import sample

SOUNDING = sample("short")
RECIPE = Recipe(water_level=1.2)


def test_an_unchanged_record_holds(tmp_path):
    signed = sign(SOUNDING, RECIPE, "A. Reviewer", tmp_path / "keys" / "own.pem")
    write_sign_off(signed, tmp_path / "s.json")
    back = read_sign_off(tmp_path / "s.json")
    assert back == signed
    assert changes(back, SOUNDING, RECIPE) == []
    assert signed.fingerprint in signed.line


def test_the_key_is_private_and_used_again(tmp_path):
    path = tmp_path / "own.pem"
    one = sign(SOUNDING, RECIPE, "A", path)
    assert path.stat().st_mode & 0o077 == 0
    assert sign(SOUNDING, RECIPE, "A", path).public_key == one.public_key
    path.chmod(0o644)
    with pytest.raises(ConfigurationError, match="others can read it"):
        sign(SOUNDING, RECIPE, "A", path)


def test_each_change_is_named(tmp_path):
    signed = sign(SOUNDING, RECIPE, "A", tmp_path / "k.pem")
    assert "water_level" in changes(signed, SOUNDING, Recipe(water_level=1.3))[0]
    moved = SOUNDING.readings["qc"].copy()
    moved[7] += 1e-9
    import dataclasses

    edited = dataclasses.replace(SOUNDING, readings=SOUNDING.readings.with_column("qc", moved))
    assert "facts differ" in changes(signed, edited, RECIPE)[0]
    older = signed.model_copy(update={"software": "0.0.1"})
    assert any("0.0.1" in line for line in changes(older, SOUNDING, RECIPE))


@pytest.mark.parametrize(
    "change", [{"author": "B"}, {"facts": "0" * 64}, {"signature": b64encode(b"x" * 64).decode()}]
)
def test_a_changed_sign_off_is_found(tmp_path, change):
    signed = sign(SOUNDING, RECIPE, "A", tmp_path / "k.pem").model_copy(update=change)
    assert any("itself was changed" in line for line in changes(signed, SOUNDING, RECIPE))


def test_a_stripped_signature_is_found(tmp_path):
    signed = sign(SOUNDING, RECIPE, "A", tmp_path / "k.pem").model_copy(update={"signature": ""})
    assert changes(signed, SOUNDING, RECIPE)


def test_the_newest_of_each_sounding_is_found(tmp_path):
    other = sign(SOUNDING, RECIPE, "B").model_copy(update={"sounding": "other"})
    with Job.create(tmp_path / "s.job", project="P") as job:
        for name in (SOUNDING.name, "other"):
            job.add_sounding(name)
        for author, signed in (("A", sign(SOUNDING, RECIPE, "A")), ("B", other)):
            keep_sign_off(job, signed, f"looked at by {author}")
        newest = sign(SOUNDING, RECIPE, "C")
        keep_sign_off(job, newest, "looked at again")
        assert newest_sign_offs(job) == {SOUNDING.name: newest, "other": other}


def test_ed25519_known_answer():
    # RFC 8032, section 7.1, TEST 2: secret key, message 0x72 and its signature.
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

    secret = bytes.fromhex("4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb")
    expected = (
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da"
        "085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00"
    )
    assert Ed25519PrivateKey.from_private_bytes(secret).sign(b"\x72").hex() == expected


def test_a_bad_file_is_a_record_error(tmp_path):
    (tmp_path / "s.json").write_text(json.dumps({"sounding": "x"}))
    with pytest.raises(RecordError, match="not a sign-off"):
        read_sign_off(tmp_path / "s.json")
    with pytest.raises(ConfigurationError, match="needs a name"):
        sign(SOUNDING, RECIPE, "  ")
