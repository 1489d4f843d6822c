"""A real browser with axe-core, and the Nu HTML checker, for the tests that ask whether a page can be used.

Needs chromium, npm (once, to fetch axe-core and vnu-jar into a folder outside the tree) and a Java runtime:
apt-get install chromium npm default-jre-headless. The folder is $MOBICARD_TEST_TOOLS, by default
/var/tmp/mobicard-test-tools. Where one is missing the tests are skipped, saying which; with CI set they fail.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import tempfile
from functools import cache
from pathlib import Path
from typing import Any
from urllib.parse import unquote

import pytest

PACKAGES = ("axe-core@4", "vnu-jar@26")
TOOLS = Path(os.environ.get("MOBICARD_TEST_TOOLS", "/var/tmp/mobicard-test-tools"))

CHROMIUM = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)

RUN_AXE = """
axe.run(document).then(found => {
  const told = found.violations.map(v => ({id: v.id, help: v.help, nodes: v.nodes.map(n => n.html)}));
  const all = JSON.stringify({violations: told, passes: found.passes.length});
  document.documentElement.setAttribute("data-axe", encodeURIComponent(all));
});
"""


def missing(what: str, how: str) -> None:
    """Skip the test, or fail it in CI, which must have everything."""
    says = f"{what} is missing: {how}"
    if os.environ.get("CI"):
        pytest.fail(says)
    pytest.skip(says)


@cache
def tool(path: str) -> Path:
    """A file of one of the npm packages, fetched on first use."""
    place = TOOLS / "node_modules" / path
    if not place.exists():
        _fetch()
    if not place.exists():
        missing(path, f"npm install --prefix {TOOLS} {' '.join(PACKAGES)}")
    return place


def _fetch() -> None:
    npm = shutil.which("npm")
    if npm is None:
        missing("npm", "apt-get install npm")
    TOOLS.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=TOOLS.parent) as folder:
        command = [
            str(npm),
            "install",
            "--prefix",
            folder,
            "--ignore-scripts",
            "--no-audit",
            "--no-fund",
            *PACKAGES,
        ]
        subprocess.run(
            command, capture_output=True, timeout=180, check=False, env={**os.environ, "HOME": folder}
        )
        if (Path(folder) / "node_modules").is_dir() and not (TOOLS / "node_modules").exists():
            TOOLS.mkdir(exist_ok=True)
            shutil.copytree(Path(folder) / "node_modules", TOOLS / "node_modules", dirs_exist_ok=True)


def axe_findings(page: str, folder: Path) -> dict[str, Any]:
    """Axe-core's violations, and how many of its rules passed, for this page in headless Chromium."""
    axe = tool("axe-core/axe.min.js").read_text(encoding="utf-8")
    scripts = f"<script>{axe}</script><script>{RUN_AXE}</script>"
    ran = _chromium(
        page.replace("</body>", f"{scripts}</body>"), folder, "--virtual-time-budget=30000", "--dump-dom"
    )
    told = re.search(r'data-axe="([^"]*)"', ran.stdout)
    assert told, f"the browser gave no answer: {ran.stderr[-400:]}"
    found: dict[str, Any] = json.loads(unquote(told[1]))
    return found


def browser_dom(page: str, folder: Path, *flags: str) -> str:
    """The page after its own scripts have run in headless Chromium, as HTML."""
    return _chromium(page, folder, "--virtual-time-budget=5000", *flags, "--dump-dom").stdout


def browser_print(page: str, folder: Path) -> Path:
    """The page as headless Chromium prints it to a PDF."""
    folder.mkdir(exist_ok=True)
    out = folder / "printed.pdf"
    ran = _chromium(page, folder, "--no-pdf-header-footer", f"--print-to-pdf={out}")
    assert out.exists(), f"the browser printed nothing: {ran.stderr[-400:]}"
    return out


def _chromium(page: str, folder: Path, *flags: str) -> subprocess.CompletedProcess[str]:
    chromium = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if chromium is None:
        missing("chromium", "apt-get install chromium")
    file = folder / "page.html"
    file.write_text(page, encoding="utf-8")
    command = [str(chromium), *CHROMIUM, f"--user-data-dir={folder / 'profile'}", *flags, file.as_uri()]
    return subprocess.run(command, capture_output=True, text=True, timeout=120, check=False)


def html_errors(pages: dict[str, str], folder: Path) -> list[str]:
    """What the Nu HTML checker calls an error, with the page's name."""
    java = shutil.which("java")
    if java is None:
        missing("a Java runtime", "apt-get install default-jre-headless")
    jar = tool("vnu-jar/build/dist/vnu.jar")
    files = []
    for name, page in pages.items():
        files.append(folder / f"{name}.html")
        files[-1].write_text(page, encoding="utf-8")
    command = [str(java), "-jar", str(jar), "--errors-only", "--format", "json", *map(str, files)]
    ran = subprocess.run(command, capture_output=True, text=True, timeout=180, check=False)
    told = json.loads(ran.stderr or ran.stdout)
    return [
        f"{Path(item['url']).name} line {item.get('lastLine')}: {item['message']}"
        for item in told["messages"]
        if item["type"] == "error"
    ]
