"""Nothing of POSIX alone is needed to import any of it."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

from mobicard.terminal.commands import COMMANDS

HIDDEN = ("fcntl", "pwd", "grp", "resource", "termios", "tty", "pty", "syslog")

WITHOUT_POSIX = """
import importlib, pkgutil, sys
import {outside}
class Hidden:
    def find_spec(self, name, path=None, target=None):
        if name in {hidden!r}:
            raise ImportError(name + " is not on this system")
for name in {hidden!r}:
    sys.modules.pop(name, None)
sys.meta_path.insert(0, Hidden())
import mobicard
for found in pkgutil.walk_packages(mobicard.__path__, "mobicard."):
    if not found.name.endswith("__main__"):
        importlib.import_module(found.name)
"""
OUTSIDE = "textual.drivers.linux_driver, weasyprint, sqlalchemy, psycopg, hl7, textual_serve.server, asyncio"
"""What others wrote takes care of itself, and is there before the modules are hidden."""


def test_every_module_can_be_imported_with_the_posix_only_ones_hidden():
    """As on a system without them: no module of ours fails at its import."""
    code = WITHOUT_POSIX.format(hidden=HIDDEN, outside=OUTSIDE)
    done = subprocess.run([sys.executable, "-c", code], check=False, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr[-600:]


RECORDED = """
import json, os, select, signal, sys, types, platformdirs, jinja2, pydantic, argon2
{hidden}
for holder, names in (
    (os, ("O_NONBLOCK", "O_CLOEXEC", "O_NOFOLLOW", "geteuid", "getuid", "getgid", "fchmod", "chown", "fork",
          "sched_getaffinity", "get_blocking", "set_blocking", "getpgid", "killpg", "sysconf")),
    (select, ("poll", "epoll")),
    (signal, ("SIGKILL", "SIGHUP", "SIGUSR1", "SIGALRM", "SIGPIPE")),
):
    for name in names:
        if hasattr(holder, name):
            delattr(holder, name)
sys.modules["msvcrt"] = types.SimpleNamespace(locking=lambda handle, how, many: None, LK_NBLCK=2, LK_UNLCK=0)
from mobicard.cli import run
seen = dict(alertness="alert", directions="reliable", behavior="calm", sitting="steady", standing="steady",
            stepping="walks", arms="both", help=dict(chair="standby"))
with open("look.json", "w") as file:
    json.dump(seen, file)
here = ["--ledger", "unit.sqlite", "--by", "JN", "--now", "2026-03-02T08:00"]
for words in (["ledger", "new"], ["stay", "admit", "5N-01"], ["record", "5N-01", "look.json"],
              ["cards", "--format", "html"], ["handoff", "--format", "html"], ["ledger", "verify"],
              ["ledger", "backup", "copy.sqlite"], ["check", "7Q4MKD"], ["doctor"]):
    code = run([*here, *words])
    if code and words[0] not in ("check", "doctor"):
        sys.exit(" ".join(words))
"""


def test_a_bed_is_recorded_and_printed_without_anything_of_posix_alone(tmp_path: Path) -> None:
    """Not only imported: the nurse's, the clerk's and the keeper's commands, to their end.

    What Windows does instead is not tried by this.
    """
    hidden = WITHOUT_POSIX.format(hidden=HIDDEN, outside=OUTSIDE).split("import mobicard")[0]
    env = {**os.environ, "MOBICARD_CONFIG": str(tmp_path), "PYTHONPATH": str(Path(__file__).parents[1])}
    asked = [sys.executable, "-c", RECORDED.format(hidden=hidden)]
    done = subprocess.run(asked, check=False, capture_output=True, text=True, cwd=tmp_path, env=env)
    assert done.returncode == 0, done.stderr[-900:]
    assert "could not be looked at" not in done.stdout
    assert "Details for your support" not in done.stderr
    assert (tmp_path / "cards" / "door-cards.html").is_file()


def test_what_a_function_key_does_can_be_done_without_one() -> None:
    """A terminal may keep function keys for itself: each has a letter or a Ctrl key as its twin."""
    alone = [
        (place.value, one.action)
        for place, ours in COMMANDS.items()
        for one in ours
        if all(re.fullmatch(r"f\d+", key) for key in one.keys.split(","))
    ]
    assert alone == []


def test_no_key_is_one_that_a_browser_keeps() -> None:
    """A page never sees these three: they open and close the browser's own windows."""
    keys = {key for ours in COMMANDS.values() for one in ours for key in one.keys.split(",")}
    assert not keys & {"ctrl+n", "ctrl+t", "ctrl+w"}
