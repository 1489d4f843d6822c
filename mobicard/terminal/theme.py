"""The screen's own colours: light, dark, high contrast, and plain for terminals with few or none."""

from __future__ import annotations

import tomllib
from importlib.resources import files

from textual.theme import Theme

PLAIN = "mobicard-plain"
NAMES = ("mobicard-light", "mobicard-dark", "mobicard-contrast", PLAIN)


def themes() -> list[Theme]:
    """Every theme, colours read from the scheme's screens.toml."""
    text = files("mobicard.scheme").joinpath("screens.toml").read_text(encoding="utf-8")
    made = [_theme(name, colours) for name, colours in tomllib.loads(text).items()]
    return [*made, _plain()]


def _theme(name: str, colours: dict[str, str]) -> Theme:
    cursor = {
        "block-cursor-background": colours["primary"],
        "block-cursor-foreground": colours["background"],
        "block-cursor-blurred-background": colours["panel"],
        "block-cursor-blurred-foreground": colours["foreground"],
        "footer-key-foreground": colours["accent"],
        "footer-background": colours["panel"],
        "border": colours["primary"],
        "border-blurred": colours["panel"],
    }
    return Theme(name=f"mobicard-{name}", variables=cursor, text_alpha=1.0, **colours)  # type: ignore[arg-type]


def _plain() -> Theme:
    """The terminal's own colours and nothing else; the mark is reverse video."""
    names = ("primary", "secondary", "warning", "error", "success", "accent", "foreground", "background")
    variables = {
        "ansi-background": "ansi_black",
        "ansi-foreground": "ansi_white",
        "block-cursor-background": "ansi_default",
        "block-cursor-foreground": "ansi_default",
        "block-cursor-text-style": "reverse",
        "block-cursor-blurred-text-style": "bold underline",
        "footer-key-foreground": "ansi_default",
        "border": "ansi_default",
        "border-blurred": "ansi_default",
        "input-cursor-text-style": "reverse",
        "input-cursor-background": "ansi_default",
        "input-cursor-foreground": "ansi_default",
    }
    same = dict.fromkeys((*names, "surface", "panel", "boost"), "ansi_default")
    return Theme(name=PLAIN, ansi=True, variables=variables, **same)  # type: ignore[arg-type]


def next_theme(name: str) -> str:
    """The theme after this one, round and round."""
    place = NAMES.index(name) if name in NAMES else -1
    return NAMES[(place + 1) % len(NAMES)]
