"""The README's two commands on a fresh minimal Debian: by hand, as root.

    python tests/bench/fresh_machine.py bookworm trixie
    python tests/bench/fresh_machine.py trixie --base /srv/trixie    # an unpacked minbase, copied

For each release: debootstrap, a clone of this checkout's last commit, the two commands as the README writes
them, and the demo on one core and on all, each with a limit: what does not end is named, and its waits.
Package sources, certificates and the settings of pip and npm are this machine's own.
"""

from __future__ import annotations

import argparse
import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

CHECKOUT = Path(__file__).resolve().parents[2]
CARRIED = ("/etc/resolv.conf", "/etc/hosts", "/etc/pip.conf", "/root/.npmrc")
TRUSTED, TRUSTED_INSIDE = Path("/etc/ssl/certs/ca-certificates.crt"), "/root/trusted.pem"
SETTINGS = ("PIP_", "NODE_", "SSL_", "REQUESTS_", "npm_", "http_proxy", "https_proxy", "no_proxy")
PLAIN = {"HOME": "/root", "PATH": "/usr/sbin:/usr/bin:/sbin:/bin", "TERM": "dumb", "LANG": "C.UTF-8"}
MOUNTED = ("proc", "sys", "dev", "dev/pts", "dev/shm")
DEMO_LIMIT_S, TESTS_LIMIT_S = 600, 2400


def readme_commands() -> list[str]:
    """The commands of the README's section about a fresh machine, in order."""
    text = (CHECKOUT / "README.md").read_text(encoding="utf-8")
    section = re.split(r"^## ", text.split("## On a fresh machine", 1)[1], maxsplit=1, flags=re.MULTILINE)[0]
    return [block.strip() for block in re.findall(r"```sh\n(.*?)```", section, re.DOTALL)]


def own_mirror() -> str:
    """Where this machine's packages come from; Debian's own address where it does not say."""
    for path in [*Path("/etc/apt/sources.list.d").glob("*.sources"), Path("/etc/apt/sources.list")]:
        with suppress(OSError):
            found = re.search(r"(?:^URIs:|^deb)\s+(\S+/debian/?)\s", path.read_text(), re.MULTILINE)
            if found:
                return found.group(1)
    return "http://deb.debian.org/debian"


@dataclass(frozen=True)
class Ran:
    """How a command ended: seconds, exit code (None: it did not end), and what it printed."""

    seconds: float
    code: int | None
    text: str

    def says(self) -> str:
        ending = "DID NOT END" if self.code is None else "done" if self.code == 0 else f"exit {self.code}"
        return f"{self.seconds:6.1f} s  {ending}"


@dataclass(frozen=True)
class Machine:
    """A fresh system in a folder of its own."""

    release: str
    root: Path

    def run(self, command: str, limit_s: float, cores: str | None = None) -> Ran:
        """One shell command inside, ended with all it started when the limit is reached."""
        pinned = ["taskset", "-c", cores] if cores else []
        started = time.monotonic()
        with tempfile.TemporaryFile("w+") as said:
            process = subprocess.Popen(
                [*pinned, "chroot", str(self.root), "bash", "-c", f"cd /checkout && {command}"],
                stdin=subprocess.DEVNULL,
                stdout=said,
                stderr=subprocess.STDOUT,
                env=settings(self.root),
                start_new_session=True,
            )
            try:
                code = process.wait(limit_s)
            except subprocess.TimeoutExpired:
                code = None
                said.write("\n".join(["", "still running:", *waiting(self.root)]))
            took = time.monotonic() - started
            end_all(self.root)
            said.seek(0)
            return Ran(took, code, said.read())


def settings(root: Path) -> dict[str, str]:
    """A plain environment with this machine's package settings; trusted certificates lie elsewhere inside."""
    kept = {name: value for name, value in os.environ.items() if name.startswith(SETTINGS)}
    if (root / TRUSTED_INSIDE[1:]).exists():
        ours = ("PIP_CERT", "SSL_CERT_FILE", "NODE_EXTRA_CA_CERTS", "npm_config_cafile")
        kept.update(dict.fromkeys(ours, TRUSTED_INSIDE))
    return {**PLAIN, **kept}


def inside(root: Path) -> Iterator[int]:
    """The processes that live in this system."""
    for entry in Path("/proc").glob("[0-9]*"):
        with suppress(OSError):
            if Path(os.readlink(entry / "root")) == root:
                yield int(entry.name)


def waiting(root: Path) -> Iterator[str]:
    """What each process inside waits in, thread by thread, as far as the kernel says."""
    for pid in inside(root):
        with suppress(OSError):
            command = Path(f"/proc/{pid}/cmdline").read_bytes().replace(b"\0", b" ").decode(errors="replace")
            waits = {(thread / "wchan").read_text() for thread in Path(f"/proc/{pid}/task").iterdir()}
            yield f"  {pid} {command[:100]} waits in {', '.join(sorted(waits))}"


def end_all(root: Path) -> None:
    """End what a command left running, servers it started included."""
    for pid in list(inside(root)):
        with suppress(OSError):
            os.kill(pid, signal.SIGKILL)


