"""Turn words into lines of text that fit a width, and tables into columns: the typesetting that pages need."""

from __future__ import annotations

from turnout_templates.drawing.items import TextItem
from turnout_templates.drawing.text_metrics import text_width

LEADING = 1.35
"""Distance of baselines in parts of the text's size (common practice, no source)."""
_NARROW = 0.4
"""A text with less room for each letter than this, in parts of its size, hardly fits and is measured word by word."""
_ELLIPSIS = "…"
_SAME = 1e-9
"""Lengths that differ by less than this, in parts of the text's size, are one: widths are sums."""


def wrapped_lines(text: str, width: float, size: float, *, bold: bool = False) -> list[str]:
    """Return `text` broken between words into lines of at most `width` mm; a longer word is broken anywhere."""
    room = width / size + _SAME
    if len(text) * _NARROW <= room and "\n" not in text and text_width(text, 1.0, bold=bold) <= room:
        return [" ".join(text.split())]
    lines: list[str] = []
    space = text_width(" ", 1.0, bold=bold)
    for paragraph in text.split("\n"):
        words: list[str] = []
        length = -space
        for word in paragraph.split():
            own = text_width(word, 1.0, bold=bold)
            if length + space + own > room and words:
                lines.append(" ".join(words))
                words, length = [], -space
            if own > room:
                *full, word = _broken_word(word, width, size, bold=bold)
                lines += full
                own = text_width(word, 1.0, bold=bold)
            words.append(word)
            length += space + own
        lines.append(" ".join(words))
    return lines


def _broken_word(word: str, width: float, size: float, *, bold: bool) -> list[str]:
    """Return `word` in parts that fit, each with at least one letter."""
    parts = [""]
    for letter in word:
        if parts[-1] and text_width(parts[-1] + letter, size, bold=bold) > width:
            parts.append("")
        parts[-1] += letter
    return parts


def fitted_text(text: str, width: float, size: float, *, bold: bool = False) -> str:
    """Return `text`, shortened by an ellipsis where it is longer than `width` mm."""
    if text_width(text, size, bold=bold) <= width:
        return text
    while text and text_width(text + _ELLIPSIS, size, bold=bold) > width:
        text = text[:-1]
    return text.rstrip() + _ELLIPSIS


def fitted_size(text: str, width: float, size: float, *, least: float, bold: bool = False) -> float:
    """Return the size at most `size` and at least `least` mm at which `text` is no longer than `width` mm."""
    natural = text_width(text, size, bold=bold)
    return size if natural <= width else max(least, size * width / natural)


def text_block(
    lines: list[str], x: float, top: float, size: float, layer: str, *, bold: bool = False
) -> tuple[list[TextItem], float]:
    """Return `lines` set under one another from `top` down at `x` mm, and the y left below them."""
    items = []
    y = top
    for line in lines:
        y -= size * LEADING
        items.append(TextItem(line, (x, y + size * (LEADING - 1.0)), size, layer, bold=bold))
    return items, y
