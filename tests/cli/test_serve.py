"""``pushproof serve`` as a process: what the first user of the how-to gets."""

import re
import signal
import subprocess
import sys
import time

import httpx

from pushproof.store import verify


def test_a_rehearsal_is_served_with_the_rig_that_it_brings(tmp_path):
    path = tmp_path / "practice.job"
    address = "rehearsal:HM-2?speed=100"
    command = [sys.executable, "-u", "-m", "pushproof", "serve", str(path), "--port", "0"]
    command += ["--source", address, "--sounding", "HM-2"]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    try:
        line = process.stdout.readline()
        url = re.search(r"http://127\.0\.0\.1:\d+", line).group()
        with httpx.Client(base_url=url, headers={"x-client": "test"}, timeout=20) as client:
            assert client.post("/api/push/start", json={"by": "test"}).status_code == 200
            end = time.monotonic() + 40
            while time.monotonic() < end:
                state = client.get("/api/push/state").json()
                if (state["advance"]["depth"] or 0.0) > 1.0:
                    break
                time.sleep(0.1)
        assert state["advance"]["depth"] > 1.0
        assert state["warnings"] == []
        assert state["channels"][0]["share"] is not None, "the capacity of its cone is known"
    finally:
        process.send_signal(signal.SIGINT)
        _, errors = process.communicate(timeout=30)
    assert "Traceback" not in errors
    assert verify(path).ok
