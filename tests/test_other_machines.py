"""Nothing of POSIX alone is needed to import any of it."""

from __future__ import annotations

import subprocess
import sys

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
