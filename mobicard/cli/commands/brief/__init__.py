"""The commands about how a move is done: the brief of one, and practice on invented patients."""

from mobicard.cli.commands.brief.one_move import command
from mobicard.cli.commands.brief.practice_case import practise

__all__ = ["command", "practise"]
