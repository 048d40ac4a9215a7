"""``push`` at a real terminal pair, against the simulated rig on real ports."""

import contextlib
import os
import select
import signal
import struct
import subprocess
import sys
import time

import pytest

from pushproof.cli.push_command import Desk
from pushproof.store import Job, verify

posix = pytest.mark.skipif(sys.platform == "win32", reason="pseudo terminals are a POSIX thing")


class Crew:
    """Notes what a session is told."""

    def __init__(self):
        self.told = []

    def __getattr__(self, name):
        return lambda *given: self.told.append((name, *given))


def press(desk, keys):
    for key in keys:
        desk.press(key)


def test_keys_act():
    crew = Crew()
    desk = Desk(crew)
    press(desk, [" ", "r", "R", "d", "z", "a", "x", "", "\x1b"])
    assert crew.told == [
        ("push",), ("rod_added",), ("rod_added", -1), ("dissipation",), ("zeros",),
        ("acknowledge",),
    ]  # fmt: skip
    assert not desk.ended


def test_a_note_is_typed_and_no_letter_of_it_acts():
    crew = Crew()
    desk = Desk(crew)
    press(desk, "nraq")
    assert desk.prompt == " note: raq_"
    press(desk, ["\x7f", "!", "\r"])
    assert crew.told == [("note", "ra!")]
    press(desk, ["n", "q", "\x1b"])
    assert (desk.prompt, desk.ended) == ("", False)


def test_the_end_is_asked_for_twice():
    desk = Desk(Crew())
    press(desk, "q")
    assert "End the recording?" in desk.prompt
    press(desk, "a")
    assert (desk.prompt, desk.ended, desk.session.told) == ("", False, [])
    press(desk, "qy")
    assert desk.ended


@contextlib.contextmanager
def rig(folder, *options):
    """Run the simulated rig as a program of its own; give the addresses that it says."""
    command = [sys.executable, "-m", "pushproof", "rehearse", *map(str, options)]
    command += ["--equipment", str(folder / "rig.toml")]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as child:
        try:
            said = dict(child.stdout.readline().strip().split(": ", 1) for _ in range(3))
            yield said["cone"], said["depth"]
        finally:
            child.terminate()


class Terminal:
    """Runs a command at a terminal of 80 by 24 and reads what it draws."""

    def __init__(self, *command):
        import fcntl
        import pty
        import termios

        self.pid, self.near = pty.fork()
        if self.pid == 0:
            os.environ["TERM"] = "xterm-256color"
            os.execv(sys.executable, [sys.executable, "-m", "pushproof", *map(str, command)])
        fcntl.ioctl(self.near, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
        self.drawn = b""

    def wait_for(self, text, seconds=20):
        """Wait until something is drawn that was not there before."""
        deadline, begin = time.monotonic() + seconds, len(self.drawn)
        while text.encode() not in self.drawn[begin:]:
            assert time.monotonic() < deadline, (text, self.drawn[-3000:].decode())
            if select.select([self.near], [], [], 0.1)[0]:
                self.drawn += os.read(self.near, 65536)

    def send(self, keys):
        os.write(self.near, keys.encode())

    def end(self):
        """Return the exit status."""
        with contextlib.suppress(OSError):
            while select.select([self.near], [], [], 10)[0]:
                self.drawn += os.read(self.near, 65536)
        os.close(self.near)
        return os.waitstatus_to_exitcode(os.waitpid(self.pid, 0)[1])

    def kill(self):
        os.kill(self.pid, signal.SIGKILL)
        self.end()


def push(job, cone, depth):
    known = job.parent / "rig.toml"
    more = ["--equipment", known] if known.exists() else []
    sources = ["--source", cone, "--depth-source", depth]
    return Terminal("push", job, "--sounding", "HM-2", *sources, *more)


@posix
@pytest.mark.slow
def test_a_push_over_serial_ports_with_keys_and_a_kill(tmp_path):
    job = tmp_path / "site.job"
    with rig(tmp_path, "--serial", tmp_path, "--point", "HM-2", "--speed", "8") as (cone, depth):
        first = push(job, cone, depth)
        first.wait_for("link ")
        first.send("z")
        first.wait_for("ZEROS before")
        first.send("nwet site\r ")
        first.wait_for("HM-2   push")
        first.kill()
        second = push(job, cone, depth)
        second.wait_for("cone 0.")
        second.wait_for("encoder 0.")
        second.send("q")
        second.wait_for("End the recording?")
        second.send("y")
        assert second.end() == 0
    assert verify(job).ok
    with Job.open(job) as opened:
        assert opened.last("HM-2", "cone") > 0
        assert opened.last("HM-2", "depth") > 10
        events = opened.events("HM-2")
    assert any(e.text == "wet site" for e in events)
    kinds = [e.kind for e in events]
    assert kinds.count("recording-started") + kinds.count("resumed") == 2
    assert kinds.count("recording-stopped") == 1


@pytest.mark.slow
def test_a_push_over_tcp_without_a_terminal(tmp_path):
    job = tmp_path / "site.job"
    with rig(tmp_path, "--point", "HM-2", "--speed", "8") as (cone, depth):
        command = [sys.executable, "-m", "pushproof", "push", job, "--sounding", "HM-2"]
        command += ["--source", cone, "--depth-source", depth, "--seconds", "4"]
        command += ["--equipment", tmp_path / "rig.toml"]
        done = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == 0, done.stderr
    assert "readings" in done.stdout
    assert verify(job).ok
    replay = f"replay:{job}?speed=0&times=now"
    command = [sys.executable, "-m", "pushproof", "push", tmp_path / "again.job"]
    command += ["--sounding", "HM-2", "--source", f"{replay}&stream=cone", "--seconds", "2"]
    command += ["--depth-source", f"{replay}&stream=depth"]
    subprocess.run(command, capture_output=True, timeout=60, check=True)
    with Job.open(job) as one, Job.open(tmp_path / "again.job") as two:
        assert one.last("HM-2", "cone") == two.last("HM-2", "cone") > 3
        assert one.last("HM-2", "depth") == two.last("HM-2", "depth") > 30


@posix
@pytest.mark.slow
def test_a_port_that_cannot_be_set_up_is_said_on_the_screen_and_at_the_end(tmp_path):
    near, far = os.openpty()
    bad = f"serial:{os.ttyname(far)}?baud=123456789012"
    terminal = push(tmp_path / "a.job", bad, "tcp://127.0.0.1:9?decoder=depth-box")
    terminal.wait_for("CONE DISCONNECTED")
    terminal.send("q")
    terminal.wait_for("End the recording?")
    terminal.send("y")
    assert terminal.end() == 1
    assert b"cannot be set up" in terminal.drawn
    for end in (near, far):
        os.close(end)
