"""``pushproof convert``: losses before, what lacks by name, many files, exit codes."""

from __future__ import annotations

import json

import pytest
from typer.testing import CliRunner

import pushproof as pp
from formats.ags.make import GIVEN
from pushproof.cli.app import app
from pushproof.sources.rehearsal.export import export_text
from pushproof.testing import sample

SET = [part for name, value in GIVEN.items() for part in ("--set", f"{name}={value}")]


def run(*words):
    return CliRunner().invoke(app, ["convert", *map(str, words)], env={"COLUMNS": "300"})


@pytest.fixture
def source(tmp_path):
    path = tmp_path / "push.csv"
    export_text(sample("short"), path)
    return path


def test_a_dry_run_says_what_is_lost_and_lacks_and_writes_nothing(source, tmp_path):
    done = run(source, tmp_path / "a.ags", "--dry-run")
    assert done.exit_code == 1
    assert "elapsed time (time)" in done.output
    assert "own_headings=yes" in done.output
    assert "--set recipient=..." in done.output
    assert "required" in done.output
    assert not (tmp_path / "a.ags").exists()
    assert run(source, tmp_path / "a.ags", "--dry-run", *SET).exit_code == 0
    assert not (tmp_path / "a.ags").exists()


def test_losses_are_accepted_by_name_only(source, tmp_path):
    target = tmp_path / "a.ags"
    refused = run(source, target, *SET)
    assert refused.exit_code == 1
    assert "--yes" in str(refused.exception)
    assert not target.exists()
    done = run(source, target, "--yes", *SET)
    assert done.exit_code == 0, done.output
    assert pp.read(target).name == sample("short").name
    again = run(source, target, "--yes", *SET)
    assert (again.exit_code, "there already" in again.output) == (1, True)
    assert run(source, target, "--yes", "--overwrite", *SET).exit_code == 0


def test_one_bad_file_does_not_stop_the_rest(source, tmp_path):
    bad = tmp_path / "bad.gef"
    bad.write_text("#GEFID= 1, 1, 0\nnothing")
    out = tmp_path / "out"
    done = run(bad, source, out, "--to", "gef", "--yes", "--set", "producer=M")
    assert done.exit_code == 1
    assert "the header has no end" in done.output
    assert [path.name for path in out.iterdir()] == ["push.gef"]
    assert "1 of 2 files done, 1 not" in done.output


def test_several_files_become_one_where_the_format_can(source, tmp_path):
    other = tmp_path / "other.csv"
    export_text(sample("no-u2"), other)
    target = tmp_path / "both.ags"
    assert run(source, other, target, "--yes", *SET).exit_code == 0
    assert [one.name for one in pp.read_all(target)] == [
        sample("short").name,
        sample("no-u2").name,
    ]
    single = run(source, other, tmp_path / "b.gef", "--yes", "--set", "producer=M")
    assert single.exit_code == 1
    assert "name a folder" in single.output


def test_json_tells_all(source, tmp_path):
    done = run(source, tmp_path / "a.ags", "--json", "--dry-run")
    (file,) = json.loads(done.stdout)["files"]
    assert {one["field"] for one in file["missing"] if one["required"]} >= {"issue", "recipient"}
    assert file["losses"]
    done = run(source, tmp_path / "a.ags", "--json", "--yes", *SET)
    (file,) = json.loads(done.stdout)["files"]
    assert (file["written"], file["error"]) == ([str(tmp_path / "a.ags")], None)


def test_fields_from_a_file_and_results(source, tmp_path):
    fields = tmp_path / "handover.toml"
    fields.write_text(
        "\n".join(f'{name} = "{value}"' for name, value in GIVEN.items() if name != "issue")
        + "\nissue = 3\nown_headings = true\n"
    )
    target = tmp_path / "a.ags"
    done = run(source, target, "--yes", "--fields", fields, "--results", "--water-level", 1.2)
    assert done.exit_code == 0, done.output
    text = target.read_text()
    assert '"GROUP","SCPP"' in text
    assert '"DATA","3","2031-05-02"' in text


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["--set", "recipient"], "expected FIELD=VALUE"),
        (["--set", "colour=red"], "unknown field colour"),
        (["--to", "nothing"], "no format 'nothing' can be written; known: ags4"),
        (["--fields", "none.toml"], "none.toml"),
    ],
)
def test_a_wrong_word_is_one_clear_error(source, tmp_path, words, message):
    done = run(source, tmp_path / "a.ags", *words)
    assert done.exit_code == 1
    assert message in f"{done.output}{done.exception}"


def test_files_to_read_and_one_to_write(source):
    assert run(source).exit_code == 2
