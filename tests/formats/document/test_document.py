"""JSON: validated against its published schema by a validator of other authors."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

import pushproof as pp
from pushproof.errors import FormatError
from pushproof.formats import document
from pushproof.formats.document import JsonFormat
from pushproof.formats.document.layout import schema
from pushproof.testing import SAMPLES, sample
from pushproof.testing.formats import FormatContract

SCHEMA = Path(document.__file__).parent / "sounding.schema.json"


class TestContract(FormatContract):
    @pytest.fixture(autouse=True)
    def _file(self, tmp_path_factory):
        self.path = tmp_path_factory.mktemp("json") / "plain.json"
        pp.write(sample("short"), self.path)

    def make(self):
        return JsonFormat()

    def plain(self):
        return self.path


@pytest.fixture(scope="module")
def validator():
    """The validator of the crate jsonschema: it shares nothing with pydantic."""
    jsonschema_rs = pytest.importorskip("jsonschema_rs")
    return jsonschema_rs.validator_for(json.loads(SCHEMA.read_text(encoding="utf-8")))


def test_the_published_schema_is_that_of_the_layout():
    assert SCHEMA.read_text(encoding="utf-8") == schema()


@pytest.mark.parametrize("name", sorted(SAMPLES))
def test_samples_are_after_the_schema(name, validator, tmp_path):
    path = tmp_path / "a.json"
    pp.write(sample(name), path)
    validator.validate(json.loads(path.read_text(encoding="utf-8")))


def test_results_are_after_the_schema_and_name_their_relations(validator, tmp_path):
    results = pp.interpret(pp.process(sample("clay-over-sand")))
    path = tmp_path / "a.json"
    pp.write(results, path)
    found = json.loads(path.read_text(encoding="utf-8"))
    validator.validate(found)
    (push,) = found["soundings"]
    assert push["results"]["methods"]["su"][0]["name"] == "su_nkt"
    assert push["results"]["methods"]["su"][0]["citation"]
    su = [np.nan if v is None else v for v in push["results"]["columns"]["su"]["values"]]
    assert su == pytest.approx(results.series["su"], nan_ok=True)


@pytest.mark.shared
@pytest.mark.slow
def test_every_real_sounding_is_after_the_schema(shared_data, validator, tmp_path):
    from formats.real_files import real_files

    for source in real_files(shared_data):
        path = tmp_path / "a.json"
        pp.write(pp.read_all(source), path, overwrite=True)
        validator.validate(json.loads(path.read_text(encoding="utf-8")))


def test_the_schema_refuses_what_is_wrong(validator, tmp_path):
    path = tmp_path / "a.json"
    pp.write(sample("short"), path)
    good = json.loads(path.read_text(encoding="utf-8"))
    for change in (
        lambda d: d.update(version=2),
        lambda d: d["soundings"][0].pop("name"),
        lambda d: d["soundings"][0].update(colour="red"),
        lambda d: d["soundings"][0]["readings"]["qc"].update(values="many"),
        lambda d: d["soundings"][0]["cone"].update(tip_area=-1),
    ):
        bad = json.loads(json.dumps(good))
        change(bad)
        assert not validator.is_valid(bad)
        path.write_text(json.dumps(bad))
        with pytest.raises(FormatError):
            pp.read(path)


def test_everything_comes_back_with_every_reason(tmp_path):
    one = sample("clay-over-sand")
    path = tmp_path / "a.json"
    pp.write(one, path)
    again = pp.read(path)
    for name in ("location", "cone", "rods", "rig", "water", "events", "started", "header"):
        assert getattr(again, name) == getattr(one, name), name
    for key in one.readings:
        assert again.readings.reason(key).tolist() == one.readings.reason(key).tolist()
    assert [test.start for test in again.dissipations] == [test.start for test in one.dissipations]
    assert pp.losses(one, "json") == []


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('{"format": "pushproof-sounding", "version": 9}', "version 9 is not known"),
        ('{"format": "other"}', "no document of soundings"),
        ('{"format": "pushproof-sounding", "version": 1, "soundings": []}', "soundings: list"),
        ('{"format": "pushproof-sounding",\n "version": NaN}', "NaN is no JSON number"),
        ('{"format": "pushproof-sounding",\n oops', "line 2"),
        ("[" * 200_000, "no JSON"),
    ],
)
def test_broken_documents_give_the_place(text, words, tmp_path):
    path = tmp_path / "a.json"
    path.write_text(text)
    with pytest.raises(FormatError, match=words):
        JsonFormat().read(path, pytest.importorskip("pushproof.formats.contract").ReadOptions())
