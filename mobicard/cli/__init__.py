"""The command line: thin commands over the ward; every refusal a sentence, exit codes 0, 1 and 2."""

from mobicard.cli.run import run

__all__ = ["run"]
