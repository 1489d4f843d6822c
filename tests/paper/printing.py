"""A private print service for the tests: CUPS on a loopback port with a printer that is a folder."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

CUPSD = "/usr/sbin/cupsd"

BACKEND = """#!/bin/sh
# The printer is a folder. A queue whose address ends in -exitN fails with that code; -slow takes its time.
[ $# -eq 0 ] && { echo 'direct tray "Unknown" "A folder"'; exit 0; }
dir="${DEVICE_URI#tray:}"
case "$dir" in
  *-exit*) echo "ERROR: the tray is out of paper" >&2; exit "${dir##*-exit}" ;;
  *-slow) sleep 2 ;;
esac
mkdir -p "$dir"
if [ -n "$6" ]; then cat "$6"; else cat; fi > "$dir/$1.pdf"
printf '%s\\n' "$3" "$4" "$5" > "$dir/$1.txt"
"""

CUPSD_CONF = """Listen 127.0.0.1:{port}
LogLevel warn
PreserveJobHistory Yes
PreserveJobFiles No
Browsing Off
WebInterface No
DefaultAuthType None
<Location />
  Order allow,deny
  Allow all
</Location>
<Location /admin>
  Order allow,deny
  Allow all
</Location>
<Policy default>
  <Limit All>
    Order allow,deny
    Allow all
  </Limit>
</Policy>
"""

CUPS_FILES_CONF = """ServerRoot {root}/etc
ServerBin {root}/bin
RequestRoot {root}/spool
TempDir {root}/spool/tmp
CacheDir {root}/cache
StateDir {root}/state
DataDir /usr/share/cups
AccessLog {root}/access.log
ErrorLog {root}/error.log
PageLog {root}/page.log
SystemGroup root
"""


@dataclass(frozen=True)
class PrintService:
    """A running CUPS and the folder its printers print into."""

    server: str
    root: Path
    running: subprocess.Popen[bytes]

    def queue(self, name: str, kind: str = "", *, policy: str = "abort-job", enabled: bool = True) -> Path:
        """Make a queue; the folder its pages land in. ``kind`` is ``-exitN`` or ``-slow``."""
        tray = self.root / "out" / f"{name}{kind}"
        self.command(
            "lpadmin", "-p", name, "-v", f"tray:{tray}", "-o", f"printer-error-policy={policy}", "-E"
        )
        if not enabled:
            self.command("cupsdisable", name)
        return tray

    def stop(self) -> None:
        """End the service, as when its machine goes down."""
        self.running.terminate()
        self.running.wait(20)

    def command(self, *words: str) -> str:
        """Run one CUPS command against this service."""
        environment = {**os.environ, "CUPS_SERVER": self.server, "PATH": f"{os.environ['PATH']}:/usr/sbin"}
        ran = subprocess.run(words, capture_output=True, text=True, timeout=20, env=environment, check=True)
        return ran.stdout


def missing() -> str | None:
    """Why no private print service can run here, or None."""
    if not Path(CUPSD).exists() or shutil.which("lpadmin") is None or shutil.which("lp") is None:
        return "no CUPS here: apt-get install cups"
    if os.geteuid() != 0:
        return "cupsd is started by root only"
    return None


@contextmanager
def print_service(root: Path) -> Iterator[PrintService]:
    """Start CUPS below ``root`` and stop it at the end."""
    port = _free_port()
    for part in ("etc", "bin/backend", "spool/tmp", "cache", "state", "out"):
        (root / part).mkdir(parents=True)
    for part in Path("/usr/lib/cups").iterdir():
        if part.name != "backend":
            (root / "bin" / part.name).symlink_to(part)
    backend = root / "bin" / "backend" / "tray"
    backend.write_text(BACKEND)
    backend.chmod(0o700)
    (root / "cupsd.conf").write_text(CUPSD_CONF.format(port=port))
    (root / "cups-files.conf").write_text(CUPS_FILES_CONF.format(root=root))
    command = [CUPSD, "-f", "-c", str(root / "cupsd.conf"), "-s", str(root / "cups-files.conf")]
    with subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) as running:
        try:
            _until_up(port, running)
            yield PrintService(f"127.0.0.1:{port}", root, running)
        finally:
            running.terminate()


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _until_up(port: int, running: subprocess.Popen[bytes]) -> None:
    for _ in range(200):
        with socket.socket() as probe:
            if probe.connect_ex(("127.0.0.1", port)) == 0:
                return
        if running.poll() is not None:
            raise RuntimeError(f"cupsd ended at once with code {running.returncode}")
        time.sleep(0.05)
    raise RuntimeError("cupsd did not start listening within 10 s")
