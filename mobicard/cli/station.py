"""What every command needs of this station: settings, clock, ledger and ward, each made when asked for."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from mobicard import inflow
from mobicard.facts.text import harmless

if TYPE_CHECKING:
    from mobicard.rules.policy import Policy
    from mobicard.ward import Clock, Settings, Ward


@dataclass
class Station:
    """The options given before the command, and what follows from them."""

    ledger_url: str | None
    config: Path | None
    policy_path: Path | None
    scheme_path: Path | None
    inventory_path: Path | None
    by: str | None
    now_text: str | None
    unit: str | None = None
    staff_path: Path | None = None
    _settings: Settings | None = None
    _ward: Ward | None = None
    _pin: str | None = field(default=None, repr=False)

    @property
    def settings(self) -> Settings:
        if self._settings is None:
            from mobicard.ward.station.settings import Settings

            self._settings = Settings.found(
                config_dir=self.config,
                policy=self.policy_path,
                scheme=self.scheme_path,
                inventory=self.inventory_path,
                staff=self.staff_path,
                ledger=self.ledger_url,
                unit=self.unit,
            )
        return self._settings

    @property
    def policy(self) -> Policy:
        return self.settings.policy

    @property
    def clock(self) -> Clock:
        from mobicard.ward.station.clock import Clock

        if self.now_text is not None:
            return Clock.told(ward_moment(self.now_text))
        from mobicard.demo.clock import clock_of

        usual = Clock.for_zone(self.policy.shift.timezone)
        return clock_of(self.ledger_url or os.environ.get("MOBICARD_LEDGER"), usual) or usual

    @property
    def now(self) -> datetime:
        """Ward time, without opening a ledger."""
        return self.clock.now()

    @property
    def ward(self) -> Ward:
        """The ward over its ledger, opened on first use, never made. Raises LedgerError, SettingsRefused."""
        if self._ward is None:
            from mobicard.ward.station.known_ledger import open_known
            from mobicard.ward.ward import Ward

            ledger = open_known(self.ledger_url)
            self._ward = Ward(ledger, self.settings, self.clock, by=self.by, unit=self.unit)
        return self._ward

    def whatever_lies_there(self) -> Ward:
        """As ``ward``, over a ledger that this station would refuse as not the one it knows: to inquire."""
        if self._ward is None:
            from mobicard.ledger import Ledger
            from mobicard.ward.ward import Ward

            self._ward = Ward(
                Ledger.open(self.ledger_url, create=False), self.settings, self.clock, by=self.by
            )
        return self._ward

    @property
    def names_a_ledger(self) -> bool:
        """Whether somebody said which ledger, or the user's own is meant."""
        from mobicard.ledger.database.engine import ENV

        return bool(self.ledger_url or os.environ.get(ENV))

    @property
    def words(self) -> list[str]:
        """The options given before the command, as words, for a program that is started with the same."""
        given = {
            "--ledger": self.ledger_url,
            "--config": self.config,
            "--policy": self.policy_path,
            "--scheme": self.scheme_path,
            "--inventory": self.inventory_path,
            "--by": self.by,
            "--unit": self.unit,
            "--now": self.now_text,
        }
        return [word for name, value in given.items() if value is not None for word in (name, str(value))]

    @property
    def words_without_ledger(self) -> list[str]:
        """As ``words``, but for the ledger's address, which may have a password in it."""
        return replace(self, ledger_url=None).words

    def whole_house(self) -> None:
        """Every unit of the ledger is meant, whichever this station's is."""
        self.unit, self._settings, self._ward = None, None, None

    def use_policy(self, path: Path | None) -> None:
        """Take a policy named after the command instead of before it."""
        if path is not None:
            self.policy_path, self._settings = path, None

    def use_staff(self, path: Path | None) -> None:
        """Take a duty list named after the command."""
        if path is not None:
            self.staff_path, self._settings = path, None

    def use_now(self, text: str | None) -> None:
        """Take a time named after the command instead of before it."""
        if text is not None:
            self.now_text = text

    def signed_in(self, kind: str) -> Ward:
        """The ward with somebody at it who may make such entries; asks for a PIN where one is needed."""
        ward = self.ward
        if ward.needs_sign_in:
            initials = self.by or _ask("Initials")
            self._pin = os.environ.get("MOBICARD_PIN") or _ask("PIN", hidden=True)
            ward.sign_in(initials, self._pin)
        if not ward.knows_who:
            ward.call_me(self.by or _ask("Your initials (they go with every entry)"))
        if not ward.may(kind):
            raise Refused(f"{ward.by} may not do this: it takes another role")
        return ward

    def sign_in_again(self) -> None:
        """As before, where a ledger has ended the sign-in meanwhile. Raises LedgerError."""
        if self._ward and self._ward.person and self._pin:
            self._ward.sign_in(self._ward.person.initials, self._pin)


class Refused(click.ClickException):
    """A refusal with its reason, exit code 1."""

    exit_code = 1


def has_password(ledger: str | None) -> bool:
    """Whether a ledger's address carries a password. Raises LedgerUnreachable for what is no address."""
    from mobicard.ledger.database.engine import ledger_url

    return ledger is not None and ledger_url(ledger).password is not None


def ward_moment(text: str) -> datetime:
    """Ward time from ISO text; raises UsageError in words."""
    try:
        moment = datetime.fromisoformat(text)
        if moment.tzinfo is None and 1900 <= moment.year <= 2200:
            return moment
        raise ValueError
    except ValueError:
        raise click.UsageError(
            f"“{text}” is not a time; write the ward's own clock, like 2026-03-02T07:10"
        ) from None


def print_json(value: Mapping[str, Any] | list[Any]) -> None:
    """One JSON document on standard output, what steers a screen in JSON's own spelling."""
    text = json.dumps(value, indent=2, ensure_ascii=False, default=str)
    click.echo(text if harmless(text) == text else json.dumps(value, indent=2, default=str))


def print_line(value: Mapping[str, Any]) -> None:
    """One JSON document in one line, as ``print_json`` spells it."""
    text = json.dumps(value, ensure_ascii=False, default=str)
    click.echo(text if harmless(text) == text else json.dumps(value, default=str))


def answer(as_json: bool, value: Mapping[str, Any] | list[Any], lines: Iterable[object]) -> None:
    """The answer of a command: one JSON document, or line by line for a person."""
    if as_json:
        print_json(value)
    else:
        for line in lines:
            click.echo(harmless(str(line)))


def read_input(path: Path) -> str:
    """Text of a file, or of standard input for ``-``. Raises Refused in words."""
    try:
        return inflow.read_text(path)
    except OSError as gone:
        raise cannot_be_read(path, gone) from None
    except UnicodeDecodeError:
        raise Refused(f"{path}: is not UTF-8 text; save it as UTF-8") from None


def cannot_be_read(path: Path, gone: OSError) -> Refused:
    """Why a file, a pipe or standard input gave nothing, and what to do."""
    if str(path) == "-":
        return Refused(f"standard input: cannot be read ({gone.strerror})")
    return Refused(f"{gone.filename or path}: cannot be read ({gone.strerror}); check the path")


def has_keyboard() -> bool:
    """Whether a person can be asked; standard input may even be closed."""
    return sys.stdin is not None and sys.stdin.isatty()


def _ask(what: str, *, hidden: bool = False) -> str:
    if not has_keyboard():
        raise Refused(
            f"{what} needed, and there is no keyboard to ask; give --by INITIALS (and MOBICARD_PIN)"
        )
    return str(click.prompt(what, hide_input=hidden, err=True))
