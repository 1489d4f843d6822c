"""The command's front door: ``python -m mobicard`` and ``mobicard``."""

from __future__ import annotations

import gc
import os
import sys

YOUNG = 20_000
"""Objects made before the young ones are looked over: what is imported lives to the end (700 by default)."""


def main() -> None:
    """Run the command line; every refusal leaves with a sentence and exit code 1 or 2."""
    gc.set_threshold(YOUNG)
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")  # else every package installed is searched
    try:
        from mobicard.cli import run

        code = run()
    except KeyboardInterrupt:  # before the command began, or behind its end
        print("mobicard: stopped; nothing else was changed", file=sys.stderr)
        code = 130
    sys.exit(code)


if __name__ == "__main__":
    main()
