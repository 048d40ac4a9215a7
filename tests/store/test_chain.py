"""The chain against what is outside of it: NIST's examples, other programs, the written layout."""

from __future__ import annotations

import hashlib
import re
import runpy
import shutil
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.hashes import SHA256, Hash

from pushproof.store import Job, migrations, schema, verify
from pushproof.store.chain import link_hash
from pushproof.store.engine import writing_engine
from pushproof.store.walk import walk

ROOT = Path(__file__).parents[2]


# NIST, "SHA Examples" (csrc.nist.gov, Cryptographic Standards and Guidelines, Example Values,
# SHA-256 one-block and two-block messages), also FIPS 180-2 appendix B.1 to B.3. Typed from
# memory; a digest remembered wrongly would not match.
@pytest.mark.parametrize(
    ("message", "digest"),
    [
        (b"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
        (
            b"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
            "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
        ),
        (b"a" * 1_000_000, "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0"),
    ],
)
def test_the_hash_is_that_of_the_standard(tmp_path, message, digest):
    with Job.create(tmp_path / "a.job") as job:
        link = job.add_original("message", message)
        (original,) = job.originals()
        assert original.sha256 == digest
        assert job.original_bytes(link) == message


def test_a_link_is_hashed_as_written_down():
    row = {
        "link": 7,
        "time": 2.5,
        "name": "tü",
        "part": None,
        "bytes": b"\x00;",
        "previous": bytes(2),
        "hash": b"not this",
    }
    text = (
        b"sounding\n"
        b"bytes=b2:\x00;;"
        b"link=i1:7;"
        b"name=s3:t\xc3\xbc;"
        b"previous=b2:\x00\x00;"
        b"time=f20:0x1.4000000000000p+1;"
    )
    other = Hash(SHA256())  # OpenSSL, not Python's own
    other.update(text)
    assert link_hash("sounding", row) == other.finalize()


def test_a_job_is_proved_with_the_standard_library_alone(filled, copied):
    page = (ROOT / "docs/how-to/prove-a-job-without-pushproof.md").read_text(encoding="utf-8")
    (script,) = re.findall(r"^```python\n(.*?)^```", page, re.MULTILINE | re.DOTALL)
    assert "pushproof" not in script

    def run(path):
        command = [sys.executable, "-I", "-c", script, str(path)]
        return subprocess.run(command, capture_output=True, text=True)

    done = run(filled)
    head = verify(filled).head
    assert done.stdout.strip() == f"{head.link} links, head {head}", done.stderr
    content = copied.read_bytes()
    copied.write_bytes(content.replace(b"A. Nobody", b"B. Nobody"))
    done = run(copied)
    assert done.returncode == 1
    assert f"link {verify(copied).first_bad.link} in table" in done.stderr


@pytest.mark.skipif(shutil.which("sha256sum") is None, reason="needs the program sha256sum")
def test_an_original_has_the_hash_that_other_programs_give(tmp_path):
    content = bytes(range(256)) * 77
    path = tmp_path / "original"
    path.write_bytes(content)
    told = subprocess.run(["sha256sum", str(path)], capture_output=True, text=True, check=True)
    with Job.create(tmp_path / "a.job") as job:
        job.add_original("original", content)
        assert job.originals()[0].sha256 == told.stdout.split()[0]


def test_every_fact_is_a_link_of_one_chain(filled):
    database = sqlite3.connect(filled)
    links = list(walk(database))
    database.close()
    assert [link.number for link in links] == list(range(1, len(links) + 1))
    assert {link.table for link in links} == {table.name for table in schema.FACTS}
    hashes = [bytes(32), *(link.hash for link in links)]
    assert [link.row["previous"] for link in links] == hashes[:-1]


def test_the_tables_are_those_of_the_schema(tmp_path):
    engine = writing_engine(tmp_path / "a.job", create=True)
    with engine.begin() as connection:
        for _, step in migrations.MIGRATIONS:
            step(connection)
        run = connection.exec_driver_sql
        names = run("SELECT name FROM sqlite_master WHERE type = 'table'").scalars().all()
        assert set(names) == set(schema.metadata.tables)
        for name, table in schema.metadata.tables.items():
            here = [(row[1], row[2], not row[3]) for row in run(f"PRAGMA table_info({name})")]
            kinds = {"INTEGER": "INTEGER", "FLOAT": "REAL", "BLOB": "BLOB", "TEXT": "TEXT"}
            said = [
                (column.name, kinds[str(column.type)], bool(column.nullable))
                for column in table.columns
            ]
            keys = {column.name for column in table.primary_key}
            assert [one if one[0] not in keys else (*one[:2], False) for one in here] == said
            points = {
                (row[3], f"{row[2]}.{row[4]}") for row in run(f"PRAGMA foreign_key_list({name})")
            }
            assert points == {
                (column.name, key.target_fullname)
                for column in table.columns
                for key in column.foreign_keys
            }
            for verb in ("update", "delete") if name != "head" else ():
                assert run(
                    f"SELECT count(*) FROM sqlite_master WHERE name = '{name}_{verb}'"
                ).scalar()
    engine.dispose()


def test_the_settings_are_those_that_the_documentation_names(tmp_path):
    with Job.create(tmp_path / "a.job") as job:
        run = job._database.execute
        assert run("PRAGMA journal_mode").fetchone() == ("wal",)
        assert run("PRAGMA synchronous").fetchone() == (2,)  # FULL
        assert run("PRAGMA foreign_keys").fetchone() == (1,)
        assert run("PRAGMA fullfsync").fetchone() == (1,)
        assert run("PRAGMA application_id").fetchone() == (0x50555348,)


def test_the_page_about_the_job_file_is_up_to_date():
    script = runpy.run_path(str(ROOT / "scripts" / "job_file_page.py"))
    text = script["PAGE"].read_text(encoding="utf-8")
    assert script["page"](text) == text, "run scripts/job_file_page.py"
    for kind in ("job-opened", "job-closed", "job-interrupted", "resumed", "source-lost"):
        assert kind in text


def test_the_whole_file_is_sealed_when_closed(filled):
    line = filled.with_name("site.job.anchors").read_text().splitlines()[-1].split()
    assert line[3] == "closed"
    assert int(line[4]) == filled.stat().st_size
    assert line[5] == hashlib.sha256(filled.read_bytes()).hexdigest()
