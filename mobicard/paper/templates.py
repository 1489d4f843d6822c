"""Finds and fills the page templates: in the installed package first, then in the checkout."""

from __future__ import annotations

import hashlib
from base64 import b64encode
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from markupsafe import Markup

if TYPE_CHECKING:
    from jinja2 import Environment

FACES = (
    ("Atkinson Hyperlegible", 400, "AtkinsonHyperlegible-Regular"),
    ("Atkinson Hyperlegible", 700, "AtkinsonHyperlegible-Bold"),
    ("Barlow Semi Condensed", 700, "BarlowSemiCondensed-Bold"),
)
FONTS_OPEN, FONTS_CLOSE = "/* fonts: carried inside the page */", "/* fonts: end */"


PAGES = (
    "door.html",
    "bedside.html",
    "handoff.html",
    "slip.html",
    "hands.html",
    "house.html",
    "brief.html",
    "brief_back.html",
    "label.html",
    "keys.html",
)
"""Every page the product fills; what each is made of stands in the pages themselves."""


@cache
def folder() -> Path:
    """The folder of templates: ``mobicard/templates`` when installed, the checkout's ``templates`` otherwise.

    Raises FileNotFoundError naming both places.
    """
    package = Path(__file__).resolve().parent.parent
    inside, beside = package / "templates", package.parent / "templates"
    if inside.is_dir():
        return inside
    if beside.is_dir() and (package.parent / "pyproject.toml").is_file():
        return beside
    raise FileNotFoundError(
        f"the page templates are missing: neither {inside} nor {beside} is there; install mobicard again. "
        "Nothing that was recorded is touched."
    )


@cache
def same_files(names: tuple[str, ...], digest: str, where: Path | None = None) -> bool:
    """Whether the templates of these names (of this folder, else the ones used) are those of the digest."""
    found = b"".join(((where or folder()) / name).read_bytes() for name in names)
    return hashlib.sha256(found).hexdigest()[:16] == digest


@cache
def environment() -> Environment:
    """The one template environment: everything escaped, an unknown name is an error."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    env = Environment(
        loader=FileSystemLoader(folder()),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
    )
    env.globals["fonts_css"] = fonts_css
    return env


def render(name: str, **values: Any) -> str:
    """One page: the template's text with these values."""
    return environment().get_template(name).render(**values)


@cache
def fonts_css() -> Markup:
    """The @font-face rules with the fonts inside, so a page is one file; ``pdf`` swaps them for the files."""
    carried = {file: (folder() / "fonts" / f"{file}.woff2").read_bytes() for _, _, file in FACES}
    rules = [
        f'@font-face{{font-family:"{family}";font-weight:{weight};font-display:block;'
        f"src:url(data:font/woff2;base64,{b64encode(carried[file]).decode('ascii')})format('woff2')}}"
        for family, weight, file in FACES
    ]
    return Markup("\n".join([FONTS_OPEN, *rules, FONTS_CLOSE]))


def font_files_css() -> str:
    """The same @font-face rules by file address, which a PDF needs no decoding for."""
    return "\n".join(
        f'@font-face{{font-family:"{family}";font-weight:{weight};'
        f'src:url("{(folder() / "fonts" / file).with_suffix(".ttf").as_uri()}")}}'
        for family, weight, file in FACES
    )
