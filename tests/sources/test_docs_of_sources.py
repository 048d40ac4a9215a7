"""The how-to pages on rigs and sources hold."""

import re
import tomllib
from importlib.resources import files
from pathlib import Path

import pytest

from pushproof.model.stream import Reading
from pushproof.sources import Decoder, describe, load_description, open_source
from pushproof.sources.checksum import KINDS
from pushproof.sources.description import shipped_names

HOW_TO = Path(__file__).parents[2] / "docs" / "how-to"
PAGE = (HOW_TO / "connect-a-rig.md").read_text(encoding="utf-8")
BLOCK = re.compile(r"^```(\w+)\n(.*?)^```", re.MULTILINE | re.DOTALL)
READS = {
    "my-link": b"$CONE,1042,521.50,4.812,33.4,118.2,-41.5,7.82*0E",
    "my-encoder": b"#D;88321;1;42.7;2627",
    "my-json": b'{"n": 7, "tip_MPa": 4.81}',
}


@pytest.mark.parametrize("body", [body for kind, body in BLOCK.findall(PAGE) if kind == "toml"])
def test_descriptions_read_what_the_page_says(body):
    description = describe(tomllib.loads(body))
    line = READS[description.name]
    assert line.decode() in PAGE
    assert isinstance(Decoder(description).decode(line, 0, 0), Reading)


def test_the_example_runs(capsys):
    (body,) = [body for kind, body in BLOCK.findall(PAGE) if kind == "python"]
    exec(body, {})
    assert "no checksum" in capsys.readouterr().out


def test_every_checksum_and_address_is_named(tmp_path, monkeypatch):
    assert [kind for kind in KINDS if f"`{kind}`" not in PAGE] == []
    monkeypatch.chdir(tmp_path)
    for name in ("my-box.toml", "old.job", "readings.txt"):
        Path(name).write_text('name="a"\nstream="cone"\nfields=[{key="clamp"}]\n')
    for address in re.findall(r"^\| `([a-z-]+:[^`]*)`", PAGE, re.MULTILINE):
        open_source(address.replace(":5010", ":0"), recorded=lambda *_: iter(())).stop()


def test_the_source_of_the_page_works(tmp_path):
    page = (HOW_TO / "add-a-source.md").read_text(encoding="utf-8")
    code = [body for kind, body in BLOCK.findall(page) if kind == "python"]
    names: dict = {}
    exec(code[0], names)
    path = tmp_path / "pipe"
    source = names["PipeSource"](path)
    path.write_bytes(source.decoder.encode({"qc": 1.0}, 3))
    with source:
        assert next(m for m in source if isinstance(m, Reading)).sequence == 3
    assert "class TestPipe(SourceContract)" in code[1]


@pytest.mark.parametrize("name", shipped_names())
def test_a_shipped_description_reads_the_example_in_its_comment(name):
    text = (files("pushproof.sources") / "decoders" / f"{name}.toml").read_text("utf-8")
    (line,) = re.findall(r"^#   (\S.*)$", text, re.MULTILINE)
    assert isinstance(Decoder(load_description(name)).decode(line.encode(), 0, 0), Reading)
