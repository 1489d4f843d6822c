"""Unsaved answers, kept on disk after every answer so that a killed terminal loses none."""

from __future__ import annotations

import json
import os
import re
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any


@dataclass(frozen=True)
class Draft:
    """Answers not yet saved: whose, for which stay, over which fact version."""

    stay: str
    by: str
    base_version: int
    at: datetime
    facts: Mapping[str, Any]
    place: str = "record"


class Drafts:
    """A folder of drafts, one file a stay and station place; files 0600 in a 0700 folder."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def keep(self, draft: Draft) -> None:
        """Write the draft through to disk before returning. Raises OSError if the disk refuses."""
        self.folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        body = {
            "stay": draft.stay,
            "by": draft.by,
            "base_version": draft.base_version,
            "at": draft.at.isoformat(),
            "place": draft.place,
            "facts": dict(draft.facts),
        }
        target = self._path(draft.stay, draft.place)
        beside = target.with_suffix(f".{os.getpid()}.new")
        handle = os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
        try:
            os.write(handle, json.dumps(body, ensure_ascii=False, default=str).encode())
            os.fsync(handle)
        finally:
            os.close(handle)
        beside.replace(target)

    def offered(self, stay: str, place: str = "record") -> Draft | None:
        """The draft kept for a stay, or None; a damaged file is set aside, not deleted."""
        path = self._path(stay, place)
        if not os.path.isfile(path):  # also where the folder is closed to this user
            return None
        try:
            body = json.loads(path.read_text(encoding="utf-8"))
            moment = datetime.fromisoformat(body["at"])
            return Draft(
                body["stay"], body["by"], int(body["base_version"]), moment, body["facts"], body["place"]
            )
        except OSError:
            return None
        except (ValueError, KeyError, TypeError):
            with suppress(OSError):
                path.replace(path.with_suffix(".damaged"))
            return None

    def all(self) -> list[Draft]:
        """Every draft still waiting, oldest first; none where the folder is closed to this user."""
        try:
            paths = list(self.folder.iterdir())
        except OSError:
            return []
        names = [path.stem.rsplit("--", 1) for path in paths if path.match("*--*.json")]
        found = [self.offered(stay, place) for stay, place in names]
        return sorted((draft for draft in found if draft), key=lambda draft: draft.at)

    def drop(self, stay: str, place: str = "record") -> None:
        """Forget a draft once its answers are saved or knowingly thrown away.

        One that a disk does not let go is offered again; the save itself stands.
        """
        with suppress(OSError):
            self._path(stay, place).unlink(missing_ok=True)

    def _path(self, stay: str, place: str) -> Path:
        safe = re.sub(r"[^A-Za-z0-9_.-]", "_", stay)
        return self.folder / f"{safe}--{place}.json"
