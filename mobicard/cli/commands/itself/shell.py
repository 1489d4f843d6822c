"""``mobicard shell``: completions, manual page and unit file, built from the commands themselves."""

from __future__ import annotations

import sys
from pathlib import Path

import click
from click.shell_completion import get_completion_class

from mobicard import __version__
from mobicard.cli.station import Refused, Station, has_password


@click.group("shell", invoke_without_command=True)
@click.option("--keys", is_flag=True, help="Every key of every place, to hang beside a station.")
@click.option(
    "--out", type=click.Path(path_type=Path, file_okay=False), help="With --keys: A5, HTML and PDF, here."
)
@click.pass_context
def command(ctx: click.Context, keys: bool, out: Path | None) -> None:
    """Completions for bash, zsh and fish, the keys to hang up, the manual page, a service's unit file."""
    if not keys and out is not None:
        raise click.UsageError("--out goes with --keys")
    if keys:
        _keys(out)
        ctx.exit()
    if ctx.invoked_subcommand is None:
        click.echo(ctx.get_help())
        ctx.exit(2)


def _keys(out: Path | None) -> None:
    """The table of the commands themselves, as text or as a page."""
    from mobicard.terminal.commands import COMMANDS

    places = [(at.value, [(one.shown_keys, one.says) for one in ours]) for at, ours in COMMANDS.items()]
    if out is None:
        for place, rows in places:
            click.echo(f"{place}\n" + "\n".join(f"  {keys:<26} {says}" for keys, says in rows) + "\n")
        return
    from mobicard.paper.files import write_page
    from mobicard.paper.leaflet.page import keys_html

    for path in write_page("keys", keys_html("The keys of mobicard", places), out):
        click.echo(path)


@command.command()
@click.argument("kind", type=click.Choice(["bash", "zsh", "fish"]))
@click.pass_context
def completion(ctx: click.Context, kind: str) -> None:
    """Print the completion script for a shell.

    \b
    mobicard shell completion bash > ~/.local/share/bash-completion/completions/mobicard
    mobicard shell completion fish > ~/.config/fish/completions/mobicard.fish
    """
    shell = get_completion_class(kind)
    assert shell is not None
    click.echo(shell(ctx.find_root().command, {}, "mobicard", "_MOBICARD_COMPLETE").source())


SERVICE = """\
[Unit]
Description=mobicard feed: HL7 v2 messages into the ledger
After=network.target

[Service]
ExecStart={command}
EnvironmentFile=-{secrets}
Restart=always
RestartSec=2
UMask=0077
NoNewPrivileges=yes

[Install]
WantedBy=multi-user.target
"""
SECRETS = "/etc/mobicard/feed.env"
"""Where the service finds MOBICARD_PIN and MOBICARD_LEDGER, readable by its user alone."""


@command.command()
@click.option("--host", default="127.0.0.1", show_default=True, help="Address the feed listens at.")
@click.option("--port", type=click.IntRange(1, 65535), default=2575, show_default=True)
@click.option("--unit", metavar="UNIT", help="Only this unit's beds, as for the feed.")
@click.option("--cert", type=click.Path(path_type=Path, dir_okay=False), help="TLS certificate chain (PEM).")
@click.option("--key", type=click.Path(path_type=Path, dir_okay=False), help="Its private key (PEM).")
@click.pass_obj
def service(
    station: Station, host: str, port: int, unit: str | None, cert: Path | None, key: Path | None
) -> None:
    """Print a systemd unit file for the feed, with the options given before the command.

    \b
    mobicard --ledger /var/lib/mobicard/unit.sqlite --by ADT shell service > mobicard-feed.service
    """
    if station.by is None or station.now_text is not None:
        raise click.UsageError("a service needs --by INITIALS before the command, and no --now")
    if has_password(station.ledger_url):
        raise Refused(
            "the ledger's address has a password in it, and others see what a program is started with: leave "
            f"--ledger out, and put MOBICARD_LEDGER=... into {SECRETS}"
        )
    names, values = station.words[::2], map(_from_anywhere, station.words[::2], station.words[1::2])
    ours = [word for pair in zip(names, values, strict=True) for word in pair]
    asked = {"--unit": unit, "--cert": cert and cert.absolute(), "--key": key and key.absolute()}
    more = [word for name, value in asked.items() if value for word in (name, str(value))]
    words = [sys.executable, "-m", "mobicard", *ours, "feed", "--host", host, "--port", str(port), *more]
    click.echo(SERVICE.format(command=" ".join(map(_unit_word, words)), secrets=SECRETS), nl=False)


