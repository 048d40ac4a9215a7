"""Single keys, over a real terminal pair."""

import os
import sys

import pytest

from pushproof.cli.keyboard import Keyboard, keys


@pytest.mark.parametrize(
    ("sent", "got"),
    [
        ("a", "a"),
        ("\x1b", "\x1b"),
        ("\x1b[A\x1b[1;5Cq", "q"),
        ("\x1bOP\x1b[15~n", "n"),
        ("\x1ba", ""),
        ("é", "é"),
    ],
)
def test_arrows_and_function_keys_are_no_keys(sent, got):
    assert keys(sent) == got


@pytest.mark.skipif(sys.platform == "win32", reason="pseudo terminals are a POSIX thing")
def test_keys_come_at_once_and_one_by_one_and_the_terminal_is_put_back(monkeypatch):
    import termios

    near, far = os.openpty()
    before = termios.tcgetattr(far)
    with os.fdopen(far, "r", closefd=False) as stdin:
        monkeypatch.setattr(sys, "stdin", stdin)
        with Keyboard() as keyboard:
            assert keyboard.key(0.01) == ""
            os.write(near, "rö\x1b[B ".encode())
            assert [keyboard.key(1.0) for _ in range(3)] == ["r", "ö", " "]
            assert keyboard.key(0.01) == ""
        assert termios.tcgetattr(far) == before
    os.close(near)
    os.close(far)


def test_without_a_terminal_no_key_comes(monkeypatch, tmp_path):
    (tmp_path / "in").write_text("q")
    with (tmp_path / "in").open() as stdin:
        monkeypatch.setattr(sys, "stdin", stdin)
        with Keyboard() as keyboard:
            assert keyboard.key(0.01) == ""