@contextmanager
def machine(release: str, base: Path | None, mirror: str) -> Iterator[Machine]:
    """A fresh system, mounted; unmounted and removed whatever happens."""
    folder = Path(tempfile.mkdtemp(prefix=f"fresh-{release}-")).resolve()
    root = folder / "root"
    try:
        unpack(release, base, mirror, root)
        settle(root)
        for name in MOUNTED:
            (root / name).mkdir(parents=True, exist_ok=True)
            subprocess.run(["mount", "--bind", f"/{name}", root / name], check=True)
        yield Machine(release, root)
    finally:
        end_all(root)
        for name in reversed(MOUNTED):
            subprocess.run(["umount", "--lazy", root / name], check=False, stderr=subprocess.DEVNULL)
        if not any(str(root) in line for line in Path("/proc/mounts").read_text().splitlines()):
            shutil.rmtree(folder, ignore_errors=True)


def unpack(release: str, base: Path | None, mirror: str, root: Path) -> None:
    """The smallest Debian of this release: unpacked anew, or a copy of one unpacked before."""
    if base:
        subprocess.run(["cp", "-a", base, root], check=True)
        return
    with tempfile.TemporaryFile() as said:
        command = ["debootstrap", "--variant=minbase", release, str(root), mirror]
        if subprocess.run(command, stdout=said, stderr=said, check=False).returncode:
            said.seek(0)
            raise SystemExit(f"debootstrap {release} failed:\n{said.read().decode(errors='replace')[-2000:]}")


def settle(root: Path) -> None:
    """The checkout's last commit, and this machine's way to its package sources."""
    subprocess.run(["git", "clone", "-q", "--no-hardlinks", CHECKOUT, root / "checkout"], check=True)
    for name in CARRIED:
        if Path(name).is_file():
            (root / name[1:]).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(name, root / name[1:])
    if TRUSTED.is_file():
        shutil.copy2(TRUSTED, root / TRUSTED_INSIDE[1:])
        trust(root, TRUSTED.read_text(encoding="utf-8", errors="replace"))


def trust(root: Path, bundle: str) -> None:
    """Each certificate a file of its own, which the fresh system takes in: older pip asks nowhere else."""
    folder = root / "usr/local/share/ca-certificates"
    folder.mkdir(parents=True, exist_ok=True)
    found = re.findall(r"-----BEGIN CERTIFICATE-----.*?-----END CERTIFICATE-----", bundle, re.DOTALL)
    for number, text in enumerate(found):
        (folder / f"carried-{number}.crt").write_text(text + "\n", encoding="ascii")


def versions(there: Machine) -> str:
    """Python and Pango inside."""
    asked = "python3 --version; dpkg-query -W -f='Pango ${Version}' libpango-1.0-0"
    return ", ".join(there.run(asked, 60).text.split("\n"))


def tests_passed(text: str) -> str:
    """The test runner's closing count, or its dots counted where it prints none."""
    found = re.findall(r"(\d+ passed[^\n=]*)", text)
    return found[-1].strip() if found else f"{len(re.findall(r'[.]', dots(text)))} dots"


def dots(text: str) -> str:
    """The progress marks of a quiet test run."""
    progress = re.compile(r"[.sxF]+ *(\[ *\d+%\])?")
    return "".join(line.split("[")[0] for line in text.splitlines() if progress.fullmatch(line))


def tried(there: Machine, demo_only: bool) -> bool:
    """Everything once; prints a line a command; whether all of it ended well."""
    first, second = readme_commands()
    runs = [("the README's first command", first, DEMO_LIMIT_S, None)]
    runs.append(("demo on one core", ".venv/bin/mobicard demo --out /tmp/one", 120, "0"))
    runs.append(("demo on all cores", ".venv/bin/mobicard demo --out /tmp/all", 120, None))
    if not demo_only:
        runs.append(("the README's second command", second, TESTS_LIMIT_S, None))
    well = True
    for name, command, limit, cores in runs:
        ran = there.run(command, limit, cores)
        if name == runs[0][0]:
            print(f"  {versions(there)}")
        extra = f"  {tests_passed(ran.text)}" if command == second else ""
        print(f"  {name:28} {ran.says()}{extra}", flush=True)
        if ran.code != 0:
            well = False
            print("\n".join(f"    {line}" for line in ran.text.splitlines()[-40:]), flush=True)
    return well


def main(words: Sequence[str]) -> int:
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("releases", nargs="+", metavar="RELEASE", help="bookworm, trixie, ...")
    asked.add_argument("--base", type=Path, help="an unpacked minbase of the (one) release; copied")
    asked.add_argument("--mirror", default=own_mirror(), help="where Debian's packages come from")
    asked.add_argument("--demo-only", action="store_true", help="leave out the tests")
    args = asked.parse_args(words)
    well = True
    for release in args.releases:
        print(f"{release}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}", flush=True)
        with machine(release, args.base, args.mirror) as there:
            well = tried(there, args.demo_only) and well
    return 0 if well else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
