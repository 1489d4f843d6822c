"""Holds a scheme to its thresholds, C1 to C12: contrast, distance, ladder, print, terminal.

Every figure is a model's: paper and screens differ. Sources stand at each check.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import cache
from itertools import combinations, pairwise
from pathlib import Path
from typing import Any

from mobicard.scheme.scheme import WIDEST_WORD, Figure, LevelLook, Scheme, grey, grey_value, xterm

CAP_WIDTHS = {
    "A": 0.824, "B": 0.779, "C": 0.766, "D": 0.781, "E": 0.730, "F": 0.700, "G": 0.771,
    "H": 0.791, "I": 0.351, "J": 0.740, "K": 0.797, "L": 0.713, "M": 0.901, "N": 0.843,
    "O": 0.781, "P": 0.759, "Q": 0.753, "R": 0.776, "S": 0.743, "T": 0.751, "U": 0.791,
    "V": 0.793, "W": 1.119, "X": 0.790, "Y": 0.780, "Z": 0.693,
}  # fmt: skip
"""Advance width of each capital of the carried word font, in capital heights."""

FOGRA39 = ("/usr/share/scribus/profiles/ISOcoated_v2_300_bas.icc", 2.5, "FOGRA39, package scribus-data")
SWOP = ("/usr/share/color/icc/ghostscript/default_cmyk.icc", 3.0, "SWOP, package libgs10-common")
INK_LIMIT = 300.0

_VISIONS = (
    ("normal vision", None, None),
    *(
        (f"{kind} ({method})", kind, method)
        for kind in ("protan", "deutan", "tritan")
        for method in ("machado", "brettel", "vienot")
        if (kind, method)
        != ("tritan", "vienot")  # Vienot's simplification covers red-green deficiencies only
    ),
)


def check(scheme: Scheme) -> list[Figure]:
    """Every figure, C1 to C12, with its threshold; the worst pair or level is named in each."""
    looks = [scheme.looks[level] for level in sorted(scheme.looks, key=lambda level: level.rank)]
    return [
        *_contrast(looks),
        *_distance(looks),
        *_ladder(looks),
        *_apart(looks, scheme),
        *_traffic(looks),
        *_press(looks),
        *_glyphs(looks),
        *_terminal(looks),
        *_words(looks),
    ]


@cache
def _colour(value: str) -> Any:
    from coloraide import Color

    return Color(value)


def contrast(one: str, other: str) -> float:
    """Contrast of two colours, 1 to 21, not rounded. Source: WCAG 2.2, relative luminance."""
    return float(_colour(one).contrast(_colour(other), method="wcag21"))


def distance(one: Any, other: Any) -> float:
    """CIEDE2000. Source: Sharma, Wu, Dalal 2005."""
    return float(one.delta_e(other, method="2000"))


def seen(colour: str, kind: str | None, method: str | None) -> Any:
    """The colour as seen with a deficiency at full severity, simulated on linear RGB.

    Source: Machado, Oliveira, Fernandes 2009; Brettel 1997 and Vienot 1999 as second opinions.
    """
    value = _colour(colour)
    return value if kind is None else value.filter(kind, 1.0, method=method, space="srgb-linear")


def lightness(colour: str) -> float:
    """CIE L* (D65)."""
    return float(_colour(colour).convert("lab-d65")["l"])


def grey_lightness(colour: str) -> float:
    """CIE L* of that grey."""
    from coloraide import Color

    return float(Color("srgb", [grey_value(colour) / 255] * 3).convert("lab-d65")["l"])


def _at_least(key: str, what: str, value: float, least: float) -> Figure:
    return Figure(key, what, value, f"at least {least:g}", value >= least)


def _least(values: Iterable[tuple[float, str]]) -> tuple[float, str]:
    return min(values, key=lambda item: item[0])


def _contrast(looks: Sequence[LevelLook]) -> Iterator[Figure]:
    value, word = _least((contrast(look.ink, look.colour), look.word) for look in looks)
    yield _at_least("C1", f"contrast of ink on colour, {word}", value, 7.0)
    yield _at_least("C2", f"contrast of shape and rail, {word}", value, 3.0)
    greys = [(contrast(look.ink, grey(look.colour)), look.word) for look in looks]
    value, word = _least(greys)
    yield _at_least("C2", f"the same on the grey card, {word}", value, 3.0)


def _distance(looks: Sequence[LevelLook]) -> Iterator[Figure]:
    colours = [(look.colour, look.word) for look in looks]
    for name, kind, method in _VISIONS:
        value, pair = _nearest(colours, kind, method)
        yield _at_least("C3", f"distance, {name}, {pair}", value, 18.0)


def _nearest(colours: Sequence[tuple[str, str]], kind: str | None, method: str | None) -> tuple[float, str]:
    seen_as = [(seen(colour, kind, method), word) for colour, word in colours]
    return _least((distance(a, b), f"{x} and {y}") for (a, x), (b, y) in combinations(seen_as, 2))


def _ladder(looks: Sequence[LevelLook]) -> Iterator[Figure]:
    for key, what, measure, least in (
        ("C4", "step in L*", lightness, 10.0),
        ("C5", "step in L* of the grey", grey_lightness, 8.0),
    ):
        value, pair = _least(_steps(looks, measure))
        yield _at_least(key, f"{what}, {pair}", value, least)


def _steps(looks: Sequence[LevelLook], measure: Callable[[str], float]) -> Iterator[tuple[float, str]]:
    for lighter, darker in pairwise(looks):
        yield measure(lighter.colour) - measure(darker.colour), f"{lighter.word} to {darker.word}"


def _apart(looks: Sequence[LevelLook], scheme: Scheme) -> Iterator[Figure]:
    for key, what, others, least in (
        ("C6", "distance to wristband", scheme.wristbands, 20.0),
        ("C7", "distance to signal", scheme.signals, 17.0),
    ):
        value, pair = _least(_pairs(looks, others))
        yield _at_least(key, f"{what}, {pair}", value, least)


def _pairs(looks: Sequence[LevelLook], others: Mapping[str, Sequence[str]]) -> Iterator[tuple[float, str]]:
    for look in looks:
        for name, colours in others.items():
            for colour in colours:
                yield distance(_colour(look.colour), _colour(colour)), f"{look.word} and {name} {colour}"


def _traffic(looks: Sequence[LevelLook]) -> Iterator[Figure]:
    """A level between red and green stays pale or dull: no level is a traffic light (Chapanis 1994)."""
    chromas = [(0.0, "none")]
    for look in looks:
        polar = _colour(look.colour).convert("lch-d65")
        if 15 <= float(polar["h"]) % 360 <= 170:
            chromas.append((float(polar["c"]), look.word))
    value, word = max(chromas)
    yield Figure("C8", f"chroma of levels between hue 15 and 170, {word}", value, "at most 40", value <= 40)


def _press(looks: Sequence[LevelLook]) -> Iterator[Figure]:
    for path, most, name in (FOGRA39, SWOP):
        if not Path(path).is_file():
            yield Figure(
                "C9", f"press, {name}", "not computed: the profile is not on this machine", f"{most}", None
            )
            continue
        try:
            trips = [(*_pressed(look.colour, path), look.word) for look in looks]
        except ImportError:
            yield Figure("C9", f"press, {name}", "not computed: Pillow is not installed", f"{most}", None)
            continue
        value, _, word = max(trips)
        yield Figure("C9", f"change in print, {name}, {word}", value, f"at most {most:g}", value <= most)
        ink, word = max((ink, word) for _, ink, word in trips)
        yield Figure("C9", f"ink, {name}, {word}, percent", ink, f"at most {INK_LIMIT:g}", ink <= INK_LIMIT)


def _pressed(colour: str, profile: str) -> tuple[float, float]:
    """How far the colour moves to the press and back, and its ink in percent."""
    from PIL import Image, ImageCms

    flags = ImageCms.Flags.BLACKPOINTCOMPENSATION
    intent = ImageCms.Intent.RELATIVE_COLORIMETRIC
    srgb = ImageCms.createProfile("sRGB")
    there = ImageCms.buildTransform(srgb, profile, "RGB", "CMYK", intent, flags)
    back = ImageCms.buildTransform(profile, srgb, "CMYK", "RGB", intent, flags)
    pixel = tuple(int(colour[at : at + 2], 16) for at in (1, 3, 5))
    printed = ImageCms.applyTransform(Image.new("RGB", (1, 1), pixel), there)
    assert printed is not None
    shown = ImageCms.applyTransform(printed, back)
    assert shown is not None
    inks, again = _only_pixel(printed), _only_pixel(shown)
    result = "#" + "".join(f"{value:02X}" for value in again)
    return distance(_colour(colour), _colour(result)), sum(inks) / 2.55


def _only_pixel(image: Any) -> tuple[int, ...]:
    value = image.getpixel((0, 0))
    return tuple(int(part) for part in value)


def _glyphs(looks: Sequence[LevelLook]) -> Iterator[Figure]:
    """One cell each, seven of each kind. Source: Unicode Standard Annex 11, by wcwidth."""
    from wcwidth import wcwidth

    wide = [look.word for look in looks if wcwidth(look.glyph) != 1]
    yield Figure("C10", "glyphs not one cell wide", ", ".join(wide) or "none", "none", not wide)
    for what, marks in (
        ("glyphs", {k.glyph for k in looks}),
        ("ASCII glyphs", {k.ascii_glyph for k in looks}),
    ):
        yield Figure("C10", f"distinct {what}", float(len(marks)), "7", len(marks) == len(looks))


def _terminal(looks: Sequence[LevelLook]) -> Iterator[Figure]:
    grounds = [(xterm(look.bg256), look.word) for look in looks]
    nearest = [(*_nearest(grounds, kind, method), name) for name, kind, method in _VISIONS]
    value, pair, name = min(nearest)
    yield _at_least("C11", f"distance in 256 colours, {pair}, {name}", value, 15.0)
    value, word = _least((contrast(xterm(look.bg256), xterm(look.fg256)), look.word) for look in looks)
    yield _at_least("C11", f"contrast in 256 colours, {word}", value, 7.0)
    steps = [(lightness(a) - lightness(b), f"{x} to {y}") for (a, x), (b, y) in pairwise(grounds)]
    value, pair = _least(steps)
    yield Figure("C11", f"step in L* in 256 colours, {pair}", value, "more than 0", value > 0)


def _words(looks: Sequence[LevelLook]) -> Iterator[Figure]:
    """Short words that start apart. Source: NUREG-0700 rev. 2, 1.2.12-6."""
    longest = max((look.word for look in looks), key=len)
    yield Figure(
        "C12", f"letters of the longest word, {longest}", float(len(longest)), "at most 6", len(longest) <= 6
    )
    initials = {look.word[0] for look in looks}
    yield Figure("C12", "distinct initials", float(len(initials)), "7", len(initials) == len(looks))
    value, word = max((sum(CAP_WIDTHS[letter] for letter in look.word), look.word) for look in looks)
    yield Figure(
        "C12",
        f"width on the card in capital heights, {word}",
        value,
        f"at most {WIDEST_WORD}",
        value <= WIDEST_WORD,
    )