def _from_anywhere(option: str, value: str) -> str:
    """A file's whole path: a service does not start in this folder, and would make another ledger."""
    return value if option == "--by" or "://" in value else str(Path(value).absolute())


def _unit_word(word: str) -> str:
    """A word of a unit's command line: systemd.service(5), command lines; % and $ doubled, quoted."""
    plain = word.replace("\\", "\\\\").replace('"', '\\"').replace("%", "%%").replace("$", "$$")
    return f'"{plain}"' if plain != word or " " in word else word


@command.command()
@click.pass_context
def man(ctx: click.Context) -> None:
    """Print the manual page:  mobicard shell man | man -l -"""
    click.echo(manual(ctx.find_root()))


def manual(root: click.Context) -> str:
    """The manual page in man(7) macros: every command, argument and option."""
    group = root.command
    lines = [
        f'.TH MOBICARD 1 "" "mobicard {__version__}" "mobicard"',
        ".SH NAME",
        r"mobicard \- how to move this patient, now, and why",
        ".SH SYNOPSIS",
        r"\fBmobicard\fR [\fIoptions\fR] [\fIcommand\fR [\fIarguments\fR]]",
        ".SH DESCRIPTION",
        *_paragraphs(group.help or ""),
        ".SH OPTIONS",
        *_options(group, root),
        ".SH COMMANDS",
    ]
    lines += _commands(group, root, "mobicard")
    lines += [
        ".SH EXIT STATUS",
        "0 done; 1 refused, with a reason; 2 wrong usage; 130 stopped by Ctrl+C.",
        ".SH ENVIRONMENT",
        ".TP\n.B MOBICARD_LEDGER\nThe ledger to work on: a file, or a postgresql+psycopg address.",
        ".TP\n.B MOBICARD_CONFIG\nFolder with the facility's own files.",
        ".TP\n.B MOBICARD_BY\nYour initials.",
        ".TP\n.B NO_COLOR\nNo colour; shape and words carry everything.",
    ]
    return "\n".join(lines)


def _commands(group: click.Command, ctx: click.Context, path: str) -> list[str]:
    if not isinstance(group, click.Group):
        return []
    lines: list[str] = []
    for name in group.list_commands(ctx):
        one = group.get_command(ctx, name)
        if one is None or one.hidden:
            continue
        inner = click.Context(one, info_name=name, parent=ctx)
        usage = " ".join(one.collect_usage_pieces(inner))
        lines += [f".SS {_escaped(path)} {_escaped(name)} {_escaped(usage)}", *_paragraphs(one.help or "")]
        lines += _options(one, inner)
        lines += _commands(one, inner, f"{path} {name}")
    return lines


def _options(one: click.Command, ctx: click.Context) -> list[str]:
    lines = []
    for param in one.get_params(ctx):
        row = param.get_help_record(ctx)
        if row:
            lines += [".TP", f".B {_escaped(row[0])}", _escaped(row[1]) or "."]
    return lines


def _paragraphs(text: str) -> list[str]:
    lines: list[str] = []
    literal = False
    for line in text.splitlines():
        bare = line.strip()
        if bare == "\b":
            literal = True
            lines.append(".nf")
        elif not bare:
            lines.append(".fi\n.PP" if literal else ".PP")
            literal = False
        else:
            lines.append(_escaped(bare))
    return [*lines, ".fi"] if literal else lines


def _escaped(text: str) -> str:
    safe = text.replace("\\", "\\e").replace("-", "\\-").replace("'", "\\(aq")
    return f"\\&{safe}" if safe.startswith(".") else safe
