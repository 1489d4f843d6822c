"""Running a command and turning every refusal into one clear sentence and an exit code."""

from __future__ import annotations

import os
import sys
import tempfile
import traceback
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

import click

from mobicard.cli.streams import make_ready
from mobicard.facts.text import harmless

DONE, REFUSED, WRONG_USE, STOPPED = 0, 1, 2, 130
"""The last is 128 and the number of the signal, as shells count it: POSIX.1, SIGINT."""


def run(args: Sequence[str] | None = None) -> int:  # noqa: PLR0911 - one return a way to end
    """Run one command. Returns 0 done, 1 refused with a reason, 2 wrong usage, 130 stopped by Ctrl+C."""
    from mobicard.cli.main import cli

    make_ready()
    try:
        result = cli.main(
            args=list(args) if args is not None else None, prog_name="mobicard", standalone_mode=False
        )
        sys.stdout.flush()
    except click.exceptions.Exit as left:
        return left.exit_code
    except click.UsageError as wrong:
        said = click.UsageError(harmless(wrong.format_message()), ctx=wrong.ctx)
        said.show()
        return WRONG_USE
    except click.ClickException as refused:
        return _say(refused.format_message())
    except (click.Abort, KeyboardInterrupt):
        _say("stopped; what was saved is saved, nothing else was changed")
        return STOPPED
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE
    except SystemExit:  # so click says that nobody reads any more, as behind `| head`
        return DONE
    except Exception as other:
        return _say(sentence_of(other))
    return result if isinstance(result, int) else DONE


def sentence_of(error: Exception) -> str:
    """The sentence a person needs for any error; an unknown one is written to a file, never shown raw."""
    says = getattr(error, "says", None)
    if isinstance(says, str):
        return str(error) if type(error).__name__ == "SettingsRefused" else says
    problems = getattr(error, "problems", None) or _refused_facts(error)
    if problems:
        return "this record cannot be taken:\n" + "\n".join(f"  {problem}" for problem in problems)
    if isinstance(error, RecursionError):
        return "what was read is nested too deeply to be anything mobicard knows; nothing was changed"
    if isinstance(error, OSError):
        where = f" ({error.filename})" if error.filename else ""
        return f"the computer refused{where}: {error.strerror or error}; nothing recorded is lost"
    return (
        f"something unexpected went wrong; nothing recorded is lost. Details for your support: {_kept(error)}"
    )


def _refused_facts(error: Exception) -> Sequence[object]:
    """Why a record refused a fact given with a command; where it did, its module is loaded by now."""
    if (pydantic := sys.modules.get("pydantic")) is None or not isinstance(error, pydantic.ValidationError):
        return ()
    from mobicard.facts import problems_of

    return problems_of(error)


def _kept(error: Exception) -> str:
    lines = "".join(traceback.format_exception(error))
    folder = Path(tempfile.gettempdir())
    path = folder / f"mobicard-error-{datetime.now():%Y%m%d-%H%M%S}-{os.getpid()}.txt"
    try:
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(handle, "w", encoding="utf-8") as out:
            out.write(lines)
    except OSError:
        return f"{type(error).__name__}: {error}"
    return str(path)


def _say(sentence: str) -> int:
    click.echo(f"mobicard: {harmless(sentence)}", err=True)
    return REFUSED
