"""The bill of materials (CycloneDX 1.6) of what .ci/locked.txt locks; run it after a change of that file."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
LOCKED, SBOM = HERE / "locked.txt", HERE / "sbom.cdx.json"
_PIN = re.compile(r"^([a-z0-9][a-z0-9.-]*)==([^ ;\\]+)(?: *; *([^\\]*[^ \\]))? ?\\?$")
_HASH = re.compile(r"^ +--hash=sha256:([0-9a-f]{64})(?: \\)?$")


def locked(text: str) -> dict[str, dict[str, Any]]:
    """Each package by name: its version, when it is wanted, the SHA-256 of each of its archives.

    Raises ValueError for a line that is neither a pin, a hash nor a comment.
    """
    found: dict[str, dict[str, Any]] = {}
    for line in text.splitlines():
        if not line.strip() or line.lstrip().startswith("#"):
            continue
        if pin := _PIN.match(line):
            found[pin[1]] = {"version": pin[2], "when": pin[3], "hashes": []}
        elif hashed := _HASH.match(line):
            found[list(found)[-1]]["hashes"].append(hashed[1])
        else:
            raise ValueError(f"neither a pin nor a hash: {line}")
    return found


def _components(packages: dict[str, dict[str, Any]]) -> Iterator[dict[str, Any]]:
    for name, one in packages.items():
        purl = f"pkg:pypi/{name}@{one['version']}"
        archives = [
            {
                "type": "distribution",
                "url": f"https://pypi.org/project/{name}/{one['version']}/",
                "hashes": [{"alg": "SHA-256", "content": content} for content in one["hashes"]],
            }
        ]
        yield {
            "type": "library",
            "bom-ref": purl,
            "name": name,
            "version": one["version"],
            "purl": purl,
            "externalReferences": archives,
        }


def sbom(text: str, version: str) -> str:
    """The bill of materials as JSON: the same for the same lock, so it carries no time and no serial."""
    bill = {
        "$schema": "http://cyclonedx.org/schema/bom-1.6.schema.json",
        "bomFormat": "CycloneDX",
        "specVersion": "1.6",
        "version": 1,
        "metadata": {"component": {"type": "application", "name": "mobicard", "version": version}},
        "components": list(_components(locked(text))),
    }
    return json.dumps(bill, indent=1) + "\n"


if __name__ == "__main__":
    import tomllib

    project = tomllib.loads((HERE.parent / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    SBOM.write_text(sbom(LOCKED.read_text(encoding="utf-8"), project["version"]), encoding="utf-8")
