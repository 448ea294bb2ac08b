"""A Ctrl-C that comes while the sound server's library is at work is not lost in there."""

import subprocess
import sys

from needs import did_not_run

from showrunner.live.jack import library

TRIES = 20
PROGRAM = f"""
import _thread, threading
from showrunner.live.jack import NO_START, library
jack, kept = library(), 0
for _ in range({TRIES}):
    go = threading.Event()
    presses = threading.Thread(target=lambda: go.wait() and _thread.interrupt_main())
    presses.start()
    try:
        go.set()
        jack.jack_client_open(b"nobody", NO_START, None)
        presses.join()
        for _ in range(1000):
            pass
    except KeyboardInterrupt:
        kept += 1
    presses.join()
print(kept)
"""
"""Looks for a server that is not there, of which the library says much, and is interrupted meanwhile."""


def test_a_ctrl_c_in_the_midst_of_the_librarys_messages_is_raised() -> None:
    if library() is None:
        did_not_run("no libjack here")
    environment = {"JACK_DEFAULT_SERVER": "nobody-is-called-so", "PATH": "", "PYTHONPATH": ":".join(sys.path)}
    done = subprocess.run([sys.executable, "-c", PROGRAM], capture_output=True, env=environment, check=True, text=True)
    assert done.stdout == f"{TRIES}\n"
    assert done.stderr == ""
