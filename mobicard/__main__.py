"""The command's front door: ``python -m mobicard`` and ``mobicard``."""

from __future__ import annotations

import sys


def main() -> None:
    """Run the command line; every refusal leaves with a sentence and exit code 1 or 2."""
    from mobicard.cli import run

    sys.exit(run())


if __name__ == "__main__":
    main()
